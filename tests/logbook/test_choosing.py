"""Choosing entries by what is said of them."""

from __future__ import annotations

from typing import Any

import pytest

from analyzer.errors import NoAnswerError, OptionError
from analyzer.logbook.choosing import choose
from analyzer.logbook.listing import entries_table, entry_heading
from analyzer.logbook.records import Entry
from analyzer.records import Totals


def entry(number: int, **changes: Any) -> Entry:
    values = {
        "id": number, "sha256": "0" * 64, "log_name": f"log-{number}.csv", "added_at": "2026-05-02T10:00:00+00:00",
        "started_at": None, "analysed_at": "2026-05-02T10:00:00+00:00", "analyzer_version": "0.1.0", "motor_runs": 3,
        "totals": Totals(600.0, 60.0, 8.0, 0.7, 210.0, 300.0, 0.0, 0.0), "setup_name": "", "propeller": "14x8",
        "place": "Dunes", "day": "2026-05-02", "note": "", "tags": {}, "is_corrected": False,
    }  # fmt: skip
    return Entry(**{**values, **changes})


ENTRIES = [
    entry(1),
    entry(2, propeller="13x7", day="2026-05-01", tags={"pack": "B"}),
    entry(3, place="Larkmoor", day="", tags={"pack": "A"}),
]


@pytest.mark.parametrize(
    ("conditions", "found"),
    [
        ({}, [1, 2, 3]),
        ({"where": ["propeller=14x8"]}, [1, 3]),
        ({"where": ["propeller=14x8", "place=Dunes"]}, [1]),
        ({"where": [" pack = B "]}, [2]),
        ({"since": "2026-05-02"}, [1]),
        ({"until": "2026-05-01"}, [2]),
        ({"since": "2026-05-01", "until": "2026-05-02"}, [1, 2]),
    ],
)
def test_all_conditions_must_hold(conditions: dict[str, Any], found: list[int]) -> None:
    assert [chosen.id for chosen in choose(ENTRIES, **conditions)] == found


def test_nothing_that_fits_is_no_answer() -> None:
    with pytest.raises(NoAnswerError, match="of 3 logs none fits"):
        choose(ENTRIES, ["place=Moon"])
    assert choose([], ["place=Moon"]) == ()


@pytest.mark.parametrize("text", ["pack", "colour=red", "=B"])
def test_a_condition_that_is_none_names_what_can_be_asked(text: str) -> None:
    with pytest.raises(OptionError, match="propeller, place, setup, day, log, pack"):
        choose(ENTRIES, [text])


def test_a_list_shows_what_a_pilot_looks_for() -> None:
    table = entries_table(ENTRIES)
    titles = [column.title for column in table.columns]
    assert titles == ["no.", "flown", "log", "propeller", "place", "climbs", "in flight", "highest", "tags"]
    assert table.rows[1][:5] == ("2", "2026-05-01", "log-2.csv", "13x7", "Dunes")
    assert entries_table(ENTRIES, "feet").rows[0][7] == "689"


def test_a_head_says_what_is_known_and_no_control_characters() -> None:
    head = entry_heading(entry(7, note="two\nlines \x1b[31m", is_corrected=True, tags={"pack": "B"}))
    assert "ENTRY 7" in head
    assert "corrected by hand" in head
    assert "\x1b" not in head
    assert "setup" not in head
