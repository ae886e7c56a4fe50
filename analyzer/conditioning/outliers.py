"""Impossible values and single-sample spikes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.noise import quantum_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]

_NEIGHBOURHOOD = np.array([-6, -5, -4, -3, -2, 2, 3, 4, 5, 6])


def out_of_range(values: Array, low: float, high: float) -> NDArray[np.bool_]:
    """Whether a value lies outside its physically possible range by more than noise about its bounds explains."""
    slack = 0.01 * (high - low)
    return (values < low - slack) | (values > high + slack)


def spikes(times: Array, values: Array, tuning: ConditioningTuning, acceleration: float = 0.0) -> NDArray[np.bool_]:
    """Whether a reading stands out from both neighbours, which agree with each other.

    A step (the start of a motor run) differs from one neighbour only and is never a spike. The threshold is the local
    noise: second differences of the ten readings around, the suspect and its neighbours left out.

    Parameters
    ----------
    times, values : numpy.ndarray, shape (n,)
        The channel's own readings, no NaN.
    tuning : ConditioningTuning
        The stage's tuning.
    acceleration : float
        Second derivative that the quantity can really have, in its unit per s².
    """
    result = np.zeros(len(values), dtype=bool)
    if len(values) < 5:
        return result
    before, after = values[1:-1] - values[:-2], values[1:-1] - values[2:]
    height = np.minimum(np.abs(before), np.abs(after))
    stands_out = (before * after > 0) & (np.abs(before - after) < tuning.spike_agreement * height)
    bend = np.abs(before + after) / 2
    stands_out &= height > 3.0 * float(np.median(bend))
    suspects = np.flatnonzero(stands_out) + 1
    around = np.clip(suspects[:, None] + _NEIGHBOURHOOD, 1, len(values) - 2) - 1
    scale = 1.4826 * np.sqrt(2 / 3) * np.median(bend[around], axis=1) if len(suspects) else np.zeros(0)
    possible = acceleration * (times[suspects + 1] - times[suspects - 1]) ** 2 / 8 if len(suspects) else 0.0
    floor = 2.5 * max(float(np.quantile(bend, 0.9)), quantum_of(values))
    result[suspects] = height[suspects - 1] > np.maximum(np.maximum(tuning.spike_sigma * scale, floor), possible)
    return result
