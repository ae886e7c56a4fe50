"""The drive's channels as each other's witnesses: what two of them show at one moment is no sensor's spike.

A motor that is blipped for less than two samples leaves a single reading in each channel, as a spike does. But it
turns the shaft, draws current and pulls the pack's voltage down at once, and spikes hit one sensor. And what stands
still in one while another shows a start or a stop is a sensor that froze.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.channels import channel_of
from analyzer.conditioning.dropouts import without_pack
from analyzer.conditioning.outliers import least_spike, may_stand, repeats, spikes
from analyzer.conditioning.sampling import pieces
from analyzer.conditioning.stretches import changes_of, stretches_of

if TYPE_CHECKING:
    import pandas as pd

    from analyzer.arrays import Array, Indices, Mask
    from analyzer.conditioning.tuning import ConditioningTuning


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
"""Channels that one sensor gives."""

_FEWEST: Final = 5
"""With fewer readings it is not known how a witness usually goes."""

_BEARS_OUT: Final = 0.1
"""A load moves each channel of the drive by this share at least of what it takes of full load ..."""

_SPEEDS: Final = frozenset({"rpm", "throttle"})
"""... which is the cube of a propeller's share of full speed."""

_AT_REST: Final = 0.1
_DRIVEN: Final = 0.6
"""Shares of a shaft's full speed: less is rest, more takes a fifth of full power, or a dive."""

_SPUN_UP_S: Final = 6.0
"""Soft starts take up to a few seconds; from rest to a dive's speed the air takes longer, or never comes."""

_SERVOS: Final = {"current_a": 3.0, "power_w": 30.0}
"""What servos and receiver take at the most, in amperes and watts: a motor takes more (common practice, no source)."""

_LATEST_S: Final = 3.0
_FEWEST_STILL: Final = 3
"""A current that has not moved so long after the shaft did, in so many readings, is no late one: its sensor froze. And
what lasts as long is no dropout."""

STARTS: Final = {"current_a": ("rpm",), "power_w": ("rpm",), "rpm": ("current_a", "power_w")}
"""Which channels, the best first, show a start or stop in which another must move."""


def confirmed(
    name: str,
    times: Array,
    own: Array,
    at: Indices,
    log: pd.DataFrame,
    tuning: ConditioningTuning,
) -> Mask:
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
    of that size. And by some part of its usual range at least, if the lonely reading stands out by all of its own: a
    shaft that hardly gets faster does not bear out twice the current. A lonely drop is not looked at: rows of zeros are
    lost in transmission, all channels at once.

    Where readings come so fast that no blip is over within one, a lonely reading is the peak of a spool-up or of a
    burst of throttle, if anything; the pack's voltage alone tells. It has to be lower than on either side, as it is not
    in the fall to a stop; and may be so a reading earlier, since currents are averaged over the time since the last.
    """
    around = times[[np.maximum(at - 2, 0), at - 1, at, at + 1]]
    bend = LOADED[name] * _bend(own[[at - 1, at, at + 1]])
    lonely, slow = bend > 0.0, around[3] - around[1] > tuning.shortest_blip_s
    told, load = np.zeros(len(at), dtype=bool), (bend / max(_usual_range(own), 1e-9)).clip(0.0, 1.0)
    if name in _SPEEDS:
        load = load**3
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
        told[asked] |= seen > np.maximum(least, _BEARS_OUT * _usual_range(values) * load[asked])
    told[told] = ~garbled(times[at[told]], log, tuning)
    return told


def garbled(moments_s: Array, log: pd.DataFrame, tuning: ConditioningTuning) -> Mask:
    """Whether the rows at some moments were garbled on their way: then none of their readings is a witness.

    A channel that no motor moves as suddenly stands out there, too, or the pack's voltage upwards, or below any pack's.

    Parameters
    ----------
    moments_s : numpy.ndarray, shape (m,)
        Stamps of rows [s].
    log : pandas.DataFrame
        The log as read.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    told = np.zeros(len(moments_s), dtype=bool)
    time_s = log["time_s"].to_numpy(dtype=float)
    for name in log.columns.difference(["time_s", *LOADED]):
        if channel_of(name).kind == "continuous" and not told.all():
            there = log[name].notna().to_numpy()
            times, own = time_s[there], log[name].to_numpy(dtype=float)[there]
            acceleration = tuning.greatest_acceleration_m_s2 if name == "altitude_m" else 0.0
            told |= np.isin(moments_s, times[spikes(times, own, tuning, acceleration)])
    if "voltage_v" in log:
        there = log["voltage_v"].notna().to_numpy()
        times, volts = time_s[there], log["voltage_v"].to_numpy(dtype=float)[there]
        found = spikes(times, volts, tuning)
        upwards = found[volts[found] > volts[found - 1]]
        told |= np.isin(moments_s, times[np.concatenate((upwards, without_pack(times, volts)))])
    return told


def unmoved(name: str, times: Array, own: Array, log: pd.DataFrame) -> Indices:
    """Indices of readings that stand still while another channel of the drive shows a start or a stop.

    Of current or power, while the shaft is spun up or comes to rest; of rpm, while the current comes or goes: but a
    shaft that reads 0 may be at rest. The first reading of each such stretch stays.

    Parameters
    ----------
    name : str
        The channel: current, power or rpm. A power moves with the voltage though its current is frozen: where a current
        is logged, its readings beside those of the power are looked at.
    times, own : numpy.ndarray, shape (n,)
        Its own readings, no NaN.
    log : pandas.DataFrame
        The log as read.
    """
    rows = np.zeros(len(times), dtype=bool)
    witness = next((column for column in STARTS[name] if column in log), None)
    if witness is None or len(times) == 0:
        return np.flatnonzero(rows)
    time_s, drive = (log[column].to_numpy(dtype=float) for column in ("time_s", witness))
    if name == "power_w" and "current_a" in log:
        own = log["current_a"].to_numpy(dtype=float)[np.searchsorted(time_s, times)]
    edges = changes_of(own)
    outer = np.concatenate((times[:1], times, times[-1:]))
    still = outer[edges[1:] + 1] - outer[edges[:-1]] >= _LATEST_S
    if name == "rpm":
        still &= own[edges[:-1]] > 0.0
    if not still.any():  # it moves all the time: most logs end here
        return np.flatnonzero(rows)
    there = (drive >= channel_of(witness).low) & (drive <= channel_of(witness).high)
    for first, last in np.searchsorted(times, _starts_and_stops(time_s[there], drive[there])):
        stretch = int(np.searchsorted(edges, first, side="right")) - 1
        if last - first >= _FEWEST_STILL and last <= edges[stretch + 1] and still[stretch]:
            rows[edges[stretch] + 1 : edges[stretch + 1]] = True
    return np.flatnonzero(rows)


def held_driven(name: str, times: Array, own: Array, log: pd.DataFrame, tuning: ConditioningTuning) -> Indices:
    """Indices of readings of a running motor that only repeat the last one for long, though the model does not climb.

    A controller that says nothing without load leaves its last readings in the receiver. The first reading stays; so
    does a channel that never shows the motor at rest, or never shows it running.

    Parameters
    ----------
    name : str
        The channel: current, power or rpm.
    times, own : numpy.ndarray, shape (n,)
        The channel's own readings, no NaN.
    log : pandas.DataFrame
        The log as read.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    none = np.zeros(0, dtype=np.intp)
    if not may_stand(times, own, 0.5 * tuning.steady_speed_s):
        return none
    rest, (time_s, height) = _AT_REST * own.max(), (log[column].to_numpy(float) for column in ("time_s", "altitude_m"))
    known = np.isfinite(height)
    if own.min() > rest or own.max() <= _SERVOS.get(name, 0.0) or not known.any():
        return none
    edges = changes_of(own)
    long = times[edges[1:] - 1] - times[edges[:-1]] > tuning.steady_speed_s
    first, last = edges[:-1][long], edges[1:][long]
    begun_m, ended_m = np.interp(times[np.array([first, last - 1])], time_s[known], height[known])
    climb = (ended_m - begun_m) / (times[last - 1] - times[first])
    held = (own[first] > rest) & (climb < tuning.driven_climb_m_s)
    return repeats(first[held], last[held])


def _starts_and_stops(times: Array, drive: Array) -> Array:
    """Stretches of time in which the drive's channels move: around starts and stops that one of them shows, (n, 2)."""
    if len(times) < _FEWEST:
        return np.zeros((0, 2))
    full = float(np.minimum(np.minimum(drive[:-2], drive[1:-1]), drive[2:]).max())  # no spike is as long
    resting = np.concatenate([np.arange(0), *(np.arange(*rest) for rest in _lasting(times, drive <= _AT_REST * full))])
    first, last = _lasting(times, drive > _DRIVEN * full).T
    last = last - 1
    rest = np.concatenate(([-np.inf], times[resting], [np.inf]))
    starts = (rest[np.searchsorted(resting, first)], times[first] + _LATEST_S)
    stops = (times[last], rest[np.searchsorted(resting, last) + 1] + _LATEST_S)
    found = np.concatenate((np.column_stack(starts), np.column_stack(stops)))
    return np.asarray(found[found[:, 1] - found[:, 0] < _SPUN_UP_S + _LATEST_S])


def _lasting(times: Array, where: Mask) -> Indices:
    """Stretches of rows in which something holds for longer than a dropout, (n, 2)."""
    spans = stretches_of(where)
    return np.asarray(spans[times[spans[:, 1] - 1] - times[spans[:, 0]] > _LATEST_S])


def _usual_range(values: Array) -> float:
    """Range of a channel's readings, but for a few at either end, which may be spikes."""
    low, high = np.quantile(pieces(values), (0.005, 0.995))
    return float(high - low)


def _bend(three: Array) -> Array:
    """By how much middle readings are above the mean of their neighbours; rows are before, middle and after."""
    return np.asarray(three[1] - 0.5 * (three[0] + three[2]))


def _sag(four: Array) -> Array:
    """How far the lower one of two middle readings is below both outer ones; rows in order of time."""
    return np.asarray(np.minimum(four[0], four[3]) - np.minimum(four[1], four[2]))


def _nearest(times: Array, at: Array) -> Indices:
    """Indices of the readings that are nearest to given times."""
    after = np.searchsorted(times, at).clip(1, len(times) - 1)
    return np.asarray(after - (at - times[after - 1] < times[after] - at))
