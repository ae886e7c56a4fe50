"""Zeros that are no readings: a pack's voltage without a pack, a current that is lost while the pack stays loaded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import pieces
from analyzer.conditioning.stretches import stretches_of

if TYPE_CHECKING:
    import pandas as pd

    from analyzer.arrays import Array, Indices


_NO_PACK: Final = 0.4
"""Below this share of its usual voltage there is no pack: it is taken out, or the reading is lost. A pack of half as
many cells has more, and no controller runs on less (common practice, no source)."""

_LONGEST_S: Final = 4.0
"""What is lost in transmission is back sooner; a motor that stands for longer has stopped."""

_LOADED: Final = 0.3
"""Readings beside a loss reach this share of full load."""

_RECOVERED: Final = 0.25
"""When the load goes, a pack recovers at once by more than this share of its sag: two thirds are its resistance
(common practice, no source)."""


def without_pack(_times: Array, volts: Array) -> Indices:
    """Indices of voltages too low for any pack that the log has seen."""
    return np.flatnonzero(volts < _NO_PACK * _usual(volts)) if len(volts) else np.zeros(0, dtype=np.intp)


def _usual(volts: Array) -> float:
    """Voltage of a pack at rest, also where it is plugged in for a part of the log only."""
    return float(np.quantile(pieces(volts), 0.9))


def lost_load(times: Array, own: Array, log: pd.DataFrame) -> Indices:
    """Indices of readings of current or power at or below zero, for a moment, while the pack's voltage stays down.

    Or while that reads nothing, either: the whole row was lost.

    Parameters
    ----------
    times, own : numpy.ndarray, shape (n,)
        The channel's own readings, no NaN.
    log : pandas.DataFrame
        The log as read: `time_s`, and `voltage_v` where it has it.
    """
    if "voltage_v" not in log or len(times) == 0:
        return np.zeros(0, dtype=np.intp)
    there = log["voltage_v"].notna().to_numpy()
    volts_s, volts = (log[name].to_numpy(dtype=float)[there] for name in ("time_s", "voltage_v"))
    if not len(volts):
        return np.zeros(0, dtype=np.intp)
    lost = np.zeros(len(times), dtype=bool)
    usual, full = _usual(volts), float(np.quantile(pieces(own), 0.99))
    for first, last in _interruptions(times, own, _LOADED * full):
        beside = float(np.interp(times[[first - 1, last]], volts_s, volts).max())
        inside = volts[slice(*np.searchsorted(volts_s, (times[first], times[last - 1] + 1e-9)))]
        known, sag = inside[inside >= _NO_PACK * usual], usual - beside
        down = sag > 0.0 and bool((known < beside + _RECOVERED * sag).all())
        lost[first:last] = len(inside) > 0 and (len(known) == 0 or down)
    return np.flatnonzero(lost)


def _interruptions(times: Array, own: Array, loaded: float) -> list[list[int]]:
    """First row and one past the last of short stretches of zero, or less, with load on both sides."""
    stretches = stretches_of(own <= 0.0)
    stretches = stretches[(stretches[:, 0] > 0) & (stretches[:, 1] < len(own))]
    before, after = stretches[:, 0] - 1, stretches[:, 1]
    short = times[after] - times[before] <= _LONGEST_S
    found: list[list[int]] = stretches[short & (np.minimum(own[before], own[after]) > loaded)].tolist()
    return found
