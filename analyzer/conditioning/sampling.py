"""How a channel is sampled: its resolution, how long it is heard, and which of its values are new readings.

Sample-and-hold is recognised, so that a held value is not taken for a reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.arrays import Array, Mask
    from analyzer.conditioning.tuning import ConditioningTuning


Value = TypeVar("Value", np.float64, np.intp, np.bool_)

_PIECES: Final = 12
_PIECE: Final = 4000
"""So many pieces of so many values show a channel's habits, whatever it does at one time of a day."""

_QUANTUM_VALUES: Final = 20_000
_FEW_CLOSER: Final = 0.05
"""Steps between neighbouring values that may be smaller than the resolution: results of averaging within the sensor."""

_OFF_GRID: Final = 0.17
_ON_GRID_SHARE: Final = 0.95
"""So near a multiple of the resolution, in steps, are so many of the values where there is a resolution at all: whole
metres written in whole feet are off by half of 0.3048 steps at most."""

_MOST_SPIKES: Final = 3
"""... or all but so many, of a few values: spikes keep to no resolution."""

_LARGE_STEPS: Final = 1.5
"""A change of more steps than this is no ramp of a coarse channel, which goes one step at a time."""

_ON_TIME: Final = 0.8
"""Changes of a held channel come a row early or late at most, but for some that a lost row delays; a throttle that is
switched, or a governed shaft, stands still between changes, too, and keeps no period."""

_EARLY_ROWS: Final = 0.25
"""A repeat is due when its period has passed but for this share of a row: periods are no whole numbers of rows."""


def quantum_of(values: Array) -> float:
    """Step of a channel's resolution: the distance of which all its values are multiples; 0 when there is none.

    A sensor's metres that are written in feet, rounded, take two steps in turn: their mean is the sensor's.
    """
    sample = values[np.isfinite(values)][:_QUANTUM_VALUES]
    different = np.unique(np.round(sample, 6))
    if len(different) < 2:
        return 0.0
    steps = np.diff(different)
    least = float(np.quantile(steps, _FEW_CLOSER, method="lower"))
    quantum = float(steps[np.abs(steps - least) < 2.0 * _OFF_GRID * least].mean())
    multiples = (different - different[0]) / quantum
    away = multiples - np.round(multiples)
    strays = int(np.count_nonzero(np.abs(away - np.median(away)) >= _OFF_GRID))
    few = max((1.0 - _ON_GRID_SHARE) * len(different), min(_MOST_SPIKES, len(different) // 4))
    return quantum if strays <= few else 0.0


def heard_s(own_times: Array, longest_s: float) -> float:
    """Seconds that readings tell of: a silence counts for `longest_s` at most, a pause of weeks between two days too.

    Parameters
    ----------
    own_times : numpy.ndarray, shape (n,)
        Times of the readings, strictly increasing.
    longest_s : float
        Longest silence in which the quantity still hangs together.
    """
    return float(np.minimum(np.diff(own_times), longest_s).sum())


def updates(time_s: Array, values: Array, tuning: ConditioningTuning) -> Mask:
    """Whether a channel brought a new reading, for each row.

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
    there = np.isfinite(values)
    times, present = (time_s, values) if there.all() else (time_s[there], values[there])
    period = hold_period(times, present, tuning)
    if period == 0.0:
        return there
    changed = np.concatenate(([True], present[1:] != present[:-1]))
    latest = np.maximum.accumulate(np.where(changed, np.arange(len(times)), 0))
    age = times - times[latest]
    repeats = np.floor((age + _EARLY_ROWS * float(np.median(np.diff(times)))) / period)
    again = np.concatenate(([False], (repeats[1:] > repeats[:-1]) & ~changed[1:]))
    there[there] = changed | again
    return there


def hold_period(times: Array, present: Array, tuning: ConditioningTuning) -> float:
    """Period in seconds at which a held channel is renewed; 0 when it is not held."""
    times, present = pieces(times), pieces(present)
    change = np.diff(present)
    changes = np.flatnonzero(change) + 1
    if len(changes) < tuning.fewest_changes:
        return 0.0
    large = np.abs(change[changes[1:] - 1]) > _LARGE_STEPS * quantum_of(present)
    if np.count_nonzero(large) < tuning.fewest_changes:
        return 0.0
    still_rows = np.diff(changes)[large]
    if np.quantile(still_rows, tuning.hold_share) < 2:
        return 0.0
    intervals = np.diff(times[changes])[large]
    once = intervals[intervals < tuning.hold_twice * np.quantile(intervals, tuning.hold_share)]
    period = float(np.mean(once))
    on_time = np.abs(once - period) <= float(np.median(np.diff(times)))
    return period if np.mean(on_time) > _ON_TIME else 0.0


def pieces(values: NDArray[Value]) -> NDArray[Value]:
    """A long series' pieces, evenly spread, one after the other: enough to know its habits; a short one as it is."""
    if len(values) <= 2 * _PIECES * _PIECE:
        return values
    starts = np.linspace(0, len(values) - _PIECE, _PIECES).astype(int)
    return np.concatenate([values[start : start + _PIECE] for start in starts])
