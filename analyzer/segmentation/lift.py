"""Thermal climbs: sustained rises of total energy with the motor off."""

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


def thermal_climbs(
    motion: Motion, stretch: tuple[float, float], tuning: SegmentationTuning
) -> list[tuple[float, float]]:
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
    grid = motion.time_s[inside]
    mean = _circle_mean(motion.energy_m[inside], round(tuning.circle_s / GRID_S / 2))
    climbs: list[list[int]] = []
    for first, last in spans_of(np.diff(mean) > 0):
        if climbs and _same(mean, climbs[-1], first, last, tuning):
            climbs[-1][1] = last
        else:
            climbs.append([first, last])
    long = tuning.shortest_climb_s / GRID_S
    return [
        (float(grid[a]), float(grid[b]))
        for a, b in climbs
        if b - a >= long and mean[b] - mean[a] >= tuning.least_gain_m
    ]


def _circle_mean(height: Array, half: int) -> Array:
    """Moving mean, continued point-symmetrically at both ends."""
    half = min(half, len(height) - 1)
    before = 2 * height[0] - height[half:0:-1]
    after = 2 * height[-1] - height[-2 : -half - 2 : -1]
    total = np.cumsum(np.concatenate(([0.0], before, height, after)))
    width = 2 * half + 1
    return np.asarray((total[width:] - total[:-width]) / width, dtype=float)


def _same(mean: Array, climb: list[int], first: int, last: int, tuning: SegmentationTuning) -> bool:
    """Whether a rise carries on the climb before it: the dip between is short and gives back less than half."""
    start, top = climb
    won = min(mean[top] - mean[start], mean[last] - mean[first])
    return bool((first - top) * GRID_S < tuning.circle_s and mean[top] - mean[first] < 0.5 * won)
