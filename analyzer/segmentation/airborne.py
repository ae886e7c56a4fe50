"""Airborne or not: from launches, landings and stillness, at any height above the launch point.

The state is followed through the log. On the ground, a motor run that carries the model up, or a change of height
that no walker makes, is a launch. In the air, a stretch in which nothing moves vertically is a landing when it is near
a known ground level or lasts long enough that no lift can have balanced the sink all the time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Span = tuple[float, float]


def airborne_spans(motion: Motion, runs: Sequence[Span], tuning: SegmentationTuning) -> list[Span]:
    """Release and touch-down of every flight, in order.

    Parameters
    ----------
    motion : Motion
        Vertical motion and speed.
    runs : sequence of (float, float)
        Motor runs, start and end times.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    still = _still_spans(motion, tuning)
    launches = [run for run in runs if _carries_up(motion, run, tuning)]
    last = float(motion.time_s[-1])
    flights: list[Span] = []
    at, levels = 0.0, [0.0]
    release = 0.0 if _starts_in_air(motion, still, launches, tuning) else _departure(motion, at, launches, tuning)
    while release is not None:
        landing = _landing(motion, release, still, levels, launches, tuning)
        if landing is None:
            flights.append((release, last))
            break
        flights.append((release, landing))
        levels.append(motion.height_at(landing + 2.0))
        release = _departure(motion, landing + 2.0, launches, tuning)
    return _relaunched(flights, launches, tuning)


def _relaunched(flights: list[Span], launches: list[Span], tuning: SegmentationTuning) -> list[Span]:
    """Flights, those made one between which nobody could have picked up the model and launched it again."""
    joined: list[Span] = []
    for release, landing in flights:
        powered = any(start - 1.0 <= release <= end for start, end in launches)
        pause = tuning.powered_pause_s if powered else tuning.unpowered_pause_s
        if joined and release - joined[-1][1] < pause:
            joined[-1] = (joined[-1][0], landing)
        else:
            joined.append((release, landing))
    return joined


def _still_spans(motion: Motion, tuning: SegmentationTuning) -> list[Span]:
    """Stretches in which the vertical speed stays, over a sliding window, below what hands and noise make."""
    half = round(tuning.still_window_s / GRID_S / 2)
    power = np.square(motion.climb_m_s)
    total = np.cumsum(np.concatenate(([0.0], np.pad(power, half, mode="edge"))))
    rms = np.sqrt((total[2 * half :][: len(power)] - total[: len(power)]) / (2 * half))
    quiet = (rms < np.hypot(tuning.still_m_s, motion.climb_se_m_s)) & (motion.speed_share < tuning.flying_share)
    return [(float(motion.time_s[a]), float(motion.time_s[b - 1])) for a, b in spans_of(quiet)]


def _carries_up(motion: Motion, run: Span, tuning: SegmentationTuning) -> bool:
    """Whether the model is clearly higher after a motor run than before (prop wash lasts only as long as the run)."""
    before = motion.height_m[(motion.time_s >= run[0] - 2.0) & (motion.time_s <= run[0])]
    after = motion.height_m[(motion.time_s >= run[1] + 1.0) & (motion.time_s <= run[1] + 5.0)]
    if len(after) == 0:
        after = motion.height_m[-1:]
    base = before.min() if len(before) else motion.height_m[0]
    return bool(np.median(after) - base > tuning.ground_band_m)


def _starts_in_air(motion: Motion, still: list[Span], launches: list[Span], tuning: SegmentationTuning) -> bool:
    """Whether the log begins in flight: moving at once, and not within a hand's reach of where a launch starts."""
    if still and still[0][0] < tuning.still_window_s:
        return False
    if launches and launches[0][0] < tuning.still_window_s:
        return False
    early = motion.height_m[motion.time_s <= tuning.still_window_s]
    return bool(np.ptp(early) > 2.0)


def _departure(motion: Motion, after: float, launches: list[Span], tuning: SegmentationTuning) -> float | None:
    """Time of the next launch: a motor run that carries up, or a change of height faster than anybody walks a hill."""
    run = next((run for run in launches if run[1] > after), None)
    lag = round(tuning.rise_window_s / GRID_S)
    first = int(np.searchsorted(motion.time_s, after))
    rise = motion.height_m[first + lag :] - motion.height_m[first : len(motion.height_m) - lag]
    away = np.flatnonzero(np.abs(rise) > tuning.rise_m)
    if len(away) == 0:
        return None if run is None else max(run[0], after)
    reached = first + int(away[0]) + lag
    if run is not None and run[0] <= motion.time_s[reached]:
        return max(run[0], after)
    slow = np.flatnonzero(np.abs(motion.climb_m_s[first:reached]) < 0.3)
    return float(motion.time_s[first + slow[-1] if len(slow) else first])


def _landing(
    motion: Motion,
    release: float,
    still: list[Span],
    levels: list[float],
    launches: list[Span],
    tuning: SegmentationTuning,
) -> float | None:
    """Touch-down after a release; None when the log ends in the air."""
    flown = next((run[1] for run in launches if run[0] <= release + 1.0 <= run[1] + 1.0), release)
    until = next((run[0] for run in launches if run[0] > flown + 1.0), float(motion.time_s[-1]))
    for start, end in sorted([*still, _level_before(motion, flown, until, tuning)]):
        start = max(start, flown + 3.0)
        level = float(np.median(motion.height_m[motion.window(start, min(start + 2.0, end))]))
        near = min(abs(level - known) for known in levels) < tuning.near_ground_m
        lasts = end - start > tuning.still_near_s if near else _lies(motion, start, end, tuning)
        if lasts and _stays(motion, start, min(start + tuning.stay_s, until), level, tuning):
            return _touch_down(motion, flown, start, end, tuning)
    return None


def _lies(motion: Motion, start: float, end: float, tuning: SegmentationTuning) -> bool:
    """Whether a stretch is so long and so level that the model lies there."""
    if end - start < tuning.still_far_s:
        return False
    inside = motion.window(start, end)
    allowed = np.hypot(tuning.level_m, motion.height_se_m[inside].max())
    return bool(motion.height_m[inside].std() < allowed)


def _stays(motion: Motion, start: float, end: float, level: float, tuning: SegmentationTuning) -> bool:
    """Whether the height neither sinks on from a level, as in flight, nor rises faster than it is carried uphill."""
    stretch = motion.height_m[motion.window(start, end)]
    return bool(stretch.min() > level - tuning.sinks_on_m and stretch.max() < level + tuning.rise_m)


def _level_before(motion: Motion, flown: float, until: float, tuning: SegmentationTuning) -> Span:
    """The stretch before a launch or the log's end in which the height stays within reach of its last value."""
    first, last = np.searchsorted(motion.time_s, [flown, until])
    away = np.flatnonzero(np.abs(motion.height_m[first:last] - motion.height_at(until)) > tuning.reach_m)
    start = first + (int(away[-1]) + 1 if len(away) else 0)
    return float(motion.time_s[min(start, len(motion.time_s) - 1)]), until


def _touch_down(motion: Motion, flown: float, start: float, end: float, tuning: SegmentationTuning) -> float:
    """First time at which the height is that of the ground: not above the least height of the seconds that follow."""
    first, last = np.searchsorted(motion.time_s, [max(flown, start - 15.0), max(end, start + 1.0)])
    ahead, stays = round(tuning.carry_s / GRID_S), round(1.5 / GRID_S)
    padded = np.concatenate((motion.height_m[first : last + ahead], np.full(ahead, np.inf)))
    window = np.lib.stride_tricks.sliding_window_view(padded, ahead)[: last - first]
    tolerance = tuning.touch_m + 2.0 * motion.height_se_m[first:last]
    above = motion.height_m[first:last] - window.min(axis=1) > tolerance
    down = next((a for a, b in spans_of(~above) if b - a >= stays or b == len(above)), len(above) - 1)
    return float(motion.time_s[first + down])
