"""Airborne or not: from launches, landings and stillness, at any height above the launch point.

The state is followed through the log. On the ground, a motor run that carries the model up, or a rise that no walker
makes, is a launch. In the air, a stretch in which nothing moves vertically is a landing when it is near a known ground
level or lasts long enough that no lift can have balanced the sink all the time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Span = tuple[float, float]
GRID_S: Final = 0.25


@dataclass(frozen=True)
class GroundEvidence:
    """What tells ground from air, on an even grid of `GRID_S`.

    Attributes
    ----------
    time_s, height_m, height_se_m, climb_m_s, climb_se_m_s : numpy.ndarray
        Smoothed vertical motion.
    speed_share : numpy.ndarray
        Airspeed over its median in flight, 0 where not logged; ground speed over 4 m/s where only that is.
    """

    time_s: Array
    height_m: Array
    height_se_m: Array
    climb_m_s: Array
    climb_se_m_s: Array
    speed_share: Array


def airborne_spans(evidence: GroundEvidence, runs: Sequence[Span], tuning: SegmentationTuning) -> list[Span]:
    """Release and touch-down of every flight, in order.

    Parameters
    ----------
    evidence : GroundEvidence
        Vertical motion and speed.
    runs : sequence of (float, float)
        Motor runs, start and end times.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    still = _still_spans(evidence, tuning)
    launches = [run for run in runs if _carries_up(evidence, run, tuning)]
    last = float(evidence.time_s[-1])
    flights: list[Span] = []
    at, levels = 0.0, [0.0]
    release = 0.0 if _starts_in_air(evidence, still, launches, tuning) else _departure(evidence, at, launches, tuning)
    while release is not None:
        landing = _landing(evidence, release, still, levels, launches, tuning)
        if landing is None:
            flights.append((release, last))
            break
        flights.append((release, landing))
        levels.append(_height_at(evidence, landing + 2.0))
        release = _departure(evidence, landing + 2.0, launches, tuning)
    return flights


def _height_at(evidence: GroundEvidence, time_s: float) -> float:
    return float(np.interp(time_s, evidence.time_s, evidence.height_m))


def _still_spans(evidence: GroundEvidence, tuning: SegmentationTuning) -> list[Span]:
    """Stretches in which the vertical speed stays, over a sliding window, below what hands and noise make."""
    half = round(tuning.still_window_s / GRID_S / 2)
    power = np.square(evidence.climb_m_s)
    total = np.cumsum(np.concatenate(([0.0], np.pad(power, half, mode="edge"))))
    rms = np.sqrt((total[2 * half :][: len(power)] - total[: len(power)]) / (2 * half))
    quiet = (rms < np.hypot(tuning.still_m_s, evidence.climb_se_m_s)) & (evidence.speed_share < tuning.flying_share)
    return [
        (float(evidence.time_s[a]), float(evidence.time_s[b - 1]))
        for a, b in spans_of(quiet)
    ]


def _carries_up(evidence: GroundEvidence, run: Span, tuning: SegmentationTuning) -> bool:
    """Whether the model is clearly higher after a motor run than before (prop wash shifts the reading only during it)."""
    before = evidence.height_m[(evidence.time_s >= run[0] - 2.0) & (evidence.time_s <= run[0])]
    after = evidence.height_m[(evidence.time_s >= run[1] + 1.0) & (evidence.time_s <= run[1] + 5.0)]
    if len(after) == 0:
        after = evidence.height_m[-1:]
    base = before.min() if len(before) else evidence.height_m[0]
    return bool(np.median(after) - base > tuning.ground_band_m)


def _starts_in_air(
    evidence: GroundEvidence, still: list[Span], launches: list[Span], tuning: SegmentationTuning
) -> bool:
    """Whether the log begins in flight: moving at once, and not within a hand's reach of where a launch starts."""
    if still and still[0][0] < tuning.still_window_s:
        return False
    if launches and launches[0][0] < tuning.still_window_s:
        return False
    early = evidence.height_m[evidence.time_s <= tuning.still_window_s]
    return bool(np.ptp(early) > 2.0)


def _departure(
    evidence: GroundEvidence, after: float, launches: list[Span], tuning: SegmentationTuning
) -> float | None:
    """Time of the next launch: a motor run that carries up, or a rise faster than anybody walks uphill."""
    run = next((run for run in launches if run[1] > after), None)
    lag = round(tuning.rise_window_s / GRID_S)
    first = int(np.searchsorted(evidence.time_s, after))
    rise = evidence.height_m[first + lag :] - evidence.height_m[first : len(evidence.height_m) - lag]
    away = np.flatnonzero(rise > tuning.rise_m)
    if len(away) == 0:
        return None if run is None else max(run[0], after)
    reached = first + int(away[0]) + lag
    if run is not None and run[0] <= evidence.time_s[reached]:
        return max(run[0], after)
    slow = np.flatnonzero(evidence.climb_m_s[first:reached] < 0.3)
    return float(evidence.time_s[first + slow[-1] if len(slow) else first])


def _landing(
    evidence: GroundEvidence,
    release: float,
    still: list[Span],
    levels: list[float],
    launches: list[Span],
    tuning: SegmentationTuning,
) -> float | None:
    """Touch-down after a release; None when the log ends in the air."""
    flown = next((run[1] for run in launches if run[0] <= release + 1.0 <= run[1] + 1.0), release)
    until = next((run[0] for run in launches if run[0] > flown + 1.0), float(evidence.time_s[-1]))
    for start, end in sorted([*still, _level_before(evidence, flown, until, tuning)]):
        start = max(start, flown + 3.0)
        height = _height_at(evidence, 0.5 * (start + end))
        near = min(abs(height - level) for level in levels) < tuning.near_ground_m
        lasts = end - start > tuning.still_near_s if near else _lies(evidence, start, end, tuning)
        if lasts and _stays(evidence, start, min(end + tuning.stay_s, until), height, tuning):
            return _touch_down(evidence, flown, start, end, tuning)
    return None


def _lies(evidence: GroundEvidence, start: float, end: float, tuning: SegmentationTuning) -> bool:
    """Whether a stretch is so long and so level that the model lies there."""
    first, last = np.searchsorted(evidence.time_s, [start, end])
    if end - start < tuning.still_far_s:
        return False
    allowed = np.hypot(tuning.level_m, evidence.height_se_m[first:last].max())
    return bool(evidence.height_m[first:last].std() < allowed)


def _stays(evidence: GroundEvidence, start: float, end: float, height: float, tuning: SegmentationTuning) -> bool:
    """Whether the height stays about the same for a while; a model in flight would go on to sink, or climb."""
    first, last = np.searchsorted(evidence.time_s, [start, end])
    stretch = evidence.height_m[first : max(last, first + 1)]
    return bool(stretch.min() > height - tuning.reach_m and stretch.max() < height + 1.5 * tuning.reach_m)


def _level_before(evidence: GroundEvidence, flown: float, until: float, tuning: SegmentationTuning) -> Span:
    """The stretch before a launch or the log's end in which the height stays within a hand's reach of its last value."""
    first, last = np.searchsorted(evidence.time_s, [flown, until])
    away = np.flatnonzero(np.abs(evidence.height_m[first:last] - _height_at(evidence, until)) > tuning.reach_m)
    start = first + (int(away[-1]) + 1 if len(away) else 0)
    return float(evidence.time_s[min(start, len(evidence.time_s) - 1)]), until


def _touch_down(evidence: GroundEvidence, flown: float, start: float, end: float, tuning: SegmentationTuning) -> float:
    """First time at which the height is that of the ground: not above the least height of the seconds that follow."""
    first, last = np.searchsorted(evidence.time_s, [max(flown, start - 15.0), max(end, start + 1.0)])
    ahead, stays = round(tuning.carry_s / GRID_S), round(1.5 / GRID_S)
    padded = np.concatenate((evidence.height_m[first : last + ahead], np.full(ahead, np.inf)))
    window = np.lib.stride_tricks.sliding_window_view(padded, ahead)[: last - first]
    tolerance = tuning.touch_m + 2.0 * evidence.height_se_m[first:last]
    above = evidence.height_m[first:last] - window.min(axis=1) > tolerance
    down = next((a for a, b in spans_of(~above) if b - a >= stays or b == len(above)), len(above) - 1)
    return float(evidence.time_s[first + down])
