"""Thermal climbs: sustained rises of total energy with the motor off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

GRID_S = 0.5


def thermal_climbs(times: Array, height: Array, tuning: SegmentationTuning) -> list[tuple[float, float]]:
    """Climbs in one stretch of flight with the motor off.

    Parameters
    ----------
    times, height : numpy.ndarray, shape (n,)
        Smoothed (energy) height; no NaN.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    if times[-1] - times[0] < tuning.shortest_climb_s:
        return []
    grid = np.arange(times[0], times[-1], GRID_S)
    mean = _circle_mean(np.interp(grid, times, height), round(tuning.circle_s / GRID_S / 2))
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
