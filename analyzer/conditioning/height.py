"""Smoothed height (or energy height) and its rate from readings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.between_nodes import at_times
from analyzer.conditioning.noise import motion_noise
from analyzer.conditioning.vertical_motion import smooth

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class SmoothedHeight:
    """Height in metres, its rate in m/s, and their standard errors; arrays of one length."""

    height_m: Array
    height_se_m: Array
    climb_m_s: Array
    climb_se_m_s: Array


def smoothed_height(time_s: Array, own_times: Array, reading_m: Array, tuning: ConditioningTuning) -> SmoothedHeight:
    """Smooth readings of a height, noise and liveliness estimated from themselves.

    Parameters
    ----------
    time_s : numpy.ndarray, shape (n,)
        Where the result is wanted.
    own_times, reading_m : numpy.ndarray, shape (m,)
        The readings; times strictly increasing, m at least 1.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    nodes, levels, counts = averaged(own_times, reading_m, tuning)
    noise = motion_noise(nodes, levels, tuning)
    variance = noise.variance_m2 * np.median(counts) / counts
    jerk = noise.jerk_at(0.5 * (nodes[1:] + nodes[:-1]))
    motion = smooth(nodes, levels, variance, jerk, tuning.edge_nodes)
    typical = float(np.median(np.diff(nodes))) if len(nodes) > 1 else 0.0
    longest_s = max(tuning.longest_bridge_s, tuning.bridge_samples * typical)
    height, climb, height_se, climb_se = at_times(motion, time_s, longest_s)
    return SmoothedHeight(height, height_se, climb, climb_se)


def averaged(times: Array, values: Array, tuning: ConditioningTuning) -> tuple[Array, Array, Array]:
    """Averages of readings that stand closer than the smoother needs them: mean time, mean value, count."""
    width_s = max(tuning.node_s, float(times[-1] - times[0]) / tuning.most_nodes)
    if len(times) < 2 or float(np.median(np.diff(times[:10_000]))) > 0.7 * width_s:
        return times, values, np.ones(len(times))
    start = np.flatnonzero(np.diff(np.floor(times / width_s), prepend=-1.0))
    close = np.diff(times[start], prepend=-np.inf) < 0.5 * width_s
    start = start[~close]
    counts = np.diff(start, append=len(times)).astype(float)
    return np.add.reduceat(times, start) / counts, np.add.reduceat(values, start) / counts, counts
