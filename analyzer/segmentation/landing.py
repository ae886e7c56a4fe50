"""Landings: stretches of stillness, and the touch-down before them."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.cover import without
from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.segmentation.launch import Launches
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

Span = tuple[float, float]


def still_spans(motion: Motion, runs: Sequence[Span], tuning: SegmentationTuning) -> list[Span]:
    """Stretches with the motor off in which nothing flies.

    The vertical speed stays, over a sliding window, below what hands and noise make; or there is no airspeed, however
    restless the gusts make the barometer.
    """
    half = round(tuning.still_window_s / GRID_S / 2)
    power = np.square(motion.climb_m_s)
    total = np.cumsum(np.concatenate(([0.0], np.pad(power, half, mode="edge"))))
    rms = np.sqrt((total[2 * half :][: len(power)] - total[: len(power)]) / (2 * half))
    standing = False if motion.airspeed_share is None else motion.airspeed_share < tuning.standing_share
    quiet = (rms < np.hypot(tuning.still_m_s, motion.climb_se_m_s)) & (motion.speed_share < tuning.flying_share)
    spans = spans_of(quiet | standing)
    return without([(float(motion.time_s[a]), float(motion.time_s[b - 1])) for a, b in spans], runs)


def next_landing(
    motion: Motion,
    release_s: float,
    still: Sequence[Span],
    levels: Sequence[float],
    launches: Launches,
    tuning: SegmentationTuning,
) -> float | None:
    """Touch-down after a release; None when the log ends in the air.

    Parameters
    ----------
    motion : Motion
        Vertical motion.
    release_s : float
        When the flight began.
    still : sequence of (float, float)
        From `still_spans`.
    levels : sequence of float
        Heights in metres at which the ground is known to be.
    launches : Launches
        Motor runs that carry up: the next one may start from the ground.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    run = launches.powered_after(release_s)
    flown = run[1] if run is not None and run[0] <= release_s + 1.0 else release_s
    following = launches.powered_after(flown + 1.0)
    until = float(motion.time_s[-1]) if following is None else following[0]
    later = still[bisect_right(still, flown, key=lambda span: span[1]) :]
    for start, end in sorted([*later, _level_before(motion, flown, launches.off_before(until), until, tuning)]):
        start = max(start, flown + tuning.shortest_flight_s)
        level = float(np.median(motion.height_m[motion.window(start, min(start + 2.0, end))]))
        near = min(abs(level - known) for known in levels) < tuning.near_ground_m
        lasts = end - start > tuning.still_near_s if near else _lies(motion, start, end, until, tuning)
        if lasts and _stays(motion, start, min(start + tuning.stay_s, until), level, tuning):
            return _touch_down(motion, flown, start, end, tuning)
    return None


def _level_before(motion: Motion, flown: float, off: float, until: float, tuning: SegmentationTuning) -> Span:
    """The stretch before a launch or the log's end in which the height stays within reach of its last value.

    It begins when the motor is off for the last time at the earliest: power holds a model level for minutes.
    """
    inside = motion.window(flown, until)
    away = np.flatnonzero(np.abs(motion.height_m[inside] - motion.height_at(until)) > tuning.reach_m)
    start = inside.start + (int(away[-1]) + 1 if len(away) else 0)
    return min(max(float(motion.time_s[min(start, len(motion.time_s) - 1)]), off), until), until


def _lies(motion: Motion, start: float, end: float, until: float, tuning: SegmentationTuning) -> bool:
    """Whether a stretch is so long and so level that the model lies there; less will do if it goes on to the end."""
    stays_down = end > until - tuning.still_window_s
    if end - start < (tuning.still_to_end_s if stays_down else tuning.still_far_s):
        return False
    inside = motion.window(start, end)
    allowed = np.hypot(tuning.level_m, motion.height_se_m[inside].max())
    return bool(motion.height_m[inside].std() < allowed)


def _stays(motion: Motion, start: float, end: float, level: float, tuning: SegmentationTuning) -> bool:
    """Whether the height neither sinks on from a level, as in flight, nor rises faster than it is carried uphill."""
    stretch = motion.height_m[motion.window(start, end)]
    return bool(stretch.min() > level - tuning.sinks_on_m and stretch.max() < level + tuning.rise_m)


def _airspeed_end(motion: Motion, since: float, end: float, tuning: SegmentationTuning) -> float | None:
    """When the airspeed falls to nothing before a stretch ends; None where it does not show that."""
    if motion.airspeed_share is None:
        return None
    inside = motion.window(since, end)
    flying = np.flatnonzero(motion.airspeed_share[inside] >= tuning.standing_share)
    if len(flying) == 0:
        return None
    last = inside.start + int(flying[-1])
    stands = (inside.stop - last) * GRID_S >= tuning.still_near_s
    return float(motion.time_s[last]) if stands else None


def _touch_down(motion: Motion, flown: float, start: float, end: float, tuning: SegmentationTuning) -> float:
    """First time at which the height is that of the ground, or at which there is no airspeed any more.

    The height is the ground's when it is not above the least height of the seconds that follow. Gusts make that late,
    and the roll-out makes the airspeed's end late: the earlier one is nearer.
    """
    stop = _airspeed_end(motion, max(flown, start - tuning.approach_s), end, tuning)
    inside = motion.window(max(flown, start - tuning.approach_s), max(end, start + 1.0))
    first, last = inside.start, inside.stop
    ahead, stays = round(tuning.carry_s / GRID_S), round(tuning.settled_s / GRID_S)
    padded = np.concatenate((motion.height_m[first : last + ahead], np.full(ahead, np.inf)))
    least = np.lib.stride_tricks.sliding_window_view(padded, ahead)[: last - first].min(axis=1)
    tolerance = tuning.touch_m + 2.0 * motion.height_se_m[first:last]
    above = motion.height_m[first:last] - least > tolerance
    down = next((a for a, b in spans_of(~above) if b - a >= stays or b == len(above)), len(above) - 1)
    touched = float(motion.time_s[first + down])
    return touched if stop is None else min(touched, stop)
