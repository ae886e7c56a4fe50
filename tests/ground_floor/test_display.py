"""Units for the eye, held against NIST SP 811 and a general units library."""

from __future__ import annotations

from dataclasses import fields, replace

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_flight import made_summary

from analyzer import display
from analyzer.display import (
    clock,
    notice_lines,
    recorded,
    scale_for_symbol,
    scale_of,
    sentence,
    shown,
    when,
    with_intervals,
)
from analyzer.records import Glide, MotorRun, Notice, ThermalClimb, Totals

NOT_NUMBERS = {"kind", "flight_mode", "blip", "on_ground"}


@pytest.mark.parametrize(
    ("field", "value", "metric", "feet"),
    [
        # factors: NIST SP 811 (2008), appendix B.8: 1 ft = 0.3048 m, 1 ft/min = 5.08e-3 m/s, 1 mi/h = 0.44704 m/s
        ("height_gain_m", 100.0, "100 m", "328 ft"),
        ("climb_rate_m_s", 5.08, "5.08 m/s", "1000 ft/min"),
        ("sink_rate_m_s", 0.508, "0.51 m/s", "100 ft/min"),
        ("mean_airspeed_m_s", 10.0, "10.0 m/s", "22.4 mph"),
        ("drift_m_s", 4.4704, "4.5 m/s", "10.0 mph"),
        ("climb_per_ah_m", 304.8, "305 m/Ah", "1000 ft/Ah"),
        ("climb_per_wh_m", 30.48, "30.5 m/Wh", "100 ft/Wh"),
        ("charge_ah", 0.4125, "412 mAh", "412 mAh"),
        ("energy_wh", 2.614, "2.61 Wh", "2.61 Wh"),
        ("pack_resistance_ohm", 0.0243, "24.3 mΩ", "24.3 mΩ"),
        ("lift_share", 0.404, "40 %", "40 %"),
        ("mean_rpm", 7420.4, "7420 rpm", "7420 rpm"),
    ],
)
def test_a_field_is_shown_in_the_unit_that_its_name_ends_in(field: str, value: float, metric: str, feet: str) -> None:
    assert shown(field, value) == metric
    assert shown(field, value, "feet") == feet


@pytest.mark.parametrize(("metric", "feet"), [("m", "ft"), ("m/Ah", "ft/Ah"), ("m/Wh", "ft/Wh")])
def test_feet_agree_with_a_units_library(metric: str, feet: str) -> None:
    units = pint.UnitRegistry()
    numerator = units.Quantity(1.0, "m").to("ft").magnitude
    scale = scale_for_symbol(metric, "feet")
    assert scale.symbol == feet
    assert scale.factor == pytest.approx(numerator, rel=1e-12)


@pytest.mark.parametrize("record", [MotorRun, Glide, ThermalClimb, Totals])
def test_every_number_of_a_result_can_be_shown(record: type) -> None:
    for entry in fields(record):
        if entry.name not in NOT_NUMBERS and not entry.name.endswith("_se") and "_se_" not in entry.name:
            assert scale_of(entry.name).text(0.5)


def test_a_name_without_a_unit_is_refused() -> None:
    with pytest.raises(KeyError):
        scale_of("colour")


def test_a_limit_keeps_the_unit_that_it_names() -> None:
    assert scale_for_symbol("A").with_unit(30.0) == "30.0 A"
    assert scale_for_symbol("parsec").with_unit(1.0) == "1.00 parsec"
    assert scale_for_symbol("m/s", "feet", "climb rate").with_unit(5.08) == "1000 ft/min"
    assert scale_for_symbol("m/s", "feet", "top speed").with_unit(10.0) == "22.4 mph"


@pytest.mark.parametrize("value", [None, float("nan"), float("inf")])
def test_a_value_that_is_not_there_is_a_dash(value: float | None) -> None:
    assert shown("height_gain_m", value) == display.ABSENT
    assert clock(value) == display.ABSENT


def test_no_number_is_shown_as_minus_zero() -> None:
    assert shown("height_gain_m", -0.2) == "0 m"


def test_an_interval_is_1_96_standard_errors() -> None:
    # normal distribution: 95 % lie within 1.959964 standard deviations (any table of the normal distribution)
    assert with_intervals(scale_of("climb_rate_m_s"), [6.333], [0.05]) == ("6.33 ±0.10",)


def test_a_column_gets_one_more_decimal_rather_than_an_interval_of_nothing() -> None:
    assert with_intervals(scale_of("height_gain_m"), [171.23, None, 88.0], [0.1, 0.1, None]) == (
        "171.2 ±0.2",
        display.ABSENT,
        "88.0",
    )


def test_an_interval_too_small_to_be_seen_is_not_shown() -> None:
    assert with_intervals(scale_of("charge_ah"), [0.1183], [1e-6]) == ("118.3",)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.0, "0:00"),
        (7.4, "0:07"),
        (59.6, "1:00"),
        (187.0, "3:07"),
        (3787.0, "1:03:07"),
        (-5.0, "-0:05"),
        (-0.2, "0:00"),
    ],
)
def test_times_read_as_on_a_stopwatch(seconds: float, text: str) -> None:
    assert clock(seconds) == text


@given(st.floats(0, 1e6))
def test_a_time_reads_back_to_the_second(seconds: float) -> None:
    parts = [int(part) for part in clock(seconds).split(":")]
    total = sum(part * 60**power for power, part in enumerate(reversed(parts)))
    assert abs(total - seconds) <= 0.5
    assert all(part < 60 for part in parts[1:])


def test_a_date_is_shown_to_the_minute() -> None:
    assert when("2026-05-02T14:31:59.5+02:00") == "2026-05-02 14:31"
    assert when(None) == ""


@pytest.mark.parametrize(
    ("metric", "feet"),
    [
        # factors: NIST SP 811 (2008), appendix B.8, as above
        ("reads 1.8 m too high (standard error 0.6 m)", "reads 6 ft too high (standard error 2 ft)"),
        (
            "the glides were all flown at 9.0 to 10.0 m/s, too alike",
            "the glides were all flown at 20.1 to 22.4 mph, too alike",
        ),
        ("flown in lift of about 0.5 m/s", "flown in lift of about 98 ft/min"),
        ("0.40 A at 1.2 m² and 3 ms, 5 m/Ah", "0.40 A at 1.2 m² and 3 ms, 5 m/Ah"),
    ],
)
def test_a_finished_sentence_is_read_in_feet(metric: str, feet: str) -> None:
    assert sentence(metric) == metric
    assert sentence(metric, "feet") == feet


@pytest.mark.parametrize(
    ("samples", "rate_hz", "said"),
    [
        (9001, 10.0, "15:00 logged at 10 Hz, 9001 samples"),
        (9001, None, "15:00 logged, 9001 samples"),
    ],
)
def test_how_densely_it_was_logged(samples: int, rate_hz: float | None, said: str) -> None:
    assert recorded(replace(made_summary().log, samples=samples, sample_rate_hz=rate_hz)) == said


def test_what_is_said_of_a_files_own_columns_keeps_its_units() -> None:
    notices = (Notice("unit-inferred", "read 'Alt' in m, up to 300 m"), Notice("propeller-wash", "1.8 m too high"))
    assert notice_lines(notices, "feet") == ("Read 'Alt' in m, up to 300 m.", "6 ft too high.")
