"""Channels on one timeline: short silences are bridged, long ones stay missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.channels import Kind
    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]


def bridge(time_s: Array, own_times: Array, own_values: Array, kind: Kind, tuning: ConditioningTuning) -> Array:
    """Values at all stamps from a channel's own readings.

    Linear between readings (angles the short way round), NaN where the silence is longer than the tuning allows and
    beyond the first and last reading.
    """
    if len(own_times) == 0:
        return np.full(len(time_s), np.nan)
    values = np.unwrap(own_values, period=360.0) if kind == "angle" else own_values
    result = np.interp(time_s, own_times, values)
    if len(own_times) > 1:
        step = np.diff(own_times)
        limit = max(tuning.bridge_samples * float(np.median(step)), tuning.bridge_s)
        if step.max() > limit:
            _blank(result, time_s, own_times, step > limit)
    else:
        limit = tuning.bridge_s
    result[(time_s < own_times[0] - limit) | (time_s > own_times[-1] + limit)] = np.nan
    return np.mod(result, 360.0) if kind == "angle" else result


def _blank(result: Array, time_s: Array, own_times: Array, silent: NDArray[np.bool_]) -> None:
    """Set the stamps strictly inside silences to NaN."""
    before = np.searchsorted(own_times, time_s, side="right") - 1
    inside = (before >= 0) & (before < len(silent))
    inside[inside] = silent[before[inside]] & (time_s[inside] > own_times[before[inside]])
    result[inside] = np.nan


def hold_label(labels: pd.Series) -> pd.Series:
    """A label holds until the next one."""
    return labels.ffill().bfill()
