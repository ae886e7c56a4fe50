"""Thermal climbs: sustained rises of total energy with the motor off.

The (energy) height is averaged over one circle, so that a climb that is stronger on one side of the circle stays one
climb; the rises of the average are joined over short, shallow dips; the ends of each are then placed where the
unaveraged height has its kink, the likeliest change between the rates before and after.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Span = tuple[float, float]


def thermal_climbs(motion: Motion, stretch: Span, tuning: SegmentationTuning) -> list[Span]:
    """Climbs in one stretch of flight with the motor off.

    Parameters
    ----------
    motion : Motion
        The model's motion.
    stretch : (float, float)
        Start and end in seconds.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    if stretch[1] - stretch[0] < tuning.shortest_climb_s:
        return []
    inside = motion.window(*stretch)
    times, energy = motion.time_s[inside], motion.energy_m[inside]
    half = round(tuning.circle_s / GRID_S / 2)
    mean = circle_mean(energy, half)
    found: list[Span] = []
    for first, last in _joined_rises(mean, tuning):
        start = first if first == 0 else _kink(energy, mean, first, half, 1.0)
        end = last if last >= len(mean) - 1 else _kink(energy, mean, last, half, -1.0)
        lasts = (end - start) * GRID_S
        if lasts >= tuning.shortest_climb_s and energy[end] - energy[start] >= tuning.least_gain_m:
            found.append((float(times[start]), float(times[end])))
    return found


def circle_mean(height: Array, half: int) -> Array:
    """Moving mean over 2 half + 1 points, continued point-symmetrically at both ends."""
    half = min(half, len(height) - 1)
    before = 2 * height[0] - height[half:0:-1]
    after = 2 * height[-1] - height[-2 : -half - 2 : -1]
    total = np.cumsum(np.concatenate(([0.0], before, height, after)))
    width = 2 * half + 1
    return np.asarray((total[width:] - total[:-width]) / width, dtype=float)


def _joined_rises(mean: Array, tuning: SegmentationTuning) -> list[tuple[int, int]]:
    """Rises of the averaged height, joined over dips that belong to one climb: first and last index of each."""
    climbs: list[tuple[int, int]] = []
    for first, last in spans_of(np.diff(mean) > 0):
        if climbs and _same(mean, climbs[-1], first, last, tuning):
            climbs[-1] = (climbs[-1][0], last)
        else:
            climbs.append((first, last))
    return climbs


def _same(mean: Array, climb: tuple[int, int], first: int, last: int, tuning: SegmentationTuning) -> bool:
    """Whether a rise carries on the climb before it: the dip between is short and gives back less than half."""
    start, top = climb
    won = min(mean[top] - mean[start], mean[last] - mean[first])
    return bool((first - top) * GRID_S < tuning.circle_s and mean[top] - mean[first] < 0.5 * won)


def _kink(energy: Array, mean: Array, at: int, half: int, sign: float) -> int:
    """Index of the kink near an end of a rise: where the height, tilted by the mean of both rates, is extreme.

    That is the maximum-likelihood change point between two constant rates in white noise. `sign` is 1 for a start (the
    height has a trough), -1 for an end (a crest).
    """
    low, high = max(at - half, 0), min(at + half, len(energy) - 1)
    before = (mean[low] - mean[max(low - 2 * half, 0)]) / max(low - max(low - 2 * half, 0), 1)
    after = (mean[min(high + 2 * half, len(mean) - 1)] - mean[high]) / max(min(high + 2 * half, len(mean) - 1) - high, 1)
    index = np.arange(low, high + 1)
    tilted = sign * (energy[index] - KT * 0.5 * (before + after) * index)
    return int(index[np.argmin(tilted)])
KT=1.0
