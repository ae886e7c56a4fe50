"""Motor runs by the shape of the climb alone, for logs that hold nothing but heights."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

Span = tuple[float, float]


def powered_climbs(motion: Motion, tuning: SegmentationTuning) -> list[Span]:
    """Climbs that are as steep and steady as a motor makes them, and begin at once; start and end times.

    The launch shows how the model climbs under power; without one, nothing is taken for a motor run, since a strong
    thermal is as steep. The edges are where the vertical speed passes half its median in the climb.
    """
    found = [
        (start, end, usual)
        for first, last in spans_of(motion.climb_m_s > tuning.powered_climb_m_s)
        for start, end, usual in [_with_edges(motion, first, last)]
        if _as_powered(motion, start, end, usual, tuning)
    ]
    if not found or not _first_launch(motion, found[0][0], tuning):
        return []
    least = tuning.powered_launch_share * found[0][2]
    return [(float(motion.time_s[a]), float(motion.time_s[b])) for a, b, usual in found if usual >= least]


def _with_edges(motion: Motion, first: int, last: int) -> tuple[int, int, float]:
    """Grid indices between which the vertical speed stays above half its median in a stretch, and that median."""
    usual = float(np.median(motion.climb_m_s[first:last]))
    below = np.flatnonzero(motion.climb_m_s < 0.5 * usual)
    place, after = np.searchsorted(below, [first, last])
    start = int(below[place - 1]) + 1 if place > 0 else 0
    end = int(below[after]) if after < len(below) else len(motion.climb_m_s) - 1
    return start, end, usual


def _as_powered(motion: Motion, start: int, end: int, usual: float, tuning: SegmentationTuning) -> bool:
    """Whether a climb lasts as long, is as even, and begins as suddenly as a motor makes it."""
    if not tuning.powered_least_s <= (end - start) * GRID_S <= tuning.powered_most_s:
        return False
    low, high = np.quantile(motion.climb_m_s[start:end], [0.25, 0.75])
    before = motion.climb_m_s[max(start - round(tuning.powered_onset_s / GRID_S), 0)]
    return bool(high - low < tuning.powered_evenness * usual and before < 0.25 * usual)


def _first_launch(motion: Motion, start: int, tuning: SegmentationTuning) -> bool:
    """Whether the model had not yet left the launch point's level when a climb began, and lay still there."""
    before = slice(0, max(start, 1))
    at_rest = np.median(np.abs(motion.climb_m_s[before])) < tuning.still_m_s
    return bool(at_rest and np.abs(motion.height_m[before]).max() < tuning.reach_m)
