"""Backup, export and merge: a logbook's ways to other places."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from logbook_logs import log_text

from analyzer.analysis import Analysis
from analyzer.errors import LogbookError, OutputError
from analyzer.logbook import Edits, Logbook, open_logbook
from analyzer.logbook.files import back_up, entries_csv, export_entries
from analyzer.setup_file import Setup, read_setup


@pytest.fixture
def filled(logbook: Logbook, analysed: Callable[[int], Analysis], flown_setup: Setup) -> Logbook:
    """Three logs, each with something else that must not get lost."""
    edits = [
        Edits(note="=1+1", tags={"pack": "B"}),
        Edits(place="Dunes", day="2026-05-01"),
        Edits(propeller="13x7x3"),
    ]
    for number, words in enumerate(edits):
        setup = flown_setup if number else None
        logbook.add(log_text(number), f"log-{number}.csv", setup=setup, edits=words, analysis=analysed(number))
    logbook.correct(logbook.list()[0].id, analysed(0).segmentation)
    return logbook


def contents(logbook: Logbook) -> list[object]:
    """Everything in a logbook but the numbers of the entries."""
    return [
        (
            entry.sha256, entry.log_name, entry.added_at, entry.propeller, entry.place, entry.day, entry.note,
            entry.tags, entry.is_corrected, logbook.summary(entry.id), logbook.setup(entry.id),
            logbook.job(entry.id),
        )
        for entry in sorted(logbook.list(), key=lambda entry: entry.sha256)
    ]  # fmt: skip


def test_a_backup_is_the_same_logbook(filled: Logbook, tmp_path: Path) -> None:
    target = tmp_path / "backup.sqlite"
    assert back_up(filled, target) == 3
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith((".", "backup"))] == ["backup.sqlite"]
    with open_logbook(target, create=False) as copy:
        assert contents(copy) == contents(filled)


def test_a_backup_replaces_the_last_one_only_when_it_is_whole(
    filled: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "backup.sqlite"
    back_up(filled, target)
    before = target.read_bytes()

    def fail(*_: object) -> None:
        raise LogbookError("disk full")

    monkeypatch.setattr(Logbook, "copy_from", fail)
    with pytest.raises(LogbookError):
        back_up(filled, target)
    assert target.read_bytes() == before
    assert not list(tmp_path.glob(".*.part"))


def test_a_backup_takes_nothing_away_that_is_nowhere_else(filled: Logbook, tmp_path: Path) -> None:
    """Another logbook, a log, and the last copy of what was removed since were replaced without a word."""
    target = tmp_path / "backup.sqlite"
    back_up(filled, target)
    filled.remove([filled.list()[0].id])
    before = target.read_bytes()
    with pytest.raises(OutputError, match=r"holds 1 log that .* has not; give a new name"):
        back_up(filled, target)
    assert target.read_bytes() == before
    log = tmp_path / "flight.csv"
    log.write_text("time_s,altitude_m\n0,0\n")
    with pytest.raises(OutputError, match="is there already and is no logbook; give a new name"):
        back_up(filled, log)
    assert log.read_text() == "time_s,altitude_m\n0,0\n"


@pytest.mark.parametrize("name", ["", "missing/backup.sqlite"])
def test_a_backup_needs_a_file_to_go_to(filled: Logbook, tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError):
        back_up(filled, tmp_path / name)


def test_merging_takes_over_what_is_missing(
    filled: Logbook, tmp_path: Path, analysed: Callable[[int], Analysis]
) -> None:
    with open_logbook(tmp_path / "club.sqlite") as club:
        club.add(log_text(1), "theirs.csv", analysis=analysed(1), edits=Edits(note="theirs"))
        outcomes = club.copy_from(filled, filled.list())
        assert sorted(outcome.status for outcome in outcomes) == ["added", "added", "known"]
        assert {entry.note for entry in club.list()} == {"theirs", "=1+1", ""}
        assert [outcome.status for outcome in club.copy_from(filled, filled.list())] == ["known"] * 3


def test_a_file_moves_to_a_server_and_back(
    filled: Logbook, where: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    other = str(tmp_path / "back.sqlite")
    if not where.startswith("postgresql"):
        other = request.getfixturevalue("postgresql")()
    with open_logbook(other) as copy:
        copy.copy_from(filled, filled.list())
        assert contents(copy) == contents(filled)


def test_an_export_is_plain_files(filled: Logbook, tmp_path: Path) -> None:
    folder = tmp_path / "out" / "deep"
    assert len(list(export_entries(filled, filled.list(), folder))) == 3
    for entry in filled.list():
        stem = f"{entry.id:05d}-{entry.log_name}"
        assert (folder / stem).read_bytes() == filled.job(entry.id).data
        summary = json.loads((folder / f"{stem}.summary.json").read_text())
        assert summary["log"]["sha256"] == entry.sha256
        setup = folder / f"{stem}.setup.toml"
        assert setup.exists() == bool(entry.setup_name)
        if entry.setup_name:
            assert read_setup(setup).name == entry.setup_name
    rows = list(csv.DictReader(io.StringIO((folder / "logbook.csv").read_text())))
    assert {row["propeller"] for row in rows} == {"", "13x7", "13x7x3"}
    assert {row["tags"] for row in rows} == {"pack=B", ""}


def test_a_note_is_no_formula(filled: Logbook) -> None:
    assert "'=1+1" in entries_csv(filled.list())


@pytest.mark.parametrize("name", ["../../evil.csv", "/etc/passwd", "a\x00b\n.csv", "..", "con:*?.csv"])
def test_a_log_cannot_name_its_way_out_of_the_folder(
    tmp_path: Path, analysed: Callable[[int], Analysis], name: str
) -> None:
    from dataclasses import replace

    summary = analysed(0).summary
    hostile = replace(analysed(0), summary=replace(summary, log=replace(summary.log, name=name)))
    with open_logbook(tmp_path / "logbook.sqlite") as book:
        book.add(log_text(), name, analysis=hostile)
        list(export_entries(book, book.list(), tmp_path / "out"))
    assert {path.parent for path in (tmp_path / "out").rglob("*") if path.is_file()} == {tmp_path / "out"}
    assert len(list((tmp_path / "out").iterdir())) == 3


def test_an_export_that_cannot_be_written_is_said(filled: Logbook, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="cannot be made"):
        list(export_entries(filled, filled.list(), tmp_path / "file"))


def test_an_exported_setup_finds_the_table_that_was_exported_with_it(
    logbook: Logbook, analysed: Callable[[int], Analysis], flown_setup: Setup, tmp_path: Path
) -> None:
    table = "J,CT,CP\n0,0.11,0.05\n0.3,0.08,0.045\n0.6,0.02,0.02\n"
    (tmp_path / "mine.csv").write_text(table)
    propeller = flown_setup.propeller.model_copy(update={"coefficients_csv": "mine.csv"})
    setup = flown_setup.model_copy(update={"propeller": propeller, "folder": tmp_path})
    logbook.add(log_text(1), "log.csv", setup=setup, analysis=analysed(1))
    list(export_entries(logbook, logbook.list(), tmp_path / "out"))
    (path,) = (tmp_path / "out").glob("*.setup.toml")
    exported = read_setup(path)
    assert (exported.folder / exported.propeller.coefficients_csv).read_text() == table
