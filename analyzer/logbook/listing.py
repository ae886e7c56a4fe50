"""Entries as text: the list, and the head of one entry."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.display import System, clock, scale_of, when
from analyzer.export.table import Column, Table, render_text
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.logbook.records import Entry


NO_LOG_YET: Final = "No log yet: add logs with climbledger logbook add."


def entries_table(entries: Sequence[Entry], system: System = "metric") -> Table:
    """One row an entry, as it counts now."""
    height = scale_of("altitude_m", system)
    flown = [
        when(entry.started_at) if (entry.started_at or "").startswith(entry.day) else entry.day for entry in entries
    ]
    table = Table(
        counted(len(entries), "log"),
        (
            Column("no.", tuple(str(entry.id) for entry in entries)),
            Column("flown", tuple(flown), is_number=False),
            Column("log", tuple(entry.log_name for entry in entries), is_number=False),
            Column("propeller", tuple(entry.propeller for entry in entries), is_number=False),
            Column("place", tuple(entry.place for entry in entries), is_number=False),
            Column("climbs", tuple(str(entry.motor_runs) for entry in entries)),
            Column("in flight", tuple(clock(entry.totals.flight_time_s) for entry in entries)),
            Column("highest", tuple(height.text(entry.totals.max_altitude_m) for entry in entries), height.symbol),
            Column("tags", tuple(tags_text(entry) for entry in entries), is_number=False),
            Column("note", tuple(_short(entry.note) for entry in entries), is_number=False),
        ),
    )
    return table.without_empty_columns()


def entries_text(entries: Sequence[Entry], system: System = "metric") -> str:
    """The list for the terminal."""
    return render_text(entries_table(entries, system)) if entries else NO_LOG_YET


def tags_text(entry: Entry) -> str:
    """The tags of an entry on one line."""
    return ", ".join(f"{key}={value}" for key, value in entry.tags.items())


def _short(note: str) -> str:
    line = note.partition("\n")[0]
    return line if len(line) <= 40 else f"{line[:39]}…"


def entry_heading(entry: Entry) -> str:
    """What the logbook knows of an entry besides its summary."""
    facts = {
        "log": entry.log_name,
        "flown": entry.day,
        "setup": entry.setup_name,
        "propeller": entry.propeller,
        "place": entry.place,
        "tags": tags_text(entry),
        "note": entry.note.replace("\n", " "),
        "segments": "corrected by hand" if entry.is_corrected else "",
        "added": when(entry.added_at),
        "analysed": f"{when(entry.analysed_at)}, climbledger {entry.analyzer_version}",
    }
    known = {name: fact for name, fact in facts.items() if fact}
    table = Table(
        f"Logbook entry {entry.id}",
        (
            Column("", tuple(known), is_number=False),
            Column("", tuple(known.values()), is_number=False),
        ),
    )
    return render_text(table)
