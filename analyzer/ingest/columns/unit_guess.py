"""Units from the values, for columns whose headers name none.

A unit is inferred only where the others would be absurd: 12600 is no pack voltage in volts, 0.45 of a throttle is no
percentage. Where SI is possible it is assumed, and said so. Where several units remain and SI is not among them, the
unit is unknown, and the column is left out rather than guessed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.channels import BY_NAME
from analyzer.units import Unit, unit_of

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.channels import Channel


@dataclass(frozen=True, slots=True)
class Guess:
    """A unit found without the header's help.

    Attributes
    ----------
    unit : Unit
        The unit.
    reason : str
        What in the values shows it; empty where the SI unit is only assumed.
    """

    unit: Unit
    reason: str = ""


Windows = tuple[tuple[str, float, float], ...]
"""Units of a channel, and where a size of its values lies in each: the first that fits is its unit."""

USUAL: Final[dict[str, Windows]] = {
    # A flight pack of 2 to 14 cells: 6 to 60 V; the windows of its fractions follow, without overlap. What lies between
    # 63 and 100 may be a percentage as well.
    "voltage_v": (("V", 0.0, 63.0), ("dV", 100.0, 630.0), ("cV", 630.0, 6300.0), ("mV", 6300.0, 63_000.0)),
    # A receiver supply: 3.3 to 12.6 V.
    "receiver_voltage_v": (("V", 0.0, 20.0), ("dV", 30.0, 200.0), ("cV", 300.0, 2000.0), ("mV", 3000.0, 20_000.0)),
    # The air outside, from sea level to 9 km; 33 to 110 kPa are no inches of mercury, which end at 32.
    "pressure_pa": (
        ("Pa", 30e3, 110e3), ("hPa", 300.0, 1100.0), ("kPa", 33.0, 110.0), ("inHg", 9.0, 32.5), ("bar", 0.3, 1.1),
    ),
    # Hottest part of a model: 150 degrees Celsius; 250 is kelvin, or 25 in tenths.
    "temperature_c": (("°C", 0.0, 200.0),),
}  # fmt: skip
"""Windows for the median of the absolute values."""

HIGHEST: Final[dict[str, Windows]] = {
    # A model's motor draws up to 300 A; between 300 and 15 000 the counts may be mA, cA or dA: unknown.
    "current_a": (("A", 0.0, 300.0), ("mA", 15_000.0, 300_000.0)),
    "power_w": (("W", 0.0, 20_000.0), ("mW", 50_000.0, 20e6)),
    "latitude_deg": (("deg", 0.0, 90.0), ("deg*1e7", 1e6, 90e7)),
    "longitude_deg": (("deg", 0.0, 180.0), ("deg*1e7", 1e6, 180e7)),
    # A motor that flies a model turns faster than 300; up to 20 are thousands, between them also turns a second.
    "rpm": (("rpm", 0.0, 0.0), ("krpm", 1.0, 20.0), ("rpm", 300.0, 500_000.0)),
    "heading_deg": (("deg", 0.0, 720.0),),
}
"""Windows for the 99.5th percentile of the absolute values."""

HIGHEST_PERCENTILE: Final = 99.5
"""A few spikes do not decide a unit."""

FASTEST_M_S: Final = 70.0
"""Dynamic soaring apart, no model passes it."""

FASTEST_CRUISE_M_S: Final = 22.0
"""No electric sailplane's usual speed is higher (80 km/h); twenty to eighty are also kilometres or miles an hour."""

STANDING_SHARE: Final = 0.2
"""Below this share of its highest speed, a model stands or rolls."""

LARGEST_CHARGE_AH: Final = 20.0
"""No model carries more; whole numbers below it are milliampere-hours all the same, ampere-hours come in fractions."""

FASTEST_CLIMB_M_S: Final = 60.0
"""A height that changes faster, over a second, is not in metres."""

USUAL_CLIMB_M_S: Final = 4.0
USUAL_TOP_M: Final = 150.0
"""Middles of 1 to 20 m/s and of 50 to 500 m."""

CLEARLY_NEARER: Final = 0.5
"""In powers of ten, climb and top taken together."""

RATE_PERCENTILE: Final = 95.0
"""Of the changes over a second; dropouts and spikes are rarer."""

JUDGED_VALUES: Final = 100_000
"""As many values, evenly spread, tell a column's size."""

NEGATIVE_PERCENT: Final = -5.0
"""A throttle in per cent below this runs from -100 to 100."""


def guess_unit(channel: Channel, values: Array, seconds: Array) -> Guess | None:
    """Find the unit of a column whose header names none.

    Parameters
    ----------
    channel : Channel
        What the column is.
    values : numpy.ndarray
        Its values as logged, NaN where there is none; at least one.
    seconds : numpy.ndarray
        Their times.

    Returns
    -------
    Guess or None
        None when the values fit several units and not the SI one.
    """
    there = np.isfinite(values)
    if channel.name in _BY_SHAPE:
        return _BY_SHAPE[channel.name](values[there], seconds[there])
    size = np.abs(values[there])
    size = size[:: 1 + size.size // JUDGED_VALUES]
    if channel.name in USUAL:
        return _by_window(float(np.median(size)), USUAL[channel.name], channel, "a typical value")
    if channel.name in HIGHEST:
        return _by_window(
            float(np.percentile(size, HIGHEST_PERCENTILE)), HIGHEST[channel.name], channel, "the highest value"
        )
    return Guess(base_unit(channel))


def base_unit(channel: Channel) -> Unit:
    """The unit in a channel's name."""
    return unit_of(channel.unit or "fraction", channel.dimension)


def _by_window(value: float, windows: Windows, channel: Channel, what: str) -> Guess | None:
    for symbol, low, high in windows:
        if low <= value <= high:
            unit = unit_of(symbol, channel.dimension)
            return Guess(unit) if unit == base_unit(channel) else Guess(unit, f"{what} is {value:g}")
    return None


def centred(unit: Unit | None, values: Array) -> Unit | None:
    """The unit of a throttle in per cent, whose middle is at zero where it goes far below; any other as it is."""
    if unit is not None and unit.symbol == "%" and float(np.fmin.reduce(values)) < NEGATIVE_PERCENT:
        return unit_of("+-100 %", "ratio")
    return unit


def _throttle(values: Array, _seconds: Array) -> Guess | None:
    """A throttle's scale shows in its ends: 0..1, 0..100 %, -100..100 %, 1000..2000 us, -1024..1024."""
    low, high = (float(end) for end in np.percentile(values, [100.0 - HIGHEST_PERCENTILE, HIGHEST_PERCENTILE]))
    span = f"it runs from {low:g} to {high:g}"
    for symbol, lows, highs in (
        ("fraction", (-0.05, 1.05), (-0.05, 1.05)),
        ("%", (NEGATIVE_PERCENT, 105.0), (1.05, 105.0)),
        ("us pulse", (700.0, 2300.0), (900.0, 2300.0)),
        ("0..255", (0.0, 130.0), (250.0, 255.0)),  # a byte, and ten bits, that are used to the full
        ("0..1000", (0.0, 500.0), (1000.0, 1000.0)),
        ("0..1023", (0.0, 500.0), (1020.0, 1024.0)),
        ("+-100 %", (-130.0, NEGATIVE_PERCENT), (-130.0, 130.0)),
        ("+-1024", (-1100.0, -130.0), (-1100.0, 1100.0)),
    ):
        if lows[0] <= low <= lows[1] and highs[0] <= high <= highs[1]:
            return Guess(unit_of(symbol, "ratio"), span)
    return None


def _charge(values: Array, _seconds: Array) -> Guess:
    """Charge used: ampere-hours come in fractions and end early."""
    highest = float(np.max(np.abs(values)))
    whole = bool(np.all(values == np.round(values)))
    if highest > LARGEST_CHARGE_AH or (whole and highest > 0.0):
        return Guess(unit_of("mAh"), f"it counts {'whole numbers ' if whole else ''}up to {highest:g}")
    return Guess(unit_of("Ah"), f"it counts fractions up to {highest:g}" if highest > 0.0 else "")


def _altitude(values: Array, seconds: Array) -> Guess | None:
    """Height: metres, unless it would then change faster than any model climbs or dives, or end above the weather.

    Then it counts what brings both climb and top next to a usual flight's, if that is much nearer than the rest.
    """
    later = np.searchsorted(seconds, seconds + 1.0)
    inside = later < seconds.size
    steps_s = seconds[later[inside]] - seconds[inside]
    rates = np.abs(values[later[inside]] - values[inside]) / steps_s
    rate = float(np.percentile(rates, RATE_PERCENTILE)) if rates.size else 0.0
    highest = float(np.percentile(np.abs(values), HIGHEST_PERCENTILE))
    if rate <= FASTEST_CLIMB_M_S and highest <= BY_NAME["altitude_m"].high:
        return Guess(unit_of("m", "length"))

    def odd(unit: Unit) -> float:
        pairs = ((rate, USUAL_CLIMB_M_S), (highest, USUAL_TOP_M))
        return sum(abs(math.log10(max(value * unit.factor, 1e-3) / usual)) for value, usual in pairs)

    best, second = sorted((unit_of(symbol, "length") for symbol in ("dm", "cm", "mm")), key=odd)[:2]
    if odd(second) - odd(best) < CLEARLY_NEARER or highest * best.factor > BY_NAME["altitude_m"].high:
        return None
    return Guess(best, f"in metres it would change by {rate:.0f} m/s and reach {highest:.0f} m")


def _speed(values: Array, _seconds: Array) -> Guess | None:
    """Speed: metres a second if that is a usual speed of sailplanes, kilometres an hour if it would be far too fast."""
    size = np.abs(values)
    highest = float(np.percentile(size, HIGHEST_PERCENTILE))
    usual = float(np.median(size[size >= STANDING_SHARE * highest]))
    if highest <= FASTEST_M_S:
        return Guess(unit_of("m/s")) if usual <= FASTEST_CRUISE_M_S else None
    return Guess(unit_of("km/h"), f"the highest value is {highest:g}") if highest <= 3.6 * FASTEST_M_S else None


_BY_SHAPE: Final = {
    "throttle": _throttle,
    "charge_ah": _charge,
    "altitude_m": _altitude,
    "airspeed_m_s": _speed,
    "ground_speed_m_s": _speed,
}
"""Channels whose unit a single size does not show."""
