"""The logbook: logs with their summaries, setups and the pilot's notes, in one database."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sqlalchemy import delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from analyzer.comparison.flights import LoggedFlight
from analyzer.errors import LogbookError
from analyzer.export.serializer import from_plain
from analyzer.logbook.database import Database
from analyzer.logbook.location import locate
from analyzer.logbook.records import Edits, Entry, Outcome, checked
from analyzer.logbook.rows import (
    LISTED,
    edited_values,
    entry_of,
    found_values,
    given_values,
    logged_flight_of,
    now,
    set_tags,
    tags_of,
)
from analyzer.logbook.schema import entries, files
from analyzer.logbook.stored_setup import StoredSetup, pack_setup, with_propeller
from analyzer.logbook.upgrade import make_current
from analyzer.logbook.work import (
    ENCODING,
    Job,
    analyse,
    as_json,
    changed,
    compressed,
    decompressed,
    plain,
    storable,
)
from analyzer.records import FlightSummary

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path
    from types import TracebackType

    from sqlalchemy import Connection, Row

    from analyzer.analysis import Analysis
    from analyzer.logbook.work import Analysed
    from analyzer.records import Segmentation
    from analyzer.setup_file import Setup


def open_logbook(where: str | Path | None = None, *, create: bool = True) -> Logbook:
    """Open a logbook; use it in a ``with`` block.

    Parameters
    ----------
    where : str or Path, optional
        A file, or the URL of a PostgreSQL database; None for the pilot's own logbook in the user's data folder.
    create : bool
        Whether one that is not there yet is made.

    Raises
    ------
    LogbookError
        When it cannot be opened, is something else, or was written by a newer climbledger.

    Examples
    --------
    >>> with open_logbook("club.sqlite") as logbook:  # doctest: +SKIP
    ...     logbook.add(data, "morning.csv", setup=setup)
    ...     comparison = compare_flights(logbook.flights())
    """
    database = Database(locate(where))
    try:
        make_current(database, create=create)
    except BaseException:
        database.close()
        raise
    return Logbook(database)


class Logbook:
    """Logs, kept. Every method that changes something has it on the disk when it returns."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def __enter__(self) -> Logbook:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._database.close()

    @property
    def label(self) -> str:
        """Where it is, for messages."""
        return self._database.location.label

    # ---- reading

    def list(self) -> tuple[Entry, ...]:
        """All entries, by day and start, then in the order they were added."""
        with self._database.reading() as connection:
            rows = connection.execute(select(*LISTED)).all()
            tagged = tags_of(connection)
        found = [entry_of(row, tagged.get(row.id, {})) for row in rows]
        return tuple(sorted(found, key=lambda entry: (entry.day, entry.started_at or "", entry.id)))

    def get(self, entry_id: int) -> Entry:
        """One entry.

        Raises
        ------
        LogbookError
            When there is none of that number.
        """
        with self._database.reading() as connection:
            row = self._row(connection, entry_id, *LISTED)
            tagged = tags_of(connection, entry_id)
        return entry_of(row, tagged.get(entry_id, {}))

    def known(self, sha256: str) -> int | None:
        """Under which number a log is in the logbook; None where it is not."""
        with self._database.reading() as connection:
            number: int | None = connection.execute(select(entries.c.id).where(entries.c.sha256 == sha256)).scalar()
        return number

    def summary(self, entry_id: int) -> FlightSummary:
        """What the analysis found."""
        with self._database.reading() as connection:
            row = self._row(connection, entry_id, entries.c.summary)
        return from_plain(FlightSummary, plain(row.summary))

    def setup(self, entry_id: int) -> Setup | None:
        """The setup flown with, as it was given."""
        with self._database.reading() as connection:
            row = self._row(connection, entry_id, entries.c.setup, entries.c.coefficients)
        return None if row.setup is None else StoredSetup(row.setup, row.coefficients).setup

    def flights(self, chosen: Iterable[Entry] | None = None) -> tuple[LoggedFlight, ...]:
        """Summaries with what the pilot said of them, for a comparison.

        Parameters
        ----------
        chosen : iterable of Entry, optional
            Which; all when left out.
        """
        by_id = {entry.id: entry for entry in (self.list() if chosen is None else chosen)}
        with self._database.reading() as connection:
            rows = connection.execute(select(entries.c.id, entries.c.summary, entries.c.setup)).all()
        return tuple(logged_flight_of(by_id[row.id], row.summary, row.setup) for row in rows if row.id in by_id)

    def job(self, entry_id: int) -> Job:
        """All that is needed to analyse an entry anew, its log included, exactly as it was added.

        Raises
        ------
        LogbookError, LogFileError
            When there is no such entry, or its log is damaged.
        """
        with self._database.reading() as connection:
            row = self._row(connection, entry_id, *entries.c)
            file = self._row(connection, entry_id, *files.c, table=files)
        label = f"entry {entry_id} ({row.log_name})"
        return Job(
            name=row.log_name,
            data=decompressed(file.content, file.encoding, row.sha256, label),
            setup=None if row.setup is None else StoredSetup(row.setup, row.coefficients),
            propeller=row.propeller,
            columns=plain(row.column_map) or {},
            segmentation=row.segmentation,
        )

    # ---- writing

    def add(
        self,
        data: bytes,
        name: str,
        *,
        setup: Setup | None = None,
        columns: Mapping[str, str] | None = None,
        edits: Edits | None = None,
        analysis: Analysis | None = None,
        corrected: Segmentation | None = None,
    ) -> Outcome:
        """Add one log; a log that is there already (by its content) changes nothing.

        Parameters
        ----------
        data : bytes
            The log file.
        name : str
            Its name.
        setup : Setup, optional
            Airframe and power system flown.
        columns : mapping of str to str, optional
            Explicit column map.
        edits : Edits, optional
            What the pilot says of it.
        analysis : Analysis, optional
            Made of just these bytes and this setup. Left out, or where the edits name another propeller than the
            setup, the log is analysed.
        corrected : Segmentation, optional
            Hand-corrected segments.

        Raises
        ------
        LogFileError, ColumnMapError, SetupFileError
            When the log cannot be analysed.
        OptionError
            When the edits are impossible.
        LogbookError
            When the logbook cannot be written.
        """
        wanted = checked(edits or Edits())
        already = self.known(hashlib.sha256(data).hexdigest())
        if already is not None:
            return Outcome(name, "known", already)
        job = Job(
            name=name,
            data=data,
            setup=pack_setup(setup),
            propeller=wanted.propeller or "",
            columns=dict(columns or {}),
            segmentation=None if corrected is None else as_json(corrected),
        )
        is_flown = setup is None or with_propeller(setup, job.propeller) is setup
        return self.store(job, storable(analysis) if analysis is not None and is_flown else analyse(job), wanted)

    def store(self, job: Job, found: Analysed, edits: Edits) -> Outcome:
        """Store an analysed log with the pilot's words, all at once or not at all.

        Raises
        ------
        LogbookError
            When the analysis is of other bytes, or the logbook cannot be written.
        """
        if hashlib.sha256(job.data).hexdigest() != found.sha256:
            raise LogbookError("the analysis is of another log", source=job.name, remedy="analyse it again")
        content = found.content or compressed(job.data)
        try:
            with self._database.writing() as connection:
                file = {"encoding": ENCODING, "size": len(job.data), "content": content}
                values = {
                    "sha256": found.sha256,
                    "added_at": now(),
                    **found_values(found),
                    **given_values(job),
                    **edited_values(edits),
                }
                entry_id = _insert(connection, values, file, edits.tags)
        except LogbookError as error:
            # Another program may have added the same log since it was looked for.
            rival = self.known(found.sha256) if isinstance(error.__cause__, IntegrityError) else None
            if rival is None:
                raise
            return Outcome(job.name, "known", rival)
        return Outcome(job.name, "added", entry_id)

    def update(
        self,
        entry_id: int,
        edits: Edits,
        *,
        setup: Setup | None = None,
        columns: Mapping[str, str] | None = None,
    ) -> Entry:
        """Change what the pilot said; what depends on it is analysed anew.

        Parameters
        ----------
        entry_id : int
            Which entry.
        edits : Edits
            What to change.
        setup : Setup, optional
            Another setup to count from now on.
        columns : mapping of str to str, optional
            Another column map to read the log with; segments corrected in what was read before are then forgotten.

        Raises
        ------
        LogbookError
            When there is no such entry.
        OptionError
            When an edit is impossible.
        """
        edits = checked(edits)
        given: dict[str, Any] = {}
        if setup is not None or columns is not None or edits.propeller is not None:
            job = changed(self.job(entry_id), setup, edits.propeller, columns)
            given = {**given_values(job), **(found_values(analyse(job)) if job.setup or columns else {})}
        with self._database.writing() as connection:
            self._row(connection, entry_id, entries.c.id)
            values = given | edited_values(edits)
            if values:
                connection.execute(update(entries).where(entries.c.id == entry_id).values(values))
            set_tags(connection, entry_id, edits.tags)
        return self.get(entry_id)

    def correct(self, entry_id: int, segmentation: Segmentation | None) -> Entry:
        """Keep segments corrected by hand, and measure anew with them; None goes back to the program's own.

        Raises
        ------
        LogbookError
            When there is no such entry.
        """
        corrected = None if segmentation is None else as_json(segmentation)
        job = replace(self.job(entry_id), segmentation=corrected)
        self._rewrite(entry_id, {"segmentation": corrected, **found_values(analyse(job))})
        return self.get(entry_id)

    def renew(self, entry_id: int, found: Analysed) -> Outcome:
        """Store a new analysis; the pilot's words, the setup and corrections stay as they are."""
        self._rewrite(entry_id, found_values(found))
        return Outcome(found.log_name, "analysed", entry_id)

    def _rewrite(self, entry_id: int, values: dict[str, Any]) -> None:
        with self._database.writing() as connection:
            connection.execute(update(entries).where(entries.c.id == entry_id).values(values))

    def remove(self, entry_ids: Iterable[int]) -> int:
        """Delete entries with their logs; there is no way back but a backup.

        Returns
        -------
        int
            How many.

        Raises
        ------
        LogbookError
            When one does not exist; then none is deleted.
        """
        wanted = list(dict.fromkeys(entry_ids))
        with self._database.writing() as connection:
            for entry_id in wanted:
                self._row(connection, entry_id, entries.c.id)
            connection.execute(delete(entries).where(entries.c.id.in_(wanted)))  # what belongs to them goes with them
        return len(wanted)

    def copy_from(self, other: Logbook, chosen: Sequence[Entry]) -> tuple[Outcome, ...]:
        """Take over entries of another logbook with all that belongs to them; known logs are left as they are."""
        outcomes = []
        for entry in chosen:
            known = self.known(entry.sha256)
            if known is not None:
                outcomes.append(Outcome(entry.log_name, "known", known))
                continue
            with other._database.reading() as connection:
                row = dict(other._row(connection, entry.id, *entries.c)._mapping)
                file = dict(other._row(connection, entry.id, *files.c, table=files)._mapping)
            del row["id"]
            with self._database.writing() as connection:
                new_id = _insert(connection, row, file, entry.tags)
            outcomes.append(Outcome(entry.log_name, "added", new_id))
        return tuple(outcomes)

    def _row(self, connection: Connection, entry_id: int, *columns: Any, table: Any = entries) -> Row[Any]:  # noqa: ANN401
        key = table.c.id if table is entries else table.c.entry_id
        row = connection.execute(select(*columns).where(key == entry_id)).first()
        if row is None:
            raise LogbookError(
                f"there is no entry {entry_id}", source=self.label, remedy="climbledger logbook list shows the numbers"
            )
        return row


def _insert(
    connection: Connection, entry: Mapping[str, Any], file: Mapping[str, Any], tags: Mapping[str, str | None]
) -> int:
    """Insert a log with all that belongs to it, and tell its number."""
    entry_id = int(connection.execute(insert(entries).values(entry).returning(entries.c.id)).scalar_one())
    connection.execute(insert(files).values({**file, "entry_id": entry_id}))
    set_tags(connection, entry_id, tags)
    return entry_id
