"""``climbledger logbook`` as a pilot uses it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from logbook_logs import log_text

from analyzer.logbook import open_logbook


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    folder = tmp_path / "logs"
    folder.mkdir()
    for number in (2, 3):
        (folder / f"log-{number}.csv").write_bytes(log_text(number))
    (folder / "broken.csv").write_text("no,log\n")
    return folder


def test_a_log_is_added_with_what_is_said_of_it(call: Callable, tmp_path: Path, logs: Path, setup_path: Path) -> None:
    place = tmp_path / "new.sqlite"
    words = ["--propeller", "13x7", "--place", "Dunes", "--day", "2026-05-31", "--note", "calm", "--tag", "pack=B"]
    outcome = call("logbook", "add", logs / "log-2.csv", "--setup", setup_path, *words, "--logbook", place)
    assert outcome.status == 0
    assert outcome.out == f"added\t1\t{logs / 'log-2.csv'}\n"
    assert "1 added" in outcome.complaint
    with open_logbook(place, create=False) as made:
        (entry,) = made.list()
    assert (entry.propeller, entry.place, entry.day, entry.note) == ("13x7", "Dunes", "2026-05-31", "calm")
    assert (entry.tags, entry.setup_name) == ({"pack": "B"}, "Demo 2.5 m, invented")


def test_a_propeller_that_is_no_size_is_refused_at_once(call: Callable, tmp_path: Path, logs: Path) -> None:
    outcome = call("logbook", "add", logs, "--propeller", "foo", "--logbook", tmp_path / "new.sqlite")
    assert outcome.status == 2
    assert "propeller: 'foo' is no propeller size; write diameter x pitch in inches, as 14x8" in outcome.err
    assert outcome.out == ""


def test_a_folder_goes_in_but_for_what_is_broken(call: Callable, book: Path, logs: Path) -> None:
    first = call("logbook", "add", logs, "--logbook", book, "--jobs", "1")
    assert first.status == 2
    assert "broken.csv" in first.err
    assert "2 added, 1 failed" in first.err
    again = call("logbook", "add", logs, "--logbook", book, "--jobs", "1")
    assert "2 already there, 1 failed" in again.err
    assert again.out.count("known\t") == 2


def test_one_log_that_is_none_is_one_line(call: Callable, book: Path, logs: Path) -> None:
    outcome = call("logbook", "add", logs / "broken.csv", "--logbook", book)
    assert outcome.status == 2
    assert str(logs / "broken.csv") in outcome.complaint


@pytest.mark.parametrize("name", ["propeller", "place", "day", "note", "setup", "log"])
def test_what_has_an_option_of_its_own_is_no_tag(call: Callable, book: Path, name: str) -> None:
    outcome = call("logbook", "edit", "1", "--tag", f"{name}=x", "--logbook", book)
    assert outcome.status == 2
    assert f"'{name}' is no name for a tag" in outcome.complaint


def test_entries_are_changed_all_or_none(call: Callable, book: Path) -> None:
    assert "there is no entry 99" in call("logbook", "edit", "1", "99", "--note", "x", "--logbook", book).complaint
    assert "note" not in call("logbook", "show", "1", "--logbook", book).out.split("\n\n")[0]


def test_a_folder_is_no_logbook(call: Callable, tmp_path: Path) -> None:
    for command in (["logbook", "list"], ["logbook", "add", tmp_path / "x.csv"]):
        assert "is a folder" in call(*command, "--logbook", tmp_path).complaint


def test_the_list_reads_like_a_logbook(call: Callable, book: Path) -> None:
    outcome = call("logbook", "list", "--logbook", book)
    assert outcome.status == 0
    assert "2 LOGS" in outcome.out
    assert "2026-05-01  log-0.csv  14x8" in outcome.out
    assert "pack=B" in outcome.out
    chosen = call("logbook", "list", "--where", "place=Dunes", "--logbook", book)
    assert "1 LOG\n" in chosen.out
    assert "log-0" not in chosen.out


def test_a_logbook_without_logs_says_so(call: Callable, book: Path) -> None:
    call("logbook", "remove", "1", "2", "--yes", "--logbook", book)
    done = call("logbook", "list", "--logbook", book)
    assert done.status == 0
    assert done.out == "No log yet: add logs with climbledger logbook add.\n"


def test_the_list_as_documents(call: Callable, book: Path) -> None:
    document = json.loads(call("logbook", "list", "--json", "-", "--logbook", book).out)
    assert [entry["log_name"] for entry in document] == ["log-0.csv", "log-1.csv"]
    rows = list(csv.DictReader(io.StringIO(call("logbook", "list", "--csv", "-", "--logbook", book).out)))
    assert [row["place"] for row in rows] == ["Larkmoor", "Dunes"]


def test_one_entry_is_shown_with_its_flight(call: Callable, book: Path) -> None:
    outcome = call("logbook", "show", 2, "--logbook", book)
    assert outcome.status == 0
    assert outcome.out.startswith("LOGBOOK ENTRY 2\n  log        log-1.csv\n")
    assert "What did the climbs cost?" in outcome.out
    document = json.loads(call("logbook", "show", 2, "--json", "-", "--logbook", book).out)
    assert document["schema"] == "climbledger/flight-summary/1"


def test_words_are_changed_and_taken_back(call: Callable, book: Path) -> None:
    outcome = call(
        "logbook",
        "edit",
        1,
        2,
        "--note",
        "gusty",
        "--tag",
        "wind=5",
        "--untag",
        "pack",
        "--place",
        "",
        "--logbook",
        book,
    )
    assert outcome.status == 0
    with open_logbook(book) as opened:
        assert {(entry.note, entry.place) for entry in opened.list()} == {("gusty", "")}
        assert all(entry.tags == {"wind": "5"} for entry in opened.list())


def test_nothing_is_deleted_without_yes(call: Callable, book: Path) -> None:
    outcome = call("logbook", "remove", 1, 2, "--logbook", book)
    assert outcome.status == 2
    assert "would delete 1 (log-0.csv), 2 (log-1.csv); add --yes" in outcome.complaint
    with open_logbook(book) as opened:
        assert len(opened.list()) == 2
    assert call("logbook", "remove", 1, "--yes", "--logbook", book).status == 0
    with open_logbook(book) as opened:
        assert [entry.id for entry in opened.list()] == [2]


def test_analysing_anew_is_for_what_is_old(call: Callable, book: Path) -> None:
    assert "nothing to do" in call("logbook", "reanalyze", "--logbook", book).err
    outcome = call("logbook", "reanalyze", "--all", "--jobs", "1", "--logbook", book)
    assert outcome.status == 0
    assert "2 analysed anew" in outcome.err
    assert "1 analysed anew" in call("logbook", "reanalyze", 2, "--jobs", "1", "--logbook", book).err


def test_backup_and_merge_bring_all_back(call: Callable, book: Path, tmp_path: Path) -> None:
    saved, fresh = tmp_path / "saved.sqlite", tmp_path / "fresh.sqlite"
    assert call("logbook", "backup", saved, "--logbook", book).status == 0
    assert call("logbook", "remove", 1, "--yes", "--logbook", book).status == 0
    outcome = call("logbook", "merge", saved, "--logbook", book)
    assert "1 added, 1 already there" in outcome.err
    assert "2 added" in call("logbook", "merge", saved, "--logbook", fresh).err


def test_an_export_holds_the_logs_as_they_were(call: Callable, book: Path, tmp_path: Path) -> None:
    outcome = call("logbook", "export", tmp_path / "out", "--where", "place=Dunes", "--logbook", book)
    assert outcome.status == 0
    assert (tmp_path / "out" / "00002-log-1.csv").read_bytes() == log_text(1)
    assert not (tmp_path / "out" / "00001-log-0.csv").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["show", "99"], "there is no entry 99"),
        (["edit", "1"], "nothing to change"),
        (["edit", "1", "--tag", "pack"], "'pack' is no tag"),
        (["edit", "1", "--day", "soon"], "'soon' is no date"),
        (["reanalyze", "99"], "there is no entry 99"),
        (["remove", "99", "--yes"], "there is no entry 99"),
        (["merge", "nowhere.sqlite"], "there is no logbook yet"),
        (["list", "--where", "colour=red"], "is no condition"),
    ],
)
def test_wrong_use_is_one_line(call: Callable, book: Path, arguments: list[str], words: str) -> None:
    outcome = call("logbook", *arguments, "--logbook", book)
    assert outcome.status == 2
    assert words in outcome.complaint


def test_an_empty_folder_is_said(call: Callable, tmp_path: Path) -> None:
    outcome = call("logbook", "add", tmp_path, "--logbook", tmp_path / "new.sqlite")
    assert outcome.status == 2
    assert "holds no log" in outcome.complaint
    assert not (tmp_path / "new.sqlite").exists()


def test_a_kept_flights_propeller_is_set_beside_the_others(call: Callable, book: Path) -> None:
    assert "Was the propeller better?" in call("logbook", "show", 2, "--logbook", book).out
