"""What a pilot reads on the terminal: aligned, complete, and clean whatever a log held."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_flight import made_run, made_summary

from analyzer.cautions import REPORT_CAUTIONS
from analyzer.export.flight_tables import motor_runs_table
from analyzer.export.flight_text import flight_text
from analyzer.export.table import Column, Table, render_text
from analyzer.records import FlightSummary, Notice, PowerSystemMeasures, Totals
from analyzer.setup_file import Setup

HEADINGS = [
    "LIMITS",
    "MOTOR RUNS: WHAT THEY GAVE",
    "MOTOR RUNS: WHAT THEY DREW",
    "PREDICTION AGAINST FLIGHT",
    "GLIDES",
    "THERMAL CLIMBS",
    "TOTALS",
    "FLIGHTS",
    "WHAT THE LOG IS MADE OF",
    "ABOUT THE LOG",
    "CAUTIONS",
]


def empty_summary() -> FlightSummary:
    """A log that was waiting in the grass."""
    summary = made_summary()
    nothing = PowerSystemMeasures(None, None, None, None)
    totals = Totals(0.0, 0.0, None, None, None, None, None, None)
    return replace(
        summary,
        flights=(),
        segments=(),
        motor_runs=(),
        glides=(),
        thermal_climbs=(),
        totals=totals,
        power_system=nothing,
        match=(),
    )


def test_the_sections_come_in_the_order_of_the_decisions() -> None:
    lines = flight_text(made_summary()).splitlines()
    assert [line for line in lines if line in HEADINGS] == HEADINGS
    assert lines.index("LIMITS") > next(index for index, line in enumerate(lines) if "Inside its limits?" in line)


def test_a_motor_run_stands_in_its_row_with_its_intervals() -> None:
    text = flight_text(made_summary())
    assert "  1   0:12  171 ±2  6.33 ±0.08  793 ±10  67.9 ±0.9  0:28  6 ±1" in text
    feet = flight_text(made_summary(), "feet")
    assert "  1   0:12  562 ±5  1246 ±15  2602 ±33  223 ±3  0:28  20 ±5" in feet


def test_what_went_over_its_limit_is_said_first_and_marked_in_the_table() -> None:
    text = flight_text(made_summary())
    assert text.index("OVER THE LIMIT: controller current") < text.index("LIMITS\n")
    assert "  OVER  controller current, continuous  30.0 A  34.2 A     -4.2 A  0:14" in text


def test_lines_fit_a_terminal() -> None:
    for system in ("metric", "feet"):
        assert max(len(line) for line in flight_text(made_summary(), system).splitlines()) <= 100


def test_short_runs_and_runs_on_the_ground_are_named() -> None:
    runs = (made_run(blip=True), made_run(500.0, 515.0, on_ground=True))
    text = flight_text(made_summary(motor_runs=runs))
    assert "too short to measure" in text
    assert "on the ground" in text
    columns = motor_runs_table(made_summary(motor_runs=(made_run(), *runs)), "metric").columns
    ratios = [column for column in columns if column.title in ("climb", "per Ah", "per Wh")]
    assert len(ratios) == 3
    assert all(column.cells[0] != "—" and column.cells[1] == "—" for column in ratios)


def test_the_strip_shows_the_course_of_the_log() -> None:
    strip = next(line for line in flight_text(made_summary()).splitlines() if line.startswith("  .M"))
    assert len(strip) == 78
    assert strip.count("T") == pytest.approx(76 * 120 / 900, abs=1)
    assert strip.rstrip().endswith("-.")


def test_a_log_with_nothing_in_it_still_reads_well() -> None:
    text = flight_text(empty_summary())
    assert "No limits were checked" in text
    assert "MOTOR RUNS" not in text
    assert all(caution.split(":")[0][:20] in text for caution in REPORT_CAUTIONS)


def test_the_setup_that_was_flown_is_named() -> None:
    assert "made_flight.csv   with Demo 2.5 m\n" in flight_text(made_summary(), setup=Setup(name="Demo 2.5 m"))


@given(name=st.text(min_size=1), message=st.text(min_size=1))
def test_no_control_character_reaches_the_terminal(name: str, message: str) -> None:
    summary = made_summary()
    hostile = replace(summary, log=replace(summary.log, name=name, notices=(Notice("x", message),)))
    text = flight_text(hostile)
    assert text.replace("\n", "").isprintable()
    assert len(text.splitlines()) <= 120 + len(message)


def test_an_escape_sequence_in_a_header_is_disarmed() -> None:
    summary = made_summary()
    hostile = replace(summary, log=replace(summary.log, name="\x1b]0;owned\x07\x1b[2J.csv"))
    assert "\x1b" not in flight_text(hostile)
    assert "\x07" not in flight_text(hostile)


def test_numbers_stand_right_and_words_left_under_their_headings() -> None:
    table = Table(
        "A table", (Column("name", ("a", "bbbbbb"), is_number=False), Column("value", ("1", "100"), "m")), "Why."
    )
    assert render_text(table) == "A TABLE\n  name    value\n              m\n  a           1\n  bbbbbb    100\n  Why."


def test_two_columns_that_are_too_wide_together_are_folded_once() -> None:
    wide = Column("why", ("far too long for anything to stand beside it " * 2,), is_number=False)
    table = Table("A table", (Column("log", ("a.csv",), is_number=False), Column("at", ("0:10",)), wide))
    assert [part.split()[0] for part in render_text(table).split("\n\n")] == ["A", "log"]


def test_a_wide_table_is_folded_and_each_part_says_what_its_rows_are_about() -> None:
    words = (Column("", ("1", "2")), Column("propeller", ("14x8", "13x7"), is_number=False))
    table = Table(
        "Wide", (*words, *(Column(f"value {number}", ("x" * 12, "y"), "m" * (number < 3)) for number in range(5)))
    )
    first, second = render_text(table).split("\n\n")
    assert all(len(line) <= 80 for line in (*first.splitlines(), *second.splitlines()))
    assert (first.count("value"), second.count("value")) == (3, 2)
    assert first.count("14x8") == second.count("14x8") == 1
    assert len(second.splitlines()) == 3, "no line for units where no column has one"
