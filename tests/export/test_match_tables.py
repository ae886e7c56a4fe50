"""A flight held against its prediction, as a pilot reads it."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
from made_flight import made_summary

from analyzer.export.answers import answers
from analyzer.export.csv_table import csv_table
from analyzer.export.flight_text import flight_text
from analyzer.export.match_tables import finding_lines, match_by_climb_table, match_rows, match_table
from analyzer.records import Finding, FlightSummary, MatchItem

HEAVY = Finding(
    "propeller power", "", 1.0, 1.11, 1.04, 1.18, "", "differs", "The propeller absorbs 11 % more power than modelled."
)
KV = Finding(
    "speed constant",
    "motor.kv_rpm_per_v",
    900.0,
    905.0,
    895.0,
    915.0,
    "rpm/V",
    "as_stated",
    "As stated.",
    ("winding resistance",),
)
WINDING = Finding(
    "winding resistance",
    "motor.resistance_ohm",
    0.03,
    0.031,
    0.025,
    0.037,
    "ohm",
    "open",
    "Not told.",
    ("speed constant",),
)


@pytest.fixture
def summary() -> FlightSummary:
    items = [
        MatchItem("current", 30.0, 33.0, "A", 10.0, False, start, 28.5, 31.5, 0.3) for start in (12.0, 300.0, None)
    ] + [MatchItem("climb rate", 6.0, 5.9, "m/s", -1.7, True, start, 5.4, 6.6, 0.1) for start in (12.0, 300.0, None)]
    return replace(made_summary(), match=tuple(items), findings=(HEAVY, KV, WINDING))


def test_the_table_shows_the_flight_as_a_whole(summary: FlightSummary) -> None:
    table = match_table(summary, "metric")
    assert len(table.rows) == len(match_rows(summary)) == 2
    assert table.rows[0] == ("DIFFERS", "current (A)", "+10.0", "33.0 ±0.6", "30.0 (28.5 to 31.5)")
    assert table.rows[1][0] == "agrees"


def test_an_airspeed_that_nobody_logged_is_said_to_be_estimated(summary: FlightSummary) -> None:
    logged = replace(summary, log=replace(summary.log, channels=(*summary.log.channels, "airspeed_m_s")))
    assert "airspeed (estimated, since none is logged); 95 %" in match_table(summary, "metric").note
    assert "airspeed; 95 %" in match_table(logged, "metric").note


def test_climbs_are_shown_where_there_is_no_whole(summary: FlightSummary) -> None:
    of_climbs = replace(summary, match=summary.match[:1])
    assert match_table(of_climbs, "metric").rows[0][1] == "0:12"


def test_feet_reach_the_climb_and_leave_the_current(summary: FlightSummary) -> None:
    rows = match_table(summary, "feet").rows
    assert (rows[0][1], rows[0][4]) == ("current (A)", "30.0 (28.5 to 31.5)")
    assert rows[1][1] == "climb rate (ft/min)"
    assert rows[1][4].startswith("1181 (")


def test_climb_by_climb_marks_what_is_beyond(summary: FlightSummary) -> None:
    table = match_by_climb_table(summary)
    assert table.rows == (("0:12", "+10 !", "-2"), ("5:00", "+10 !", "-2"))
    per_ah = replace(summary.match[0], quantity="climb per Ah")
    assert match_by_climb_table(replace(summary, match=(per_ah, *summary.match))).columns[1].title == "per Ah"


def test_one_climb_needs_no_second_table(summary: FlightSummary) -> None:
    assert not match_by_climb_table(replace(summary, match=summary.match[:1])).rows


def test_findings_are_said_once(summary: FlightSummary) -> None:
    lines = finding_lines(summary.findings)
    assert lines == (
        HEAVY.said,
        KV.said,
        "Not told by these climbs: winding resistance.",
        "Not told apart by these climbs: speed constant and winding resistance.",
    )


def test_the_answer_says_what_explains_it(summary: FlightSummary) -> None:
    answer = answers(summary)[2]
    assert answer.state == "bad"
    assert answer.said == f"Measured against predicted: current +10 %, beyond the uncertainty. {HEAVY.said}"


def test_text_and_table_carry_the_findings(summary: FlightSummary) -> None:
    assert "WHAT THE CLIMBS SAY OF THE SETUP" in flight_text(summary)
    rows = [row for row in csv.DictReader(io.StringIO(csv_table([summary]))) if row["kind"] == "finding"]
    assert rows[0]["quantity"] == "propeller power"
    assert float(rows[0]["high"]) == 1.18
    assert rows[2]["not_told_from"] == "speed constant"
