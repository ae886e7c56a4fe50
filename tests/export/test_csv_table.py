"""One flat table that a spreadsheet opens without running anything that a log smuggled in."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_flight import made_summary

from analyzer.errors import LogFileError
from analyzer.export.csv_table import COLUMNS, csv_table, safe_text
from analyzer.export.serializer import to_plain
from analyzer.ingest import read_log_bytes
from analyzer.records import LimitCheck, Notice


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_every_result_has_its_row() -> None:
    kinds = [row["kind"] for row in rows_of(csv_table([made_summary()]))]
    assert kinds[:9] == [
        "flight",
        "ground",
        "motor_run",
        "glide",
        "thermal_climb",
        "glide",
        "motor_run",
        "glide",
        "ground",
    ]
    assert kinds[9:] == ["totals", "power_system", "limit", "limit", "limit", "match", "match", "notice"]


def test_values_are_those_of_the_json_to_the_last_digit() -> None:
    summary = made_summary()
    runs = [row for row in rows_of(csv_table([summary])) if row["kind"] == "motor_run"]
    for row, run in zip(runs, to_plain(summary)["motor_runs"], strict=True):
        for key, value in run.items():
            written = row[key]
            if value is None:
                assert written == ""
            elif isinstance(value, bool):
                assert written == str(value).lower()
            else:
                assert float(written) == value


def test_several_logs_make_one_table_with_one_heading() -> None:
    summary = made_summary()
    other = replace(summary, log=replace(summary.log, name="other.csv"))
    table = pd.read_csv(io.StringIO(csv_table([summary, other])))
    assert tuple(table.columns) == COLUMNS
    assert list(table["log"].unique()) == ["made_flight.csv", "other.csv"]
    assert len(table) == 2 * 17


def test_a_table_that_was_written_is_not_taken_for_a_log() -> None:
    """In a folder of logs it was: its times and heights made flights, climbs and thermals."""
    with pytest.raises(LogFileError, match="is a table of results that climbledger wrote, no log"):
        read_log_bytes(csv_table([made_summary()]).encode(), "results.csv")


def test_a_glide_in_two_flight_modes_has_a_row_for_each_part() -> None:
    summary = made_summary()
    glide = summary.glides[0]
    parts = (replace(glide, end_s=100.0), replace(glide, start_s=100.0, flight_mode="thermal"))
    rows = rows_of(csv_table([replace(summary, glide_parts=parts)]))
    place = next(index for index, row in enumerate(rows) if row["kind"] == "glide")
    assert [row["kind"] for row in rows[place : place + 4]] == ["glide", "glide_part", "glide_part", "thermal_climb"]
    assert [row["flight_mode"] for row in rows if row["kind"] == "glide_part"] == ["cruise", "thermal"]


FORMULAS = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    " =1",
    '=HYPERLINK("http://a.example","x")',
    "x;=1",
    'x",=1',
    "x,=1",
    "\N{FULLWIDTH EQUALS SIGN}1",
    "\x00=1",
]
"""The attacks that OWASP's page "CSV Injection" lists (read 2026-11), and some in the middle of a cell."""


@pytest.mark.parametrize("text", FORMULAS)
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_no_cell_begins_like_a_formula_whatever_the_spreadsheet_splits_at(text: str, separator: str) -> None:
    summary = made_summary()
    hostile = replace(
        summary,
        log=replace(summary.log, name=text, notices=(Notice("x", text),)),
        glides=(replace(summary.glides[0], flight_mode=text),),
        power_system=replace(summary.power_system, limits=(LimitCheck(text, 1.0, 2.0, -1.0, False, unit=text),)),
    )
    for row in csv.reader(io.StringIO(csv_table([hostile]), newline=""), delimiter=separator):
        for cell in row:
            bare = cell.lstrip()
            assert not bare.startswith(("=", "+", "@", "\N{FULLWIDTH EQUALS SIGN}"))
            assert not bare.startswith("-") or is_number(bare.split(",")[0])


def is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


@given(st.text())
def test_whatever_a_text_holds_it_stays_on_one_line_and_begins_like_no_formula(text: str) -> None:
    clean = safe_text(text)
    assert not any(character < " " for character in clean)
    assert not clean.lstrip().startswith(("=", "+", "-", "@"))


def test_a_harmless_text_is_left_alone() -> None:
    for text in ("flight 3.csv", "read 'Hgt (ft)' as altitude, converted from ft", "a-b", "1 + 1 = 2"):
        assert safe_text(text) == text
