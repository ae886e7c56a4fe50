"""The soaring report in words and columns."""

from dataclasses import replace

import pytest
from made_flight import made_summary
from made_soaring import made_report

from analyzer.export.json_document import json_document
from analyzer.export.serializer import from_plain, to_plain
from analyzer.export.thermals_text import session_text, thermals_text
from analyzer.soaring.records import THERMALS_SCHEMA, SoaringReport
from analyzer.soaring.session import session_of


@pytest.fixture
def text():
    return thermals_text(made_report())


def test_the_answers_come_first(text):
    assert "1 thermal climb, 176 m; lift paid 40 % of all height gained." in text
    assert "Wind where it circled: 4.2 ±0.4 m/s from 245° ±6°, 12 circles." in text
    assert "Least sink 0.37 ±0.03 m/s at 7.5 m/s; best glide 23.3 ±1.6 at 9.9 m/s." in text


def test_the_start_height_names_the_rules(text):
    joined = " ".join(text.split())
    assert "Flight 1: start height 188 m, 590 - 94.0 = 496.0 points without landing" in joined
    assert "2014 edition" in joined


def test_every_table_is_there(text):
    for title in ("THERMALS", "CIRCLES AND WIND", "SEARCHING", "LIFT PASSED BY", "SINK", "POLAR", "SPEED TO FLY"):
        assert title in text
    assert "no verdict" in text


def test_netto_has_its_interval(text):
    assert "2.05 ±0.24" in text


def test_modes_are_compared_in_a_sentence(text):
    sentence = " ".join(text.split())
    assert "speed against cruise at 10.2 m/s: sinks 0.26 m/s more" in sentence


def test_notices_and_the_caution_are_there(text):
    assert "3 samples beside the track" in text
    assert "local flying rules" in text


def test_feet():
    text = thermals_text(made_report(), "feet")
    assert "577 ft" in text
    assert "ft/min" in text


def test_a_log_without_anything():
    made = made_report()
    bare = replace(
        made,
        thermals=(),
        wind=None,
        searches=(),
        lift_passed=(),
        glide=replace(made.glide, sinks=(), polars=(), mode_differences=()),
        starts=(),
        notices=(),
    )
    text = thermals_text(bare)
    assert "No thermal climb." in text
    assert "THERMALS" not in text


def test_foreign_names_cannot_write_control_characters():
    assert "\x1b" not in thermals_text(replace(made_report(), name="a\x1b[31m.csv"))


def test_session_in_words():
    text = session_text(session_of([made_summary(), made_summary()]))
    assert text.startswith("2 logs together")
    assert "CLIMBING BY HEIGHT" in text
    assert len([line for line in text.splitlines() if made_summary().log.name in line]) == 2


def test_json_comes_back_as_the_same_report():
    report = made_report()
    plain = to_plain(report)
    assert plain["schema"] == THERMALS_SCHEMA
    assert from_plain(SoaringReport, plain) == report
    assert json_document(report).startswith('{\n  "schema": "climbledger/thermals/1"')


def test_a_speed_to_fly_beyond_those_flown_is_marked():
    report = made_report()
    polar = replace(
        report.glide.polars[0], slowest_airspeed_m_s=9.5, fastest_airspeed_m_s=12.0, least_sink_reached=False
    )
    text = thermals_text(replace(report, glide=replace(report.glide, polars=(polar,))))
    table = text[text.index("SPEED TO FLY") :]
    marked = {float(line.split()[1]): "!" in line for line in table.splitlines()[3:9]}
    assert marked == {speed: not 9.5 <= speed <= 12.0 for speed in marked}
    assert set(marked.values()) == {True, False}
    assert "! beyond the speeds flown" in " ".join(table.split())
    assert "slower was not flown" in " ".join(text.split())
