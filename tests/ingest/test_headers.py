"""Headers taken apart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.ingest.columns.headers import MAX_HEADER_CHARACTERS, fold, readings, words_of


def first(header: str, unit_row: str = "") -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Words and units of the likeliest reading."""
    reading = readings(header, unit_row)[0]
    return reading.words, tuple(unit.symbol for unit in reading.units)


@pytest.mark.parametrize(
    "header",
    [
        "Alt (m)",
        "Alt[m]",
        "ALT <m>",
        "alt{m}",
        "Alt, m",
        "Alt: m",
        "Alt in m",
        "Alt/m",
        "Alt - m",
        "alt_m",
        "altM",
        "Alt m",
    ],
)
def test_every_way_to_write_a_unit(header: str) -> None:
    assert first(header) == (("alt",), ("m",))


@pytest.mark.parametrize(
    ("header", "words", "unit"),
    [
        ("vertical_speed_m_s", ("vertical", "speed"), "m/s"),
        ("Speed m/s", ("speed",), "m/s"),
        ("Speed/m/s", ("speed",), "m/s"),
        ("GPS alt (m) 2", ("gps", "alt", "2"), "m"),
        ("Altitude [m AGL]", ("altitude", "agl"), "m"),
        ("DrehzahlU/min", ("drehzahl",), "rpm"),
        ("batteryCurrent_mA", ("battery", "current"), "mA"),
        ("Höhe über Start [m]", ("hohe", "uber", "start"), "m"),
        ("Time [10 ms]", ("time",), "10 ms"),
        ("mAh", (), "mAh"),
    ],
)
def test_names_and_units_are_told_apart(header: str, words: tuple[str, ...], unit: str) -> None:
    found, units = first(header)
    assert (found, unit in units) == (words, True)


def test_a_row_of_units_speaks_for_the_header_above() -> None:
    assert first("Alt", "ft") == (("alt",), ("ft",))


def test_a_bracket_that_is_no_unit_belongs_to_the_name() -> None:
    assert first("Voltage (ESC)") == (("voltage", "esc"), ())


def test_where_a_letter_may_be_a_unit_both_ways_are_kept() -> None:
    ways = {reading.words for reading in readings("Phase A")}
    assert ways == {("phase",), ("phase", "a")}


def test_accents_and_case_do_not_matter() -> None:
    assert fold("HÖHE") == fold("höhe") == fold("hohe")
    assert words_of("RxBatt_2-top") == ("rx", "batt", "2", "top")


@given(st.text(max_size=300), st.text(max_size=20))
def test_any_text_is_a_header(header: str, unit_row: str) -> None:
    for reading in readings(header, unit_row):
        assert len("".join(reading.words)) <= 4 * MAX_HEADER_CHARACTERS


@pytest.mark.parametrize(
    ("header", "words", "unit", "factor"),
    [
        ("volt_x100", ("volt",), None, 100.0),
        ("alt_m_x10", ("alt",), "m", 10.0),
        ("Altitude [m*10]", ("altitude",), "m", 10.0),
        ("U [V/100]", ("u",), "V", 100.0),
        ("RPM [/10]", (), "rpm", 10.0),
        ("RPM/1000", (), "rpm", 1000.0),
        ("Drehzahl [x1000/min]", ("drehzahl",), "rpm", 1000.0),
        ("rpm(x10)", (), "rpm", 10.0),
        ("rpm x1000", (), "krpm", 1.0),
        ("Alt 1/100 m", ("alt",), "1/100 m", 1.0),
        ("vario 0.1m/s", ("vario",), "0.1 m/s", 1.0),
        ("Strom (0,1 A)", ("strom",), "0,1 A", 1.0),
        ("Alt[7A]", ("alt", "7", "a"), None, 1.0),
        ("Curr [10 mA]", ("curr",), "10 mA", 1.0),
        ("prop 14x10", ("prop", "14", "x", "10"), None, 1.0),
    ],
)
def test_factors_and_the_numbers_of_sensors(
    header: str, words: tuple[str, ...], unit: str | None, factor: float
) -> None:
    ways = [(way.words, way.units[0].symbol if way.units else None, way.factor) for way in readings(header)]
    assert (words, unit, factor) in ways
    assert all(way.factor == factor for way in readings(header))


@pytest.mark.parametrize(
    ("header", "parts"),
    [
        ("motorerpm", ("motor", "erpm")), ("escrpm", ("esc", "rpm")), ("milliamps", ("milliamps",)),
        ("erpm", ("erpm",)), ("Flughöhe", ("flug", "hohe")), ("Strom", ("strom",)), ("speeds", ("speeds",)),
    ],
)  # fmt: skip
def test_compounds_are_parted_before_their_term(header: str, parts: tuple[str, ...]) -> None:
    assert words_of(header) == parts
