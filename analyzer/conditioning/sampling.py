"""When a channel was really updated: sample-and-hold is recognised, so that a held value is not taken for a reading."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.noise import quantum_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]


def update_rows(time_s: Array, values: Array, tuning: ConditioningTuning) -> NDArray[np.intp]:
    """Rows at which a channel brought a new reading.

    A channel is held when its larger changes (by more than its resolution) always come after it stood still for some
    rows; the stillness gives its period. A slow ramp of a coarsely resolved channel changes by one quantum at a time
    and is not mistaken for a hold.

    Parameters
    ----------
    time_s : numpy.ndarray, shape (n,)
        The log's stamps.
    values : numpy.ndarray, shape (n,)
        NaN where the channel is silent.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    rows = np.flatnonzero(np.isfinite(values))
    if len(rows) < 4:
        return rows
    times, present = time_s[rows], values[rows]
    period = hold_period(times, present, tuning)
    if period == 0.0:
        return rows
    changed = np.concatenate(([True], present[1:] != present[:-1]))
    latest = np.maximum.accumulate(np.where(changed, np.arange(len(rows)), 0))
    age = times - times[latest]
    repeats = np.floor((age + 0.25 * float(np.median(np.diff(times)))) / period)
    again = np.concatenate(([False], (repeats[1:] > repeats[:-1]) & ~changed[1:]))
    return rows[changed | again]


def hold_period(times: Array, present: Array, tuning: ConditioningTuning) -> float:
    """Period in seconds at which a held channel is renewed; 0 when it is not held."""
    change = np.diff(present)
    changes = np.flatnonzero(change != 0.0) + 1
    if len(changes) < tuning.fewest_changes:
        return 0.0
    large = np.abs(change[changes[1:] - 1]) > 1.5 * quantum_of(present)
    if np.count_nonzero(large) < tuning.fewest_changes:
        return 0.0
    still_rows = np.diff(changes)[large]
    still_s = np.diff(times[changes])[large]
    if np.quantile(still_rows, tuning.hold_share) < 2:
        return 0.0
    return float(np.quantile(still_s, 0.5 * tuning.hold_share + 0.2))
