"""Units against a general units library and NIST SP 811 (2008), appendix B.8."""

import math

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.units import UNITS, Unit, find_units, parse_units, unit_of

PINT = pint.UnitRegistry()
"""Pint's own names, for the symbols which it spells otherwise or does not know."""
PINT_NAMES = {
    "us": "microsecond",
    "°C": "degC",
    "°F": "degF",
    "K": "kelvin",
    "rpm": "revolutions_per_minute",
    "inHg": "inch_Hg_32F",
    "kt": "knot",
    "ft/min": "foot / minute",
    "%": "percent",
    "Ah": "ampere_hour",
    "mAh": "milliampere_hour",
    "h": "hour",
    "min": "minute",
    "kft": "kilofoot",
}
MULTIPLES = {"krpm": (1000.0, "rpm"), "Hz": (60.0, "rpm"), "deg*1e7": (1e-7, "deg"), "cdeg": (1e-2, "deg")}
BASES = {
    "time": "second",
    "length": "meter",
    "speed": "meter / second",
    "voltage": "volt",
    "current": "ampere",
    "charge": "ampere_hour",
    "power": "watt",
    "energy": "watt_hour",
    "rotation": "revolutions_per_minute",
    "temperature": "degC",
    "pressure": "pascal",
    "angle": "degree",
    "ratio": "dimensionless",
}
OUR_OWN = {"fraction", "us pulse", "+-100 %", "+-1024", "0..255", "0..1000", "0..1023"}
PHYSICAL = [unit for unit in UNITS if unit.symbol not in OUR_OWN]


@pytest.mark.parametrize("unit", PHYSICAL, ids=lambda unit: unit.symbol)
@pytest.mark.parametrize("value", [-40.0, 0.0, 1.0, 12345.678])
def test_every_unit_agrees_with_a_general_units_library(unit: Unit, value: float) -> None:
    times, symbol = MULTIPLES.get(unit.symbol, (1.0, unit.symbol))
    expected = PINT.Quantity(value * times, PINT_NAMES.get(symbol, symbol)).to(BASES[unit.dimension]).magnitude
    # 1e-6: the conventional inch of mercury is given to seven digits only (NIST SP 811: 3.386389e3 Pa).
    assert unit.to_base(value) == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("symbol", "factor"),
    [  # NIST SP 811 (2008), appendix B.8, from memory except where the definition is exact
        ("ft", 0.3048),
        ("in", 0.0254),
        ("kt", 0.5144444),
        ("mph", 0.44704),
        ("km/h", 0.2777778),
        ("ft/min", 0.00508),
        ("inHg", 3386.389),
        ("psi", 6894.757),
    ],
)
def test_factors_of_nist_sp_811(symbol: str, factor: float) -> None:
    assert unit_of(symbol).factor == pytest.approx(factor, rel=1e-7)


def test_servo_pulse_and_centred_percent_become_a_throttle_fraction() -> None:
    assert unit_of("us", "ratio").to_base(1500.0) == pytest.approx(0.5)
    assert unit_of("±100 %").to_base(np.array([-100.0, 0.0, 100.0])) == pytest.approx([0.0, 0.5, 1.0])
    assert unit_of("-1024..1024").to_base(1024.0) == pytest.approx(1.0)


@given(st.sampled_from(UNITS), st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5))
def test_arrays_and_scalars_convert_alike(unit: Unit, values: list[float]) -> None:
    assert unit.to_base(np.array(values)).tolist() == [unit.to_base(value) for value in values]


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.symbol)
def test_every_spelling_finds_its_unit_in_any_bracket_and_case(unit: Unit) -> None:
    for spelling in (unit.symbol, *unit.spellings):
        for text in (spelling, f"[{spelling}]", f"( {spelling.upper()} )"):
            if text.casefold().strip("[]( )") == spelling.casefold().strip("[]( )"):
                assert unit in find_units(text), text


def test_one_spelling_means_one_unit_in_each_dimension() -> None:
    for unit in UNITS:
        for spelling in (unit.symbol, *unit.spellings):
            alike = [other for other in find_units(spelling) if other.dimension == unit.dimension]
            assert alike == [unit], spelling


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("m_s", "m/s"),
        ("m per s", "m/s"),
        ("m_per_s", "m/s"),
        ("km_h", "km/h"),
        ("deg_c", "°C"),
        ("sec.", "s"),
        ("\ufffdC", "°C"),
    ],
)
def test_underscores_words_and_broken_encodings(text: str, symbol: str) -> None:
    assert symbol in [unit.symbol for unit in find_units(text)]


@pytest.mark.parametrize("text", ["", " ", "furlong", "m2", "g", "dB", "=1+1", "[]"])
def test_what_is_no_unit_finds_none(text: str) -> None:
    assert find_units(text) == ()
    assert parse_units(text) == ()


@pytest.mark.parametrize(
    ("text", "value", "base"),
    [
        ("0.1 m", 123.0, 12.3),
        ("10 ms", 5.0, 0.05),
        ("1/7 rpm", 42_000.0, 6_000.0),
        ("(0.01_s)", 1500.0, 15.0),
        ("0.01V", 1260.0, 12.6),
        ("10x mV", 1.0, 0.01),
    ],
)
def test_counts_of_a_resolution(text: str, value: float, base: float) -> None:
    (unit,) = (unit for unit in parse_units(text) if unit.dimension != "ratio")
    assert unit.to_base(value) == pytest.approx(base)
    assert find_units(text) == ()


@pytest.mark.parametrize("text", ["0 m", "1/0 rpm", "1e99 m", "99999999999999 m"])
def test_impossible_factors_are_no_unit(text: str) -> None:
    assert parse_units(text) == ()


def test_a_symbol_that_means_two_things_has_to_be_asked_for_by_dimension() -> None:
    with pytest.raises(KeyError):
        unit_of("°")
    assert unit_of("°", "angle").symbol == "deg"
    assert math.isclose(unit_of("rad").factor, math.degrees(1.0))


@pytest.mark.parametrize(
    ("text", "base"),
    [
        ("10^3 1/min", 1000.0), ("10^-1 A", 0.1), ("1e-2 A", 0.01), ("0.1A/LSB", 0.1), ("0,1 A", 0.1),
        ("kU/min", 1000.0),
        ("10**2 m", 100.0),
    ],
)  # fmt: skip
def test_powers_of_ten_and_what_a_count_is_worth(text: str, base: float) -> None:
    (unit,) = parse_units(text)
    assert unit.to_base(1.0) == pytest.approx(base)


@pytest.mark.parametrize("text", ["7A", "0A", "1C", "3F", "10^3", "1e400 m"])
def test_numbers_of_sensors_and_bare_factors_are_no_units(text: str) -> None:
    assert parse_units(text) == ()
