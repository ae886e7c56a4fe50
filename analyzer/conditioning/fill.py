"""Channels on one timeline: short silences are bridged, long ones stay missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from analyzer.channels import Kind
    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]


def bridge(time_s: Array, values: Array, rows: NDArray[np.intp], kind: Kind, tuning: ConditioningTuning) -> Array:
    """A channel at all stamps, from its own readings.

    Linear between readings (angles the short way round), NaN where the silence is longer than the tuning allows and
    beyond the first and last reading.

    Parameters
    ----------
    time_s, values : numpy.ndarray, shape (n,)
        The log's stamps and the channel.
    rows : numpy.ndarray of int
        Rows of the readings that are true.
    kind : str
        How the channel behaves between samples.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    if len(rows) == len(time_s):
        return values
    if len(rows) == 0:
        return np.full(len(time_s), np.nan)
    own_times, own = time_s[rows], values[rows]
    if kind == "angle":
        own = np.unwrap(own, period=360.0)
    empty = np.ones(len(time_s), dtype=bool)
    empty[rows] = False
    between = time_s[empty]
    result = values.copy()
    result[empty] = np.where(_silent(between, own_times, tuning), np.nan, np.interp(between, own_times, own))
    return np.mod(result, 360.0) if kind == "angle" else result


def _silent(times: Array, own_times: Array, tuning: ConditioningTuning) -> NDArray[np.bool_]:
    """Whether a time lies in a silence that is too long to bridge."""
    step = np.diff(own_times)
    limit = max(tuning.bridge_samples * float(np.median(step)) if len(step) else 0.0, tuning.bridge_s)
    outside = (times < own_times[0] - limit) | (times > own_times[-1] + limit)
    if len(step) == 0 or step.max() <= limit:
        return np.asarray(outside)
    before = np.searchsorted(own_times, times, side="right") - 1
    long = np.concatenate((step > limit, [False]))
    return np.asarray(outside | ((before >= 0) & long[before]))


def hold_label(labels: pd.Series) -> pd.Series:
    """A label holds until the next one."""
    return labels.ffill().bfill()
