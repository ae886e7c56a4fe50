"""Smoothed height (or energy height) and its rate from readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.between_nodes import SmoothedHeight, at_times
from analyzer.conditioning.noise import motion_noise
from analyzer.conditioning.sampling import heard_s
from analyzer.conditioning.stretches import changes_of
from analyzer.conditioning.vertical_motion import smooth

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.conditioning.tuning import ConditioningTuning


_CLOSEST: Final = 1.0 / 3.0
"""Nodes closer than this share of their usual distance are joined."""


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
    nodes, levels, counts = own = averaged(own_times, reading_m, node_s)
    noise_s = float(np.clip(heard / tuning.most_noise_readings, tuning.node_s, tuning.coarsest_noise_s))
    # the noise is estimated from averages, too, the coarser the longer the log
    coarse, means, together = own if noise_s == node_s else averaged(own_times, reading_m, noise_s)
    noise = motion_noise(coarse, means, tuning)
    variance = noise.variance_m2 * float(np.median(together)) / counts
    jerk = noise.jerk_at(0.5 * (nodes[1:] + nodes[:-1]))
    motion = smooth(nodes, levels, variance, jerk, tuning.edge_nodes)
    typical = float(np.median(np.diff(nodes))) if len(nodes) > 1 else 0.0
    longest_s = max(tuning.longest_bridge_s, tuning.bridge_samples * typical)
    return at_times(motion, time_s, longest_s)


def averaged(times: Array, values: Array, width_s: float) -> tuple[Array, Array, Array]:
    """Averages of readings that stand close: mean time, mean value, count.

    Readings are put into bins of `width_s`; whatever then stands closer than a third of the usual distance joins its
    neighbour: steps of very different size make the smoother's equations ill.
    """
    if len(times) < 2:
        return times, values, np.ones(len(times))
    typical = float(np.median(np.diff(times[:10_000])))
    start = changes_of(np.floor(times / width_s))[:-1]
    least = _CLOSEST * max(typical, width_s)
    while (close := np.diff(times[start], prepend=-np.inf) < least).any():
        lonely = close & ~np.concatenate(([False], close[:-1]))
        start = start[~lonely]
    counts = np.diff(start, append=len(times)).astype(float)
    return np.add.reduceat(times, start) / counts, np.add.reduceat(values, start) / counts, counts
