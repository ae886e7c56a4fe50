"""Between rows and records: what an analysis, a job and the pilot's words fill, and what a row says."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import UTC, datetime
from importlib.metadata import version
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import delete, insert, select

from analyzer.comparison.flights import LoggedFlight, propeller_name
from analyzer.export.serializer import from_plain, to_plain
from analyzer.logbook.records import Edits, Entry
from analyzer.logbook.schema import entries, tags
from analyzer.logbook.stored_setup import StoredSetup
from analyzer.logbook.work import as_json
from analyzer.records import FlightSummary, Totals

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection, Row

    from analyzer.logbook.work import Analysed, Job

LISTED: Final = tuple(column for column in entries.c if column.name not in ("summary", "coefficients", "column_map"))
"""Columns of an `Entry`: all but the large ones."""


def now() -> str:
    """The present second, ISO 8601 in UTC."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def storable_text(text: str) -> str:
    """A text that every database takes: valid Unicode, no NUL, no space around it."""
    return str(to_plain(text)).replace("\0", "").strip()


def found_values(found: Analysed) -> dict[str, Any]:
    """The columns that an analysis fills."""
    values = asdict(found)
    del values["sha256"], values["content"]
    texts = {key: storable_text(values[key]) for key in ("log_name", "log_place")}
    return {**values, **texts, "analyzer_version": version("climbledger"), "analysed_at": now()}


def given_values(job: Job) -> dict[str, Any]:
    """The columns that say how a log is to be analysed."""
    return {
        "setup": None if job.setup is None else job.setup.toml,
        "coefficients": None if job.setup is None else job.setup.coefficients,
        "column_map": as_json(job.columns) if job.columns else None,
        "segmentation": job.segmentation,
    }


def edited_values(edits: Edits) -> dict[str, str]:
    """The columns that the pilot's words fill."""
    values = {"propeller": edits.propeller, "place": edits.place, "day": edits.day, "note": edits.note}
    return {key: storable_text(value) for key, value in values.items() if value is not None}


def set_tags(connection: Connection, entry_id: int, wanted: Mapping[str, str | None]) -> None:
    """Set the tags of an entry, and take away those that are None."""
    for key, value in wanted.items():
        name = storable_text(key)
        connection.execute(delete(tags).where(tags.c.entry_id == entry_id, tags.c.key == name))
        if value is not None:
            connection.execute(insert(tags).values(entry_id=entry_id, key=name, value=storable_text(value)))


def tags_of(connection: Connection, entry_id: int | None = None) -> dict[int, dict[str, str]]:
    """Tags by entry: of one, or of all."""
    query = select(tags).order_by(tags.c.key)
    found: dict[int, dict[str, str]] = {}
    for row in connection.execute(query if entry_id is None else query.where(tags.c.entry_id == entry_id)):
        found.setdefault(row.entry_id, {})[row.key] = row.value
    return found


def entry_of(row: Row[Any], tagged: dict[str, str]) -> Entry:
    """The entry that a row of `LISTED` columns describes."""
    setup = None if row.setup is None else StoredSetup(row.setup).setup
    return Entry(
        id=row.id,
        sha256=row.sha256,
        log_name=row.log_name,
        added_at=row.added_at,
        started_at=row.started_at,
        analysed_at=row.analysed_at,
        analyzer_version=row.analyzer_version,
        motor_runs=row.motor_runs,
        totals=from_plain(Totals, json.loads(row.totals)),
        setup_name=setup.name if setup is not None else "",
        propeller=row.propeller or propeller_name(setup),
        place=row.place or row.log_place,
        day=row.day or (row.started_at or "")[:10],
        note=row.note,
        tags=tagged,
        is_corrected=row.segmentation is not None,
    )


def logged_flight_of(entry: Entry, summary: str, setup: str | None) -> LoggedFlight:
    """An entry with its summary, for a comparison."""
    return LoggedFlight(
        summary=from_plain(FlightSummary, json.loads(summary)),
        setup=None if setup is None else StoredSetup(setup).setup,
        propeller=entry.propeller,
        place=entry.place,
        day=entry.day,
        tags=entry.tags,
    )
