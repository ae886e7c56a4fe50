"""The database behind a logbook: one engine, short transactions, errors in the pilot's words.

A transaction that has returned is on the disk: SQLite keeps its rollback journal and synchronises fully (its defaults),
so a killed process or a power cut leaves either the whole entry or none. Writers take SQLite's lock when they begin,
not half-way, so that two of them queue instead of failing.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import create_engine, event
from sqlalchemy.exc import DBAPIError, NoSuchModuleError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from analyzer.errors import LogbookError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection, Engine

    from analyzer.logbook.location import Location

_PATIENCE_S: Final = 60.0
"""How long a writer waits for another one; an entry takes some ten milliseconds."""
_WRITES: Final = "climbledger_writes"


class Database:
    """An engine and its transactions.

    Parameters
    ----------
    location : Location
        Where.

    Raises
    ------
    LogbookError
        When it is a folder, or the driver is not installed.
    """

    def __init__(self, location: Location) -> None:
        if location.path is not None and location.path.is_dir():
            raise LogbookError("is a folder", source=location.label, remedy="give the name of a file in it")
        self.location = location
        self.is_sqlite = location.path is not None
        try:
            self._engine = _sqlite_engine(location) if self.is_sqlite else _server_engine(location)
        except (ImportError, NoSuchModuleError) as error:
            raise LogbookError(
                "the PostgreSQL driver is not installed",
                source=location.label,
                remedy='install it with: pip install "climbledger[postgresql]"',
            ) from error

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a transaction that only reads.

        Raises
        ------
        LogbookError
            When the database refuses.
        """
        with self._in_words("read"), self._engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Open a transaction that is on the disk when the block ends, or undone when it raises.

        Raises
        ------
        LogbookError
            When the database refuses.
        """
        engine = self._engine.execution_options(**{_WRITES: True})
        with self._in_words("written"), engine.connect() as connection, connection.begin():
            yield connection

    def close(self) -> None:
        """Let go of all connections."""
        self._engine.dispose()

    @contextmanager
    def _in_words(self, what: str) -> Iterator[None]:
        try:
            yield
        except SQLAlchemyError as error:
            raise _as_logbook_error(error, what, self.location.label) from error


def _sqlite_engine(location: Location) -> Engine:
    # No pool: a connection costs a tenth of a millisecond, and none is left holding a lock.
    engine = create_engine(location.url, poolclass=NullPool, connect_args={"timeout": _PATIENCE_S})

    @event.listens_for(engine, "connect")
    def _configure(connection: Any, _record: object) -> None:  # noqa: ANN401 - the driver's own type
        connection.isolation_level = None  # the driver must not begin transactions by itself
        connection.execute("PRAGMA foreign_keys = ON")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get(_WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _server_engine(location: Location) -> Engine:
    return create_engine(location.url, pool_pre_ping=True, connect_args={"connect_timeout": 10})


def _as_logbook_error(error: SQLAlchemyError, what: str, label: str) -> LogbookError:
    reason = str(error.orig if isinstance(error, DBAPIError) else error).strip().partition("\n")[0]
    lowered = reason.lower()
    remedies = {
        "not a database": "give the path of a logbook",
        "malformed": "restore it from a backup",
        "locked": "another program holds it: try again when that has finished",
        "unable to open": "check the folder and its permissions",
        "readonly": "check the permissions of the file and its folder",
        "read-only": "check the permissions of the file and its folder",
        "full": "free some space on the disk",
        "does not exist": "create the database, or correct the URL",
        "authentication": "check the user and password in the URL",
        "connection": "check that the server runs, and the URL",
    }
    remedy = next((text for sign, text in remedies.items() if sign in lowered), "")
    return LogbookError(f"cannot be {what} ({reason})", source=label, remedy=remedy)
