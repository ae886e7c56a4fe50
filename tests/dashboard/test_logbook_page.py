"""What the editor of the logbook page says of an entry: what the pilot changed, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from logbook_logs import log_text

from analyzer.logbook import Edits, Entry, open_logbook
from dashboard.pages.logbook import FIELDS, edits_from, texts_of

TAGS = {"wind": "calm, later gusty", "cowl": "off"}


@pytest.fixture(scope="module")
def entry(tmp_path_factory: pytest.TempPathFactory) -> Entry:
    with open_logbook(tmp_path_factory.mktemp("kept") / "book.sqlite") as book:
        kept = book.get(book.add(log_text(0), "log.csv", edits=Edits(place="Larkmoor", tags=TAGS)).entry_id or 0)
    return replace(kept, day="2026-05-31")  # as the log says it


def edits(entry: Entry, **changes: str | None) -> Edits:
    return edits_from([(texts_of(entry) | changes)[field] for field in FIELDS], entry)


def test_a_tag_that_holds_a_comma_keeps_no_note_from_being_saved(entry: Entry) -> None:
    assert edits(entry, note="first flight") == Edits(note="first flight", tags=TAGS)


def test_what_the_log_says_itself_does_not_become_the_pilots_word(entry: Entry) -> None:
    assert edits(entry) == Edits(tags=TAGS)


def test_what_is_emptied_is_taken_back(entry: Entry) -> None:
    assert edits(entry, place=None, tags="") == Edits(place="", tags=dict.fromkeys(TAGS))


def test_a_tag_that_is_no_longer_written_is_taken_away(entry: Entry) -> None:
    assert edits(entry, tags="cowl=on, pilot=me").tags == {"wind": None, "cowl": "on", "pilot": "me"}
