"""The drive's channels as each other's witnesses: what two of them show at one moment is no sensor's spike.

A motor that is blipped for less than two samples leaves a single reading in each channel, as a spike does. But it
turns the shaft, draws current and pulls the pack's voltage down at once, and spikes hit one sensor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.channels import channel_of
from analyzer.conditioning.outliers import least_spike

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]

LOADED: Final = {"power_w": 1.0, "current_a": 1.0, "rpm": 1.0, "throttle": 1.0, "voltage_v": -1.0}
"""Which way each channel goes when the motor starts."""

READING_COLUMNS: Final = {
    "current_a": "current_reading_a",
    "power_w": "power_reading_w",
    "rpm": "rpm_reading",
    "throttle": "throttle_reading",
}
"""Columns in which a conditioned log keeps each channel at its sensor's own readings alone: how well an integral or the
edge of a run is known depends on them."""

_ONE_SENSOR: Final = frozenset({"power_w", "current_a"})

_FEWEST: Final = 5
"""With fewer readings it is not known how a witness usually goes."""


def confirmed(
    name: str,
    times: Array,
    own: Array,
    at: NDArray[np.intp],
    log: pd.DataFrame,
    tuning: ConditioningTuning,
) -> NDArray[np.bool_]:
    """Whether lonely readings are those of a motor that starts, by another channel of the drive at their moments.

    Parameters
    ----------
    name : str
        The channel, one of `LOADED`.
    times, own : numpy.ndarray, shape (n,)
        Its own readings, no NaN.
    at : numpy.ndarray of int, shape (m,)
        Indices of the lonely ones among them, neither the first nor the last.
    log : pandas.DataFrame
        The log as read: `time_s`, and what it has of the drive's channels.
    tuning : ConditioningTuning
        The stage's tuning.

    Notes
    -----
    A witness agrees when, at its readings nearest to the lonely one and to that one's neighbours, it bends towards load
    by more than what is looked at as a spike, or by half its range: a throttle that is only opened and closed has steps
    of that size. A lonely drop is not looked at: rows of zeros are lost in transmission, all channels at once.

    Where readings come so fast that no blip is over within one, a lonely reading is the peak of a spool-up or of a
    burst of throttle, if anything; the pack's voltage alone tells. It has to be lower than on either side, as it is not
    in the fall to a stop; by what no pack is without, since a mere spool-up is no witness of a current that would have
    brought the pack down; and may be so a reading earlier, since currents are averaged over the time since the last.
    """
    around = times[[np.maximum(at - 2, 0), at - 1, at, at + 1]]
    bend = LOADED[name] * _bend(own[[at - 1, at, at + 1]])
    lonely, slow = bend > 0.0, around[3] - around[1] > tuning.shortest_blip_s
    told = np.zeros(len(at), dtype=bool)
    for witness in log.columns.intersection(list(LOADED)):
        channel, asked = channel_of(witness), np.flatnonzero(lonely & (slow | (witness == "voltage_v")))
        if witness == name or {witness, name} == _ONE_SENSOR or len(asked) == 0:
            continue
        there = log[witness].between(channel.low, channel.high).to_numpy()
        if np.count_nonzero(there) < _FEWEST:
            continue
        values = log[witness].to_numpy(dtype=float)[there]
        near = values[_nearest(log["time_s"].to_numpy(dtype=float)[there], around[:, asked])]
        seen = _sag(near) if witness == "voltage_v" else LOADED[witness] * _bend(near[1:])
        least = min(least_spike(values, tuning), 0.5 * float(np.ptp(values)))
        sag = tuning.least_pack_ohm * bend[asked] if (name, witness) == ("current_a", "voltage_v") else 0.0
        told[asked] |= seen > np.maximum(least, sag)
    return told


def _bend(three: Array) -> Array:
    return np.asarray(three[1] - 0.5 * (three[0] + three[2]))


def _sag(four: Array) -> Array:
    return np.asarray(np.minimum(four[0], four[3]) - np.minimum(four[1], four[2]))


def _nearest(times: Array, at: Array) -> NDArray[np.intp]:
    after = np.searchsorted(times, at).clip(1, len(times) - 1)
    return np.asarray(after - (at - times[after - 1] < times[after] - at))
