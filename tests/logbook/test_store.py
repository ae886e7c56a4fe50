"""What a logbook keeps, on SQLite and on PostgreSQL alike."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from logbook_logs import log_text

from analyzer.analysis import Analysis
from analyzer.errors import LogbookError, LogFileError, OptionError, SetupFileError
from analyzer.logbook import Edits, Logbook, open_logbook
from analyzer.logbook.stored_setup import StoredSetup, pack_setup, with_propeller
from analyzer.logbook.work import Job, analyse, as_json, compressed, decompressed
from analyzer.power_system.coefficients import stated_table
from analyzer.records import Segmentation
from analyzer.segmentation.correction import move_edge
from analyzer.setup_file import PropellerSection, Setup, parse_setup

Analysed = Callable[[int], Analysis]


def keep(logbook: Logbook, analysed: Analysed, setup: Setup, number: int = 0, **edits: object) -> int:
    outcome = logbook.add(
        log_text(number),
        f"log-{number}.csv",
        setup=setup,
        analysis=analysed(number),
        edits=Edits(**edits),  # type: ignore[arg-type]
    )
    assert outcome.status == "added"
    assert outcome.entry_id is not None
    return outcome.entry_id


def test_a_log_comes_back_as_it_went_in(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    number = keep(logbook, analysed, flown_setup, place="Larkmoor", note="grüße, ±3 °C", tags={"pack": "B"})
    entry = logbook.get(number)
    assert logbook.list() == (entry,)
    assert (entry.log_name, entry.place, entry.note, entry.tags) == (
        "log-0.csv",
        "Larkmoor",
        "grüße, ±3 °C",
        {"pack": "B"},
    )
    assert (entry.setup_name, entry.propeller) == ("Demo 2.5 m, invented", "13x7")
    assert entry.totals == analysed(0).summary.totals
    assert entry.motor_runs == 1
    assert logbook.job(number).data == log_text()
    assert logbook.setup(number) == flown_setup
    stored, made = logbook.summary(number), analysed(0).summary
    assert stored.motor_runs == made.motor_runs
    assert stored.segments == made.segments
    assert logbook.job(number).segmentation is None


def test_adding_twice_changes_nothing(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    number = keep(logbook, analysed, flown_setup, note="first")
    before = logbook.list()
    again = logbook.add(log_text(), "renamed.csv", edits=Edits(note="second"))
    assert (again.status, again.entry_id) == ("known", number)
    assert logbook.list() == before


def test_two_programs_adding_the_same_log_leave_one(where: str, analysed: Analysed, flown_setup: Setup) -> None:
    """Both have looked, neither has found it, and then both store it."""
    with open_logbook(where) as one, open_logbook(where) as other:
        job = Job("log-0.csv", log_text(), pack_setup(flown_setup))
        found = analyse(job)
        assert one.store(job, found, Edits()).status == "added"
        late = other.store(job, found, Edits(tags={"a": "b"}))
        assert (late.status, late.entry_id) == ("known", one.list()[0].id)
        assert one.list()[0].tags == {}


def test_edits_change_and_take_back(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    number = keep(logbook, analysed, flown_setup, tags={"pack": "B", "wind": "3"})
    entry = logbook.update(
        number, Edits(place="Dunes", day="2026-05-31", note="calm", tags={"pack": None, "wind": "4"})
    )
    assert (entry.place, entry.day, entry.note, entry.tags) == ("Dunes", "2026-05-31", "calm", {"wind": "4"})
    entry = logbook.update(number, Edits(place="", day=""))
    assert (entry.place, entry.day, entry.note) == ("", "", "calm")


def test_the_pilots_words_survive_a_new_analysis(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    number = keep(logbook, analysed, flown_setup, propeller="14x8", place="Dunes", note="calm", tags={"pack": "B"})
    before = logbook.get(number)
    outcome = logbook.renew(number, analyse(logbook.job(number)))
    assert outcome.status == "analysed"
    after = logbook.get(number)
    assert replace(after, analysed_at=before.analysed_at) == before
    assert logbook.job(number).data == log_text()


def test_corrected_segments_survive_a_new_analysis(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    number = keep(logbook, analysed, flown_setup)
    own = analysed(0).segmentation
    index = next(place for place, segment in enumerate(own.segments) if segment.kind == "motor_run")
    corrected = move_edge(own, index, own.segments[index].end_s - 4.0, analysed(0).log)
    assert logbook.correct(number, corrected).is_corrected
    assert logbook.job(number).segmentation == as_json(corrected)
    shorter = logbook.summary(number).motor_runs[0]
    assert shorter.end_s == pytest.approx(own.segments[index].end_s - 4.0)
    logbook.renew(number, analyse(logbook.job(number)))
    assert logbook.summary(number).motor_runs[0] == shorter
    assert not logbook.correct(number, None).is_corrected
    assert logbook.summary(number).motor_runs[0].end_s == pytest.approx(own.segments[index].end_s)


def test_another_setup_is_analysed_anew(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    number = keep(logbook, analysed, flown_setup)
    efficiency = logbook.summary(number).motor_runs[0].climb_efficiency
    heavier = parse_setup('name = "Heavier, invented"\n[airframe]\nmass_kg = 3.4\n', source="test")
    entry = logbook.update(number, Edits(note="with ballast"), setup=heavier)
    assert (entry.setup_name, entry.note) == ("Heavier, invented", "with ballast")
    doubled = logbook.summary(number).motor_runs[0].climb_efficiency
    assert efficiency is not None
    assert doubled == pytest.approx(2.0 * efficiency, rel=1e-6)


def test_entries_are_listed_by_day(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    for number, day in enumerate(["2026-05-03", "2026-05-01", "2026-05-02"]):
        keep(logbook, analysed, flown_setup, number, day=day)
    assert [entry.day for entry in logbook.list()] == ["2026-05-01", "2026-05-02", "2026-05-03"]


def test_removing_removes_all_that_belongs_to_it(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    first, second = (keep(logbook, analysed, flown_setup, number, tags={"a": str(number)}) for number in (0, 1))
    with pytest.raises(LogbookError, match="no entry 99"):
        logbook.remove([first, 99])
    assert len(logbook.list()) == 2
    assert logbook.remove([first, first]) == 1
    assert [entry.id for entry in logbook.list()] == [second]
    with pytest.raises(LogbookError):
        logbook.job(first)
    again = logbook.add(log_text(), "again.csv", analysis=analysed(0))
    assert again.entry_id is not None
    assert logbook.get(again.entry_id).tags == {}


def test_flights_for_a_comparison_say_what_the_pilot_says(
    logbook: Logbook, analysed: Analysed, flown_setup: Setup
) -> None:
    keep(
        logbook,
        analysed,
        flown_setup,
        0,
        propeller="14 X 8.0",
        place="Dunes",
        day="2026-05-01",
        tags={"a": "b"},
    )
    keep(logbook, analysed, flown_setup, 1)
    one, other = sorted(logbook.flights(), key=lambda flight: flight.summary.log.name)
    assert (one.propeller, one.place, one.day, one.tags) == ("14x8", "Dunes", "2026-05-01", {"a": "b"})
    assert other.propeller == "13x7"
    assert other.setup == flown_setup
    assert len(logbook.flights(logbook.list()[:1])) == 1


@pytest.mark.parametrize(
    "edits",
    [
        Edits(propeller="foo"),
        Edits(propeller="1x400"),
        Edits(day="31.5.2026"),
        Edits(day="2026-02-30"),
        Edits(tags={" ": "x"}),
        Edits(tags={"x" * 101: "y"}),
    ],
)
def test_impossible_edits_are_refused_before_anything_is_written(logbook: Logbook, edits: Edits) -> None:
    with pytest.raises(OptionError):
        logbook.add(log_text(), "log.csv", edits=edits)
    assert logbook.list() == ()


def test_an_analysis_of_another_log_is_refused(logbook: Logbook, analysed: Analysed) -> None:
    with pytest.raises(LogbookError, match="another log"):
        logbook.add(log_text(1), "log-1.csv", analysis=analysed(0))
    assert logbook.list() == ()


def test_a_broken_log_leaves_nothing(logbook: Logbook) -> None:
    with pytest.raises(LogFileError):
        logbook.add(b"\x00\x01\x02 no log", "broken.csv")
    assert logbook.list() == ()


@given(note=st.text(max_size=200), place=st.text(max_size=40), value=st.text(max_size=40))
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_words_come_back(
    logbook: Logbook, analysed: Analysed, flown_setup: Setup, note: str, place: str, value: str
) -> None:
    entries = logbook.list()
    number = entries[0].id if entries else keep(logbook, analysed, flown_setup)
    entry = logbook.update(number, Edits(note=note, place=place, tags={"tag": value}))
    for said, kept in ((note, entry.note), (place, entry.place), (value, entry.tags["tag"])):
        assert kept == said.replace("\0", "").strip()


def test_words_that_are_no_unicode_are_repaired(logbook: Logbook, analysed: Analysed, flown_setup: Setup) -> None:
    """A terminal may hand over bytes that are no UTF-8; Python keeps them as lone surrogates."""
    number = keep(logbook, analysed, flown_setup)
    assert logbook.update(number, Edits(note="caf\udce9", tags={"\udcff": "x"})).note == "caf\N{REPLACEMENT CHARACTER}"


# ---- setups


def test_a_coefficient_table_goes_in_with_the_setup(tmp_path: Path) -> None:
    table = "J,CT,CP\n0.0,0.11,0.045\n0.4,0.08,0.043\n0.8,0.02,0.025\n"
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "mine.csv").write_text(table)
    text = 'name = "Demo"\n[propeller]\ndiameter_in = 13\npitch_in = 7\ncoefficients_csv = "tables/mine.csv"\n'
    stored = pack_setup(parse_setup(text, source="test", folder=tmp_path))
    assert stored is not None
    assert "tables" not in stored.toml
    (tmp_path / "tables" / "mine.csv").unlink()
    known = stated_table(stored.setup)
    assert known is not None
    assert known.read() == table
    assert pack_setup(stored.setup) == stored


def test_a_missing_coefficient_table_is_said(tmp_path: Path) -> None:
    text = 'name = "Demo"\n[propeller]\ndiameter_in = 13\npitch_in = 7\ncoefficients_csv = "none.csv"\n'
    with pytest.raises(SetupFileError, match=r"none\.csv"):
        pack_setup(parse_setup(text, source="test", folder=tmp_path))


def test_the_propeller_flown_takes_the_place_of_the_setups(flown_setup: Setup) -> None:
    assert with_propeller(flown_setup, "14x8").propeller == PropellerSection(diameter_in=14.0, pitch_in=8.0)
    assert with_propeller(flown_setup, "13x7") is flown_setup
    assert with_propeller(flown_setup, "home-made") is flown_setup
    assert with_propeller(flown_setup, "") is flown_setup


def test_no_setup_is_no_setup() -> None:
    assert pack_setup(None) is None


def test_setups_are_read_once() -> None:
    assert StoredSetup('name = "a"\n').setup is StoredSetup('name = "a"\n').setup


# ---- the log's bytes


@given(st.binary(max_size=3000))
def test_compressing_loses_nothing(data: bytes) -> None:
    assert decompressed(compressed(data), "zlib", hashlib.sha256(data).hexdigest(), "x") == data


@pytest.mark.parametrize(
    ("content", "encoding"), [(b"rubbish", "zlib"), (compressed(b"other"), "zlib"), (b"", "later")]
)
def test_a_damaged_log_is_told_apart(content: bytes, encoding: str) -> None:
    with pytest.raises(LogFileError, match="damaged"):
        decompressed(content, encoding, hashlib.sha256(b"data").hexdigest(), "entry 1")


def test_a_corrected_segmentation_is_what_was_corrected(analysed: Analysed) -> None:
    """Blips and notices too: a segmentation is stored whole."""
    from analyzer.export.serializer import from_plain
    from analyzer.logbook.work import plain

    own = analysed(0).segmentation
    assert from_plain(Segmentation, plain(as_json(own))) == own
