"""One channel: its true readings, and what had to be set aside."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.drive import LOADED, STARTS, confirmed, held_driven, unmoved
from analyzer.conditioning.dropouts import lost_load, without_pack
from analyzer.conditioning.leaps import away_and_back, cut_off, not_ready, stood_still
from analyzer.conditioning.outliers import frozen, out_of_range, spikes, stopped_in_flight, unfelt
from analyzer.conditioning.sampling import pieces, updates
from analyzer.records import Notice
from analyzer.wording import clock, counted

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from analyzer.arrays import Array, Indices, Mask
    from analyzer.channels import Channel
    from analyzer.conditioning.tuning import ConditioningTuning


_STUCK: Final = {
    "altitude_m": (frozen, stood_still),
    "vertical_speed_m_s": (frozen,),
    "airspeed_m_s": (frozen, stopped_in_flight),
    "ground_speed_m_s": (frozen, stopped_in_flight),
}
"""How sensors freeze whose readings noise and air keep changing; a governed rpm or a throttle may well stand still."""

_WHY_NO_FLIGHT: Final = ", where it leaps away and back as no flight can"
_WHY_NO_END: Final = ", to which it leaps as no flight can"
_WHY_NO_PACK: Final = ", too low for any pack: it was taken out, its plug is loose, or they were lost"
_WHY_NO_AIR: Final = ", slower than any model flies: look at the pitot and its tubes"

_SUPPLIES: Final = frozenset({"voltage_v", "receiver_voltage_v"})
"""Channels that a load really pulls down for one sample; that is what their limits are watched for."""


def true_readings(log: pd.DataFrame, channel: Channel, tuning: ConditioningTuning) -> tuple[Mask, list[Notice]]:
    """Which rows hold true and plausible readings of a channel, and notices of what was set aside.

    Parameters
    ----------
    log : pandas.DataFrame
        The log as read: `time_s`, the channel, and those beside it.
    channel : Channel
        Its row of the channel table: possible range and behaviour between samples.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    time_s, values = (log[name].to_numpy(dtype=float) for name in ("time_s", channel.name))
    wrong = out_of_range(values, channel.low, channel.high)
    if len(wrong):
        values = values.copy()
        values[wrong] = np.nan
    notices = _set_aside("impossible-values", "impossible value", channel, time_s[wrong])
    readings = _Readings(time_s, values, updates(time_s, values, tuning))
    if channel.kind == "continuous":
        lonely = readings.without(lambda times, own: _spikes_of(channel, times, own, log, tuning))
        notices += _set_aside("spikes-removed", "single-sample spike", channel, lonely)
    if channel.name == "altitude_m":
        early = readings.without(lambda times, own: not_ready(times, own, tuning))
        notices += _set_aside("sensor-not-ready", "warm-up reading", channel, early)
        late = readings.without(lambda times, own: cut_off(times, own, tuning))
        notices += _set_aside("impossible-values", "last reading", channel, late, _WHY_NO_END)
        elsewhere = readings.without(lambda times, own: away_and_back(times, own, tuning))
        notices += _set_aside("impossible-values", "reading", channel, elsewhere, _WHY_NO_FLIGHT)
    if channel.name == "voltage_v":
        notices += _set_aside("no-pack", "reading", channel, readings.without(without_pack), _WHY_NO_PACK)
    if channel.name in ("current_a", "power_w"):
        lost = readings.without(lambda times, own: lost_load(times, own, log))
        notices += _set_aside("readings-lost", "lost reading", channel, lost)
    if channel.name in STARTS:
        still = readings.without(lambda times, own: unmoved(channel.name, times, own, log))
        notices += _set_aside("frozen-values", "frozen reading", channel, still)
        held = readings.without(lambda times, own: held_driven(channel.name, times, own, log, tuning))
        notices += _set_aside("frozen-values", "held reading", channel, held)
    stuck = [readings.without(partial(rule, tuning=tuning)) for rule in _STUCK.get(channel.name, ())]
    if stuck:
        notices += _set_aside("frozen-values", "frozen reading", channel, np.sort(np.concatenate(stuck)))
    if channel.name == "airspeed_m_s":
        heights = log["altitude_m"].to_numpy(dtype=float)
        dead = readings.without(lambda times, own: _unfelt(times, own, time_s, heights, tuning))
        notices += _set_aside("airspeed-not-used", "reading", channel, dead, _WHY_NO_AIR)
    return readings.true, notices


@dataclass(frozen=True, eq=False)
class _Readings:
    """A channel, and which of its rows are true readings."""

    time_s: Array
    values: Array
    true: Mask

    def without(self, rule: Callable[[Array, Array], Indices]) -> Array:
        """Set the readings aside, in place, that a rule finds by their times and values; returns their times."""
        whole = bool(self.true.all())
        times, own = (self.time_s, self.values) if whole else (self.time_s[self.true], self.values[self.true])
        found = rule(times, own)
        if len(found):
            self.true[found if whole else np.flatnonzero(self.true)[found]] = False
        return times[found]


def _spikes_of(channel: Channel, times: Array, own: Array, log: pd.DataFrame, tuning: ConditioningTuning) -> Indices:
    """Spikes beyond what the channel can really do from one sample to the next, and that it alone shows."""
    acceleration = tuning.greatest_acceleration_m_s2 if channel.name == "altitude_m" else 0.0
    sag = tuning.supply_sag * float(np.median(pieces(own))) if channel.name in _SUPPLIES and len(own) else 0.0
    found = spikes(times, own, tuning, acceleration, sag)
    if channel.name not in LOADED or len(found) == 0:
        return found
    return found[~confirmed(channel.name, times, own, found, log, tuning)]


def _unfelt(times: Array, speeds: Array, time_s: Array, altitude_m: Array, tuning: ConditioningTuning) -> Indices:
    """Airspeeds of a pitot that failed in flight, by the altimeter's readings beside them."""
    there = np.isfinite(altitude_m)
    if not there.any():
        return np.zeros(0, dtype=np.intp)
    return unfelt(times, speeds, np.interp(times, time_s[there], altitude_m[there]), tuning)


def _set_aside(code: str, what: str, channel: Channel, times: Array, why: str = "") -> list[Notice]:
    """What the pilot is told of readings that were set aside; nothing without any."""
    if len(times) == 0:
        return []
    told = f"{channel.title}: {counted(len(times), what)} set aside, the first at {clock(times[0])}{why}"
    return [Notice(code, told)]
