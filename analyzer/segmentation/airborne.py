"""Airborne or on the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]


def flights(
    time_s: Array, height: Array, climb: Array, runs: list[tuple[float, float]], tuning: SegmentationTuning
) -> list[tuple[float, float]]:
    """Release and standstill of every flight: stretches that leave the ground's band by more than a person can lift."""
    high = height > tuning.ground_band_m
    found: list[tuple[float, float]] = []
    for first, last in spans_of(high):
        if height[first:last].max() < 2.5 * tuning.ground_band_m:
            continue
        start = _release(time_s, climb, first, runs)
        end = _touch_down(time_s, climb, last - 1)
        if found and start - found[-1][1] < 5.0:
            found[-1] = (found[-1][0], end)
        else:
            found.append((start, end))
    return found


def _release(time_s: Array, climb: Array, first: int, runs: list[tuple[float, float]]) -> float:
    for start, end in runs:
        if start <= time_s[first] <= end + 3.0:
            return start
    back = first
    while back > 0 and climb[back] > 0.3:
        back -= 1
    return float(time_s[back])


def _touch_down(time_s: Array, climb: Array, last: int) -> float:
    after = np.flatnonzero(climb[last:] > -0.2)
    return float(time_s[last + after[0]]) if len(after) else float(time_s[-1])
