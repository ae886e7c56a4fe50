"""Numbers from cells that are text."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.ingest.text.numbers import parse_number, parse_numbers
from analyzer.units import find_units


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("12.5", ".", 12.5),
        ("12,5", ",", 12.5),
        ("-0,5", ",", -0.5),
        ("+.5", ".", 0.5),
        ("5.", ".", 5.0),
        ("1e3", ".", 1000.0),
        ("1,234.5", ".", 1234.5),
        ("1.234,5", ",", 1234.5),
        ("1.234,5", ".", 1234.5),
        ("1,234,567", ",", 1234567.0),
        ("1,234,567.8", ".", 1234567.8),
        ("1'000.5", ".", 1000.5),
        ("1,234", ".", 1234.0),
        ("1.234", ",", 1234.0),
        ("12,5", ".", 12.5),
        ("12.5", ",", 12.5),
        ("0,125", ".", 0.125),
        ("46156,58549", ".", 46156.58549),
        ("4 000", ".", 4000.0),
        ("1\N{NO-BREAK SPACE}234,5", ",", 1234.5),
        ("\N{MINUS SIGN}0.5", ".", -0.5),
    ],
)
def test_marks_of_decimals_and_thousands(text: str, decimal: str, value: float) -> None:
    assert parse_number(text, decimal) == (value, "")


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("12.5V", 12.5, "V"),
        ("12.5 V", 12.5, "V"),
        ("85 %", 85.0, "%"),
        ("-3 m/s", -3.0, "m/s"),
        ("1,200 mAh", 1200.0, "mAh"),
        ("20°C", 20.0, "°C"),
    ],
)
def test_units_behind_the_number(text: str, value: float, unit: str) -> None:
    assert parse_number(text, ".") == (value, unit)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "abc",
        "=1+1",
        "0x1f",
        "1_000",
        "12:30",
        "2024-05-06",
        "1.2.3.4x",
        "--",
        "12 apples",
        "7200 1/4",
        "1 2",
        "14.03.07.000",
        "1,23,4",
    ],
)
def test_what_is_no_number(text: str) -> None:
    assert math.isnan(parse_number(text, ".")[0])


def test_a_column_tells_missing_from_bad() -> None:
    cells = pd.Series(["1,5", "--", "n/a", "", None, "abc", "2,5 V", " 3 "], dtype="str")
    found = parse_numbers(cells, ",")
    np.testing.assert_array_equal(found.values, [1.5, np.nan, np.nan, np.nan, np.nan, np.nan, 2.5, 3.0])
    assert found.bad.tolist() == [False, False, False, False, False, True, False, False]
    assert found.unit_text == "V"


@given(
    st.lists(st.floats(-1e9, 1e9).map(lambda value: round(value, 4)), min_size=1, max_size=20), st.sampled_from(".,")
)
def test_written_and_read_is_the_same(values: list[float], decimal: str) -> None:
    cells = pd.Series([f"{value:.4f}".replace(".", decimal) for value in values], dtype="str")
    found = parse_numbers(cells, decimal)
    assert found.values.tolist() == values
    assert not found.bad.any()


@given(st.lists(st.text(max_size=20), min_size=1, max_size=10), st.sampled_from(".,"))
def test_any_text_is_a_number_or_not(texts: list[str], decimal: str) -> None:
    found = parse_numbers(pd.Series(texts, dtype="str"), decimal)
    assert not (np.isfinite(found.values) & found.bad).any()


def test_cells_that_change_their_unit_are_brought_to_one() -> None:
    found = parse_numbers(pd.Series(["1.2 A", "900 mA", "2 A", "3 m", "0"], dtype="str"), ".")
    np.testing.assert_allclose(found.values, [1.2, 0.9, 2.0, np.nan, 0.0])
    assert (found.unit_text, found.bad.tolist()) == ("A", [False, False, False, True, False])
    later = parse_numbers(pd.Series(["900 mA"], dtype="str"), ".", "A")
    np.testing.assert_allclose(later.values, [0.9])


@pytest.mark.parametrize(
    "text", ["7200 1/min", "7200 /min", "7200 min-1", "7.200 U/min", "7200rpm", "7\u202f200 tr/min"]
)
def test_turns_a_minute_behind_a_number(text: str) -> None:
    value, unit = parse_number(text, ",")
    assert value == 7200.0
    assert find_units(unit)[0].symbol == "rpm"
