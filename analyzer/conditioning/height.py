"""Smoothed height (or energy height) and its rate from readings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.between_nodes import at_times
from analyzer.conditioning.noise import MotionNoise, motion_noise
from analyzer.conditioning.sampling import heard_s
from analyzer.conditioning.vertical_motion import smooth

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]


_DENSE: Final = 0.7
"""Readings closer than this share of a bin's width are put into bins; else most bins would hold a single one."""

_CLOSEST: Final = 1.0 / 3.0
"""Nodes closer than this share of their usual distance are joined."""


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
    heard = heard_s(own_times, tuning.longest_bridge_s)
    node_s = max(tuning.node_s, heard / tuning.most_nodes)
    own = averaged(own_times, reading_m, node_s)
    noise_s = float(np.clip(heard / tuning.most_noise_readings, tuning.node_s, tuning.coarsest_noise_s))
    noise = _noise(*(own if noise_s == node_s else averaged(own_times, reading_m, noise_s)), tuning)
    nodes, levels, counts = own
    variance = noise.variance_m2 / counts
    jerk = noise.jerk_at(0.5 * (nodes[1:] + nodes[:-1]))
    motion = smooth(nodes, levels, variance, jerk, tuning.edge_nodes)
    typical = float(np.median(np.diff(nodes))) if len(nodes) > 1 else 0.0
    longest_s = max(tuning.longest_bridge_s, tuning.bridge_samples * typical)
    height, climb, height_se, climb_se = at_times(motion, time_s, longest_s)
    return SmoothedHeight(height, height_se, climb, climb_se)


def _noise(nodes: Array, levels: Array, counts: Array, tuning: ConditioningTuning) -> MotionNoise:
    """Noise of one reading, and liveliness; estimated from averages, the coarser the longer the log."""
    noise = motion_noise(nodes, levels, tuning)
    return replace(noise, variance_m2=noise.variance_m2 * float(np.median(counts)))


def averaged(times: Array, values: Array, width_s: float) -> tuple[Array, Array, Array]:
    """Averages of readings that stand close: mean time, mean value, count.

    Readings are put into bins of `width_s` where they come faster than that; whatever then stands closer than a third
    of the usual distance joins its neighbour: steps of very different size make the smoother's equations ill.
    """
    if len(times) < 2:
        return times, values, np.ones(len(times))
    typical = float(np.median(np.diff(times[:10_000])))
    dense = typical < _DENSE * width_s
    start = _first_in_bins(times, width_s) if dense else np.arange(len(times))
    least = _CLOSEST * max(typical, width_s)
    while (close := np.diff(times[start], prepend=-np.inf) < least).any():
        lonely = close & ~np.concatenate(([False], close[:-1]))
        start = start[~lonely]
    counts = np.diff(start, append=len(times)).astype(float)
    return np.add.reduceat(times, start) / counts, np.add.reduceat(values, start) / counts, counts


def _first_in_bins(times: Array, width_s: float) -> NDArray[np.intp]:
    bins = times / width_s
    np.floor(bins, out=bins)
    return np.append(0, np.flatnonzero(bins[1:] != bins[:-1]) + 1)
