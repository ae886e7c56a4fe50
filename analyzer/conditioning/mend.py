"""One channel: its true readings, and what had to be set aside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.outliers import frozen, not_ready, out_of_range, spikes
from analyzer.conditioning.sampling import pieces, update_rows
from analyzer.records import Notice

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.channels import Channel
    from analyzer.conditioning.tuning import ConditioningTuning

    Array = NDArray[np.float64]
    Rows = NDArray[np.intp]

_NEVER_STEADY: Final = frozenset({"altitude_m", "vertical_speed_m_s", "airspeed_m_s", "ground_speed_m_s"})
"""Channels that noise and air keep changing; a governed rpm or a throttle may well stand still."""

_SUPPLIES: Final = frozenset({"voltage_v", "receiver_voltage_v"})
"""Channels that a load really pulls down for one sample; that is what their limits are watched for."""


def true_readings(
    time_s: Array, values: Array, channel: Channel, tuning: ConditioningTuning
) -> tuple[Rows, list[Notice]]:
    """Rows of a channel's true and plausible readings, and notices of what was set aside.

    Parameters
    ----------
    time_s, values : numpy.ndarray, shape (n,)
        The log's stamps and the channel; NaN where it is silent.
    channel : Channel
        Its row of the channel table: possible range and behaviour between samples.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    notices: list[Notice] = []
    wrong = out_of_range(values, channel.low, channel.high)
    if len(wrong):
        values = values.copy()
        values[wrong] = np.nan
        notices.append(_set_aside("impossible-values", channel, "impossible values", time_s[wrong]))
    rows = update_rows(time_s, values, tuning)
    if channel.kind != "continuous":
        return rows, notices
    times, own = (time_s, values) if len(rows) == len(values) else (time_s[rows], values[rows])
    acceleration = tuning.greatest_acceleration_m_s2 if channel.name == "altitude_m" else 0.0
    sag = tuning.supply_sag * float(np.median(pieces(own))) if channel.name in _SUPPLIES and len(own) else 0.0
    lonely = spikes(times, own, tuning, acceleration, sag)
    if len(lonely):
        notices.append(_set_aside("spikes-removed", channel, "single-sample spikes", times[lonely]))
        rows, times, own = np.delete(rows, lonely), np.delete(times, lonely), np.delete(own, lonely)
    early = not_ready(times, own, tuning) if channel.name == "altitude_m" else ()
    if len(early):
        notices.append(_set_aside("sensor-not-ready", channel, "first readings (sensor not ready)", times[early]))
        rows, times, own = np.delete(rows, early), np.delete(times, early), np.delete(own, early)
    stuck = frozen(times, own, tuning) if channel.name in _NEVER_STEADY else ()
    if len(stuck):
        notices.append(_set_aside("frozen-values", channel, "repeats of a frozen reading", times[stuck]))
        rows = np.delete(rows, stuck)
    return rows, notices


def _set_aside(code: str, channel: Channel, what: str, times: Array) -> Notice:
    return Notice(code, f"{channel.title}: {len(times)} {what} set aside, the first at {times[0]:.1f} s")
