"""One serializer for every document: what comes out is strict JSON, schema first, and reads back to the same record."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from pathlib import PurePosixPath

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_flight import made_run, made_summary

from analyzer.export.json_document import json_document, json_line
from analyzer.export.serializer import from_plain, to_plain
from analyzer.records import FLIGHT_SUMMARY_SCHEMA, FlightSummary, Glide, MotorRun, Notice


@dataclass(frozen=True)
class Anything:
    content: object
    schema: str = "climbledger/test/1"


scalars = st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters())
trees = st.recursive(
    scalars, lambda inner: st.lists(inner) | st.tuples(inner) | st.dictionaries(st.text(), inner), max_leaves=20
)


@given(trees)
def test_whatever_a_record_holds_the_document_is_strict_json_with_the_schema_first(content: object) -> None:
    plain = to_plain(Anything(content))
    assert next(iter(plain)) == "schema"
    text = json.dumps(plain, allow_nan=False)
    assert json.loads(text) == plain
    assert json_document(Anything(content)).encode("utf-8")
    line = json_line(Anything(content))
    assert line.isascii()
    assert line.count("\n") == 1
    assert json.loads(line) == plain


@given(st.floats())
def test_a_number_keeps_every_digit_or_is_null(value: float) -> None:
    plain = to_plain(value)
    assert plain is None if not math.isfinite(value) else plain == value


finite = st.none() | st.floats(allow_nan=False, allow_infinity=False)


@given(st.data())
def test_a_record_reads_back_equal(data: st.DataObject) -> None:
    numbers = {entry.name: data.draw(finite) for entry in fields(MotorRun) if "None" in str(entry.type)}
    run = replace(made_run(), **numbers, blip=data.draw(st.booleans()))
    glide = Glide(1.0, 2.0, None, 0.5, None, data.draw(st.none() | st.text()))
    summary = made_summary(motor_runs=(run,) * data.draw(st.integers(0, 3)), glides=(glide,))
    assert from_plain(FlightSummary, json.loads(json_document(summary))) == summary


def test_the_flight_summary_has_exactly_the_agreed_keys_in_order() -> None:
    plain = to_plain(made_summary())
    assert plain["schema"] == FLIGHT_SUMMARY_SCHEMA
    assert list(plain) == [
        "schema",
        "log",
        "flights",
        "segments",
        "motor_runs",
        "glides",
        "thermal_climbs",
        "totals",
        "power_system",
        "match",
        "glide_parts",
        "findings",
    ]
    assert list(plain["segments"][0]) == ["kind", "start_s", "end_s", "start_altitude_m", "end_altitude_m"]
    assert plain["log"]["notices"][0].keys() == {"code", "message"}


def test_numpy_and_time_values_become_plain_ones() -> None:
    content = {
        "scalar": np.float64(1.5),
        "whole": np.int64(3),
        "truth": np.bool_(True),
        "missing": np.float32("nan"),
        "array": np.array([1.0, np.inf]),
        "time": datetime(2026, 5, 2, 14, 31, tzinfo=UTC),
        "path": PurePosixPath("a/b"),
        "set": {"b", "a"},
    }
    assert to_plain(content) == {
        "scalar": 1.5,
        "whole": 3,
        "truth": True,
        "missing": None,
        "array": [1.0, None],
        "time": "2026-05-02T14:31:00+00:00",
        "path": "a/b",
        "set": ["a", "b"],
    }


def test_broken_unicode_of_a_file_name_is_repaired() -> None:
    assert to_plain("flight\udcff.csv") == "flight\N{REPLACEMENT CHARACTER}.csv"


def test_a_frame_has_no_json_form() -> None:
    with pytest.raises(TypeError, match="DataFrame has no JSON form"):
        to_plain(pd.DataFrame({"a": [1]}))


def test_a_document_of_a_neighbouring_version_can_be_read() -> None:
    plain = {"code": "gap", "message": "a gap of 3 s", "of_a_later_version": 1}
    assert from_plain(Notice, plain) == Notice("gap", "a gap of 3 s")
    older = {key: value for key, value in to_plain(made_run()).items() if key != "blip"}
    assert from_plain(MotorRun, older) == made_run()


@pytest.mark.parametrize("plain", [None, [], "text", {"kind": "soaring"}, {"code": "x"}])
def test_what_is_no_such_record_is_refused(plain: object) -> None:
    from analyzer.records import Segment

    with pytest.raises((TypeError, ValueError)):
        from_plain(Segment, plain)
