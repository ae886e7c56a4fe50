"""Landings: stretches of stillness, and the touch-down before them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING

import numpy as np

from analyzer.robust_fit import median_of, medians_of
from analyzer.segmentation.cover import without
from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import Span, spans_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Mask
    from analyzer.segmentation.launch import Launches
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import FlightTuning


def rest_spans(motion: Motion, runs: Sequence[Span], tuning: FlightTuning) -> list[Span]:
    """Stretches with the motor off that may be rest on the ground, in order.

    Three kinds of evidence: the vertical speed stays, over a sliding window, below what hands and noise make; the mean
    height of one window after another stays the same, however restless gusts make the barometer; there is no airspeed.
    """
    quiet = _root_mean_square(motion.climb_m_s, tuning.still_window_s) < np.hypot(tuning.still_m_s, motion.climb_se_m_s)
    standing = False if motion.airspeed_share is None else motion.airspeed_share < tuning.standing_share
    still = (quiet | _level(motion, tuning)) & (motion.speed_share < tuning.flying_share)
    spans = spans_of(still | standing)
    return without([(float(motion.time_s[a]), float(motion.time_s[b - 1])) for a, b in spans], runs)


def _root_mean_square(values: Array, window_s: float) -> Array:
    half = round(window_s / GRID_S / 2)
    total = np.cumsum(np.concatenate(([0.0], np.pad(np.square(values), half, mode="edge"))))
    return np.asarray(np.sqrt((total[2 * half :][: len(values)] - total[: len(values)]) / (2 * half + 1)), dtype=float)


def _level(motion: Motion, tuning: FlightTuning) -> Mask:
    """Whether a grid point lies in a stretch in which the mean height of one window after another is the same."""
    window = round(tuning.level_window_s / GRID_S)
    total = np.cumsum(np.concatenate(([0.0], np.pad(motion.height_m, window, mode="edge"))))
    mean = (total[window:] - total[:-window]) / window
    level = np.asarray(np.abs(mean[window:] - mean[:-window])[: len(motion.height_m)] < tuning.level_m)
    for first, last in spans_of(level):
        level[first:last] = (last - first) * GRID_S > tuning.level_least_s
    return level


def next_landing(
    motion: Motion,
    release_s: float,
    rests: Sequence[Span],
    levels_m: Sequence[float],
    launches: Launches,
    tuning: FlightTuning,
) -> float | None:
    """Touch-down after a release; None when the log ends in the air.

    Parameters
    ----------
    motion : Motion
        Vertical motion.
    release_s : float
        When the flight began.
    rests : sequence of (float, float)
        From `rest_spans`.
    levels_m : sequence of float
        Heights at which the ground is known to be.
    launches : Launches
        What may be a launch: the next one may start from the ground.
    tuning : FlightTuning
        The stage's tuning.
    """
    run = launches.powered_after(release_s)
    since_s = run[1] if run is not None and run[0] <= release_s + 1.0 else release_s
    last_s = float(motion.time_s[-1])
    while since_s < last_s:
        following = launches.powered_after(since_s + 1.0)
        until_s = last_s if following is None else following[0]
        later = rests[bisect_right(rests, since_s, key=lambda span: span[1]) : bisect_left(rests, until_s, key=_start)]
        before = _level_before(motion, since_s, launches.off_before(until_s), until_s, tuning)
        for start_s, end_s in sorted([*later, before]):
            start_s = max(start_s, since_s + tuning.shortest_flight_s)
            if _is_landing(motion, (start_s, end_s), launches.next_after(end_s, until_s), levels_m, tuning):
                return _touch_down(motion, since_s, (start_s, end_s), tuning)
        since_s = last_s if following is None else following[1]
    return None


def _start(span: Span) -> float:
    return span[0]


def _is_landing(motion: Motion, rest: Span, until_s: float, levels_m: Sequence[float], tuning: FlightTuning) -> bool:
    """Whether a model that seems to rest has landed, from its speed, where it is, how long, and how it leaves.

    An airspeed that has ended decides. Near known ground a short rest will do, if it is left by a launch or not at all;
    a model that sinks or drifts away from it may have flown low, and must have rested for longer; on a slope, too. From
    below known ground it may be carried back there. Elsewhere lift may hold it: it must stay until the next launch,
    which is not before somebody can have walked up there, or the end of the log.
    """
    start_s, end_s = rest
    rests_s, stays_s = end_s - start_s, until_s - start_s
    if _stands(motion, motion.window(start_s, end_s), tuning):
        return rests_s > tuning.still_near_s
    if rests_s > tuning.lying_s and _carried_up(motion, start_s, until_s, levels_m, tuning):
        return True
    level_m = median_of(motion.height_m[motion.window(start_s, min(start_s + 2.0, end_s))])
    leaves = bool(np.abs(motion.height_m[motion.window(start_s, until_s)] - level_m).max() > tuning.rise_m)
    away_m = min((abs(level_m - known) for known in levels_m), default=np.inf)
    if away_m < tuning.near_ground_m:
        lull_s = tuning.lying_s if _sinks_on(motion, end_s, until_s, level_m, tuning) else tuning.still_near_s
        return rests_s > (tuning.level_least_s if leaves else lull_s)
    if away_m < tuning.low_m and rests_s > tuning.still_low_s:
        return True
    uphill_m = level_m - max(levels_m, default=level_m) if until_s < motion.time_s[-1] else 0.0
    return not leaves and stays_s > max(tuning.still_far_s, uphill_m * tuning.rise_window_s / tuning.rise_m)


def _carried_up(
    motion: Motion, start_s: float, until_s: float, levels_m: Sequence[float], tuning: FlightTuning
) -> bool:
    """Whether what follows is a walk up to known ground: never faster than that, and neither down nor beyond."""
    way = motion.height_m[motion.window(start_s, until_s)]
    top_m, pace = float(way[-1]), round(tuning.rise_window_s / GRID_S)
    known = any(abs(top_m - level_m) < tuning.near_ground_m for level_m in levels_m)
    if not known or len(way) <= pace or top_m - way[0] < tuning.rise_m:
        return False
    within = way.min() > way[0] - tuning.strays_m and way.max() < top_m + tuning.strays_m
    return bool(within and np.abs(way[pace:] - way[:-pace]).max() < tuning.rise_m)


def _sinks_on(motion: Motion, end_s: float, until_s: float, level_m: float, tuning: FlightTuning) -> bool:
    """Whether a model sinks on from a level after a rest: that was a lull in a flat last glide."""
    ahead = motion.window(end_s, min(end_s + tuning.sinks_s, until_s))
    return bool(motion.height_m[ahead].min() < level_m - tuning.sinks_m)


def _stands(motion: Motion, inside: slice, tuning: FlightTuning) -> bool:
    """Whether the airspeed says that nothing flies."""
    share = motion.airspeed_share
    return share is not None and float(np.median(share[inside])) < tuning.standing_share


def _level_before(motion: Motion, since_s: float, off_s: float, until_s: float, tuning: FlightTuning) -> Span:
    """The stretch before a launch or the log's end in which the height stays within reach of its last value.

    It begins when the motor is off for the last time at the earliest: power holds a model level for minutes.
    """
    inside = motion.window(since_s, until_s)
    away = np.flatnonzero(np.abs(motion.height_m[inside] - motion.height_at(until_s)) > tuning.reach_m)
    stays = inside.start + (int(away[-1]) + 1 if len(away) else 0)
    stays_s = float(motion.time_s[min(stays, len(motion.time_s) - 1)])
    return min(max(stays_s, off_s), until_s), until_s


def _airspeed_end(motion: Motion, since_s: float, end_s: float, tuning: FlightTuning) -> float | None:
    """When the airspeed first is down to nothing for a while; None where it does not show that.

    Later it may come back: the wind blows into the tube of a model that lies on the ground or is carried home.
    """
    if motion.airspeed_share is None:
        return None
    inside = motion.window(since_s, end_s)
    least = round(tuning.still_near_s / GRID_S)
    standing = spans_of(motion.airspeed_share[inside] < tuning.standing_share, least)
    return float(motion.time_s[inside.start + max(standing[0][0] - 1, 0)]) if standing else None


def _touch_down(motion: Motion, since_s: float, rest: Span, tuning: FlightTuning) -> float:
    """When a model that rests came down: when its height was that of the ground, or when its airspeed ended.

    A roll-out still has airspeed, so the height counts if it is a little earlier.
    """
    since_s = max(since_s, rest[0] - tuning.approach_s)
    stop_s = _airspeed_end(motion, since_s, rest[1], tuning)
    down_s = _height_end(motion, since_s, rest, tuning)
    if stop_s is None:
        return down_s
    return down_s if stop_s - tuning.roll_out_s < down_s < stop_s else stop_s


def _height_end(motion: Motion, since_s: float, rest: Span, tuning: FlightTuning) -> float:
    """First time at which the height is near the rest's and no higher than in the middle of the seconds that follow.

    How much higher it may be: by the smoother's error, and by what gusts on the static port make of the rest.
    """
    inside = motion.window(since_s, max(rest[1], rest[0] + 1.0))
    ahead, stays = round(tuning.carry_s / GRID_S), round(tuning.settled_s / GRID_S)
    rows = np.minimum(np.arange(inside.start, inside.stop + ahead), len(motion.height_m) - 1)
    following = np.lib.stride_tricks.sliding_window_view(motion.height_m[rows], ahead)
    height = following[: inside.stop - inside.start, 0]
    resting = motion.height_m[motion.window(rest[0], min(rest[0] + tuning.level_least_s, rest[1]))]
    level_m, ending = median_of(resting), height[-ahead:]
    gusts_m = median_of(np.abs(ending - median_of(ending)))
    down = height < level_m + tuning.level_m
    higher = height[down] - medians_of(following[: len(height)][down]) - motion.height_se_m[inside][down] - gusts_m
    down[down] = higher < tuning.touch_m
    first = next((a for a, b in spans_of(down) if b - a >= stays or b == len(down)), len(down) - 1)
    return float(motion.time_s[inside.start + first])
