"""The trade's units: how headers spell them, and how each becomes the unit that the code uses.

Factors follow NIST SP 811 (2008), appendix B, and the definitions of the SI; the tests hold the table
against a general units library. A unit belongs to one dimension, so a header's unit also says which
channels its column can and cannot be.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final, TypeVar

from analyzer.constants import DAY_S, FOOT_M, INCH_M, ZERO_CELSIUS_K

if TYPE_CHECKING:
    import numpy as np

    Number = TypeVar("Number", float, np.ndarray)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one dimension: ``base = value * factor + offset``.

    Attributes
    ----------
    symbol : str
        How the project writes it.
    dimension : str
        What it measures; units convert within one dimension only.
    factor, offset : float
        To the dimension's base unit, which is the one in the names of channels and fields.
    spellings : tuple of str
        Further ways in which headers write it, lower case.
    """

    symbol: str
    dimension: str
    factor: float
    offset: float = 0.0
    spellings: tuple[str, ...] = ()

    def to_base(self, value: Number) -> Number:
        """Convert a scalar or an array of this unit to the dimension's base unit."""
        return value * self.factor + self.offset


_FAHRENHEIT: Final = 5.0 / 9.0

UNITS: Final[tuple[Unit, ...]] = (
    Unit("s", "time", 1.0, spellings=(
        "sec", "secs", "second", "seconds", "sek", "sekunde", "sekunden", "secondes", "secondi", "segundos", "sekundy",
        "с", "сек",  # noqa: RUF001
    )),
    Unit("ds", "time", 0.1, spellings=("decisecond", "deciseconds")),
    Unit("cs", "time", 0.01, spellings=("centisecond", "centiseconds")),
    Unit("ms", "time", 1e-3, spellings=("msec", "millis", "millisecond", "milliseconds")),
    Unit("us", "time", 1e-6, spellings=("usec", "micros", "microsecond", "microseconds", "µs", "μs")),
    Unit("ns", "time", 1e-9, spellings=("nsec", "nanos", "nanosecond", "nanoseconds")),
    Unit("min", "time", 60.0, spellings=("mins", "minute", "minutes", "minuten", "minuti", "minutos", "minuty")),
    Unit("h", "time", 3600.0, spellings=(
        "hr", "hrs", "hour", "hours", "stunde", "stunden", "heures", "ore", "horas", "hodiny",
    )),
    Unit("day", "time", DAY_S, spellings=("days", "tage", "jours", "giorni", "dias", "dny")),
    Unit("m", "length", 1.0, spellings=("meter", "meters", "metre", "metres", "mtr", "м")),
    Unit("cm", "length", 0.01, spellings=("centimeter", "centimeters", "centimetre", "centimetres")),
    Unit("dm", "length", 0.1, spellings=("decimeter", "decimetre")),
    Unit("mm", "length", 1e-3, spellings=("millimeter", "millimeters", "millimetre", "millimetres")),
    Unit("km", "length", 1000.0, spellings=("kilometer", "kilometers", "kilometre", "kilometres")),
    Unit("ft", "length", FOOT_M, spellings=("foot", "feet")),
    Unit("yd", "length", 3.0 * FOOT_M, spellings=("yard", "yards")),
    Unit("kft", "length", 1000.0 * FOOT_M, spellings=("kilofoot", "kilofeet")),
    Unit("in", "length", INCH_M, spellings=("inch", "inches")),
    Unit("m/s", "speed", 1.0, spellings=(
        "mps", "ms-1", "m.s-1", "m s-1", "m/sec", "meter/s", "m·s⁻¹", "m s^-1", "м/с",  # noqa: RUF001
    )),
    Unit("cm/s", "speed", 0.01, spellings=("cms", "cm/sec")),
    Unit("dm/s", "speed", 0.1, spellings=("dm/sec",)),
    Unit("km/h", "speed", 1.0 / 3.6, spellings=("kmh", "kph", "kmph", "km/hr", "km h-1", "км/ч")),
    Unit("kt", "speed", 1852.0 / 3600.0, spellings=("kts", "kn", "knot", "knots")),
    Unit("mph", "speed", 1609.344 / 3600.0, spellings=("mi/h", "miles/h", "mile/h")),
    Unit("ft/s", "speed", FOOT_M, spellings=("fps", "ft/sec", "feet/s")),
    Unit("ft/min", "speed", FOOT_M / 60.0, spellings=("fpm", "feet/min", "ft/m")),
    Unit("m/min", "speed", 1.0 / 60.0, spellings=("m/minute", "meter/min")),
    Unit("V", "voltage", 1.0, spellings=("volt", "volts", "в")),
    Unit("mV", "voltage", 1e-3, spellings=("millivolt", "millivolts")),
    Unit("cV", "voltage", 1e-2, spellings=("centivolt", "centivolts")),
    Unit("dV", "voltage", 0.1, spellings=("decivolt", "decivolts")),
    Unit("A", "current", 1.0, spellings=("amp", "amps", "ampere", "amperes", "а")),  # noqa: RUF001
    Unit("mA", "current", 1e-3, spellings=("milliamp", "milliamps", "milliampere")),
    Unit("cA", "current", 1e-2, spellings=("centiamp", "centiamps")),
    Unit("dA", "current", 0.1, spellings=("deciamp", "deciamps")),
    Unit("Ah", "charge", 1.0, spellings=("amp-hour", "amphour", "ampere-hour", "a·h", "a.h")),
    Unit("mAh", "charge", 1e-3, spellings=("milliamp-hour", "milliampere-hour", "ma·h")),
    Unit("W", "power", 1.0, spellings=("watt", "watts")),
    Unit("mW", "power", 1e-3, spellings=("milliwatt", "milliwatts")),
    Unit("kW", "power", 1000.0, spellings=("kilowatt", "kilowatts")),
    Unit("Wh", "energy", 1.0, spellings=("watt-hour", "watthour", "w·h")),
    Unit("mWh", "energy", 1e-3, spellings=("milliwatt-hour",)),
    Unit("rpm", "rotation", 1.0, spellings=(
        "1/min", "tr/min", "tours/min", "giri/min", "omw/min", "min-1", "/min", "r/min", "rev/min", "u/min", "upm",
        "rpms", "min⁻¹", "min^-1", "obr/min", "ot/min", "varv/min", "o/min", "omdr/min", "ford/min", "об/мин",  # noqa: RUF001
    )),
    Unit("krpm", "rotation", 1000.0, spellings=(
        "kilorpm", "ku/min", "ktr/min", "k/min", "1000/min", "rpm*1000", "rpmx1000", "rpm x1000",
    )),
    Unit("Hz", "rotation", 60.0, spellings=("hertz", "rps", "rev/s", "1/s", "s^-1", "s-1")),
    Unit("°C", "temperature", 1.0, spellings=("c", "degc", "deg c", "celsius", "ºc", "℃", "°")),
    Unit("°F", "temperature", _FAHRENHEIT, -32.0 * _FAHRENHEIT, ("f", "degf", "deg f", "fahrenheit", "ºf")),
    Unit("K", "temperature", 1.0, -ZERO_CELSIUS_K, ("kelvin",)),
    Unit("Pa", "pressure", 1.0, spellings=("pascal", "pascals")),
    Unit("hPa", "pressure", 100.0, spellings=("hectopascal", "hectopascals", "mbar", "millibar", "mb")),
    Unit("kPa", "pressure", 1000.0, spellings=("kilopascal", "kilopascals")),
    Unit("bar", "pressure", 1e5, spellings=("bars",)),
    Unit("inHg", "pressure", 3386.389, spellings=("in hg", "in.hg", "inch hg")),
    Unit("psi", "pressure", 6894.757, spellings=("lbf/in2",)),
    Unit("deg", "angle", 1.0, spellings=("°", "degree", "degrees", "º", "degs")),
    Unit("rad", "angle", 180.0 / math.pi, spellings=("radian", "radians")),
    Unit("cdeg", "angle", 0.01, spellings=("centidegree", "centidegrees", "degx100", "deg*100", "deg x100")),
    Unit("deg*1e7", "angle", 1e-7, spellings=("dege7", "deg e7", "1e-7 deg", "degree*1e7", "1e7 deg")),
    Unit("fraction", "ratio", 1.0, spellings=("0..1", "0-1")),
    Unit("%", "ratio", 0.01, spellings=("percent", "pct", "per cent", "prozent")),
    Unit("us pulse", "ratio", 1e-3, -1.0, ("us", "µs", "μs", "usec", "microseconds", "pulse", "pwm")),
    Unit("0..255", "ratio", 1.0 / 255.0, spellings=("0-255",)),
    Unit("0..1000", "ratio", 1e-3, spellings=("0-1000", "permille", "per mille", "promille", "\u2030")),
    Unit("0..1023", "ratio", 1.0 / 1023.0, spellings=("0-1023",)),
    Unit("+-100 %", "ratio", 0.005, 0.5, ("±100 %", "±100", "+-100", "-100..100", "-100..+100")),
    Unit("+-1024", "ratio", 1.0 / 2048.0, 0.5, ("±1024", "-1024..1024", "-1024..+1024")),
)  # fmt: skip
"""Every unit that a header may name. Base units (factor 1) are those of `analyzer.channels`."""

_SCALED: Final = re.compile(
    r"(?:10(?:\^|\*\*)(?P<power>[+-]?\d)|(?P<times>\d+(?:[.,]\d+)?(?:e[+-]?\d+)?)(?:/(?P<over>\d+))?)"
    r"[\s_]*[x*·]?[\s_]*(?P<unit>[^\d\s^].*|1/\w+)"
)
"""A unit with a factor before it: "0.1 m", "1/7 rpm", "10 ms", "1e-2 A", "10^3 1/min"."""

_A_COUNT: Final = re.compile(r"\s*/\s*(?:lsb|bit|digit|count)$", re.IGNORECASE)
"""What a count is worth is its unit: "0.1 A/LSB"."""

_NUMBERED: Final = re.compile(r"(?!10+\D)\d+[a-z]")
"""The number of a sensor, "7A": a factor is a power of ten, a fraction, or stands apart from its unit."""


def _keys(text: str) -> tuple[str, ...]:
    """Foldings of a spelling to look up: case, brackets, inner spaces do not matter; "m_s", "m per s" are "m/s"."""
    key = re.sub(r"\s+", " ", text.replace("\N{REPLACEMENT CHARACTER}", "").strip().strip("[](){}<>").strip())
    key = key.casefold().replace("_per_", "/").replace(" per ", "/")
    return tuple(
        dict.fromkeys((key, key.rstrip("."), key.replace("_", "/"), key.replace("_", " "), key.replace(" ", "/")))
    )


@cache
def _by_spelling() -> dict[str, tuple[Unit, ...]]:
    table: dict[str, tuple[Unit, ...]] = {}
    for unit in UNITS:
        for spelling in dict.fromkeys((unit.symbol.casefold(), *unit.spellings)):
            table[spelling] = (*table.get(spelling, ()), unit)
    return table


def find_units(text: str) -> tuple[Unit, ...]:
    """Every unit that a text may mean; several when the trade spells two dimensions alike ("°", "us").

    Parameters
    ----------
    text : str
        A unit as a header gives it, with or without brackets.

    Returns
    -------
    tuple of Unit
        Empty when the text is no unit the table knows.

    Examples
    --------
    >>> [unit.symbol for unit in find_units("[km/h]")]
    ['km/h']
    """
    table = _by_spelling()
    return next((table[key] for key in _keys(text) if key in table), ())


def parse_units(text: str) -> tuple[Unit, ...]:
    """Like `find_units`, and also a unit with a factor before it, as counts of a sensor's resolution are given.

    Examples
    --------
    >>> parse_units("[0.1 m]")[0].to_base(123.0)
    12.3
    >>> round(parse_units("1/7 rpm")[0].to_base(42_000.0))
    6000
    """
    text = _A_COUNT.sub("", text.strip(" []()"))
    plain, key = find_units(text), _keys(text)[0]
    scaled = None if plain or _NUMBERED.fullmatch(key) else _SCALED.fullmatch(key)
    if scaled is None:
        return plain
    times, over = float((scaled["times"] or "1").replace(",", ".")), float(scaled["over"] or 1.0)
    scale = times / over * 10.0 ** int(scaled["power"] or 0) if over else 0.0
    if not 1e-9 <= scale <= 1e9:
        return ()
    given = key.removesuffix(scaled["unit"]).strip(" _x*·")
    return tuple(
        Unit(f"{given} {unit.symbol}", unit.dimension, scale * unit.factor, unit.offset)
        for unit in find_units(scaled["unit"])
    )


@cache
def base_symbol(dimension: str) -> str:
    """Symbol of the base unit of a dimension.

    Examples
    --------
    >>> base_symbol("temperature"), base_symbol("speed")
    ('°C', 'm/s')
    """
    return next(
        unit.symbol for unit in UNITS if unit.dimension == dimension and (unit.factor, unit.offset) == (1.0, 0.0)
    )


def unit_of(symbol: str, dimension: str | None = None) -> Unit:
    """The one unit with this spelling, in this dimension where one is given.

    Raises
    ------
    KeyError
        When no unit, or more than one, fits.
    """
    fits = [unit for unit in find_units(symbol) if dimension in (None, unit.dimension)]
    if len(fits) != 1:
        raise KeyError(symbol)
    return fits[0]


_BY_ENDING: Final = {
    "_rpm_per_v": "rpm/V", "_kg_m3": "kg/m³", "_m_s": "m/s", "_ah_m": "m/Ah", "_wh_m": "m/Wh", "_deg": "deg",
    "_kg": "kg", "_m2": "m²", "_ah": "Ah", "_ohm": "Ω", "_in": "in", "_n": "N", "_w": "W", "_a": "A", "_v": "V",
    "_c": "°C", "_m": "m", "rpm": "rpm",
}  # fmt: skip
"""What names of fields and setup keys end in; the first that fits decides."""


def unit_ending(name: str) -> str:
    """The ending of a name that is its unit; "" where it has none, as a plain number or a word."""
    return next((ending for ending in _BY_ENDING if name.endswith(ending)), "")


def unit_in_name(name: str) -> str:
    """The unit that a name ends in.

    Examples
    --------
    >>> unit_in_name("climb_rate_m_s"), unit_in_name("cells")
    ('m/s', '')
    """
    return _BY_ENDING.get(unit_ending(name), "")
