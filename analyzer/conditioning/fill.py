"""Channels on one timeline: short silences are bridged, long ones stay missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.sampling import pieces

if TYPE_CHECKING:
    import pandas as pd

    from analyzer.arrays import Array, Mask
    from analyzer.channels import Kind
    from analyzer.conditioning.tuning import ConditioningTuning


def bridge(time_s: Array, values: Array, true: Mask, kind: Kind, tuning: ConditioningTuning) -> Array:
    """A channel at all stamps, from its own readings.

    Linear between readings (angles the short way round), NaN where the silence is longer than the tuning allows and
    beyond the first and last reading.

    Parameters
    ----------
    time_s, values : numpy.ndarray, shape (n,)
        The log's stamps and the channel.
    true : numpy.ndarray of bool, shape (n,)
        Where the readings are true.
    kind : str
        How the channel behaves between samples.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    if true.all():
        return values
    if not true.any():
        return np.full(len(time_s), np.nan)
    beside = true.copy()  # readings inside an unbroken row of others say nothing about the silences
    beside[1:-1] &= ~(true[:-2] & true[2:])
    own_times, own = time_s[beside], values[beside]
    if kind == "angle":
        own = np.unwrap(own, period=360.0)
    between = time_s[~true]
    silent = _silent(between, own_times, _longest_bridge(time_s, true, tuning))
    result = values.copy()
    result[~true] = np.where(silent, np.nan, np.interp(between, own_times, own))
    return np.mod(result, 360.0) if kind == "angle" else result


def _longest_bridge(time_s: Array, true: Mask, tuning: ConditioningTuning) -> float:
    """Seconds of silence that are bridged, by the channel's usual distance of readings."""
    step = np.diff(pieces(time_s)[pieces(true)])
    return max(tuning.bridge_samples * float(np.median(step)) if len(step) else 0.0, tuning.bridge_s)


def _silent(times: Array, own_times: Array, limit: float) -> Mask:
    """Whether a time lies in a silence that is too long to bridge."""
    outside = (times < own_times[0] - limit) | (times > own_times[-1] + limit)
    before = np.searchsorted(own_times, times, side="right") - 1
    long = np.append(np.diff(own_times) > limit, False)
    return np.asarray(outside | ((before >= 0) & long[before]))


def hold_label(labels: pd.Series) -> pd.Series:
    """A label holds until the next one, and the first one also before it."""
    return labels.ffill().bfill()
