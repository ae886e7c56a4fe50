"""A new logbook gets its tables, an old one is brought up to date, a newer one is left alone.

The migrations run in one transaction under an exclusive lock: a process that is killed half-way leaves the logbook as
it was, and two programs that open a logbook at once do not both begin.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING, Final

from sqlalchemy import inspect, text

from analyzer.errors import LogbookError
from analyzer.logbook.schema import HEAD, VERSION_TABLE

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from analyzer.logbook.database import Database

SCRIPTS: Final = Path(__file__).parent / "migrations"
_LOCK_KEY: Final = 0x636C_6D62  # "clmb"; any number that no other program uses on the same server


def make_current(database: Database, *, create: bool) -> None:
    """Bring the tables up to date.

    Parameters
    ----------
    database : Database
        The logbook.
    create : bool
        Whether a logbook that is not there yet is made.

    Raises
    ------
    LogbookError
        When there is none and none is to be made, when it was written by a newer program, or when the database holds
        something else.
    """
    path, label = database.location.path, database.location.label
    if path is not None and not path.exists():
        if not create:
            raise _absent(label)
        _make_folder(path)
    with database.reading() as connection:
        version = _version(connection, label)
    if version == HEAD:
        return
    if version is None and not create:
        raise _absent(label)
    if version is not None and path is not None:
        _copy_aside(path, version)
    with database.writing() as connection:
        if not database.is_sqlite:
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK_KEY})
        if _version(connection, label) != HEAD:  # another program may have been faster
            _run_migrations(connection)


def _absent(label: str) -> LogbookError:
    return LogbookError(
        "there is no logbook yet", source=label, remedy="begin one with: climbledger logbook add LOG --setup S.toml"
    )


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LogbookError(
            f"its folder cannot be made ({error.strerror or error})", source=str(path), remedy="give another place"
        ) from error


def _version(connection: Connection, label: str) -> str | None:
    """The migration that the logbook is at; None for an empty database."""
    present = set(inspect(connection).get_table_names())
    if VERSION_TABLE not in present:
        if present and connection.dialect.name == "sqlite":
            raise LogbookError("is another kind of database", source=label, remedy="give the path of a logbook")
        return None
    version: str | None = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    if version is not None and version > HEAD:
        raise LogbookError("was written by a newer climbledger", source=label, remedy="install the newest climbledger")
    return version


def _copy_aside(path: Path, version: str) -> None:
    """Keep the file as it was before a migration."""
    copy = path.with_name(f"{path.name}.before-upgrade-from-{version}")
    if copy.exists():
        return
    with sqlite3.connect(path) as source, sqlite3.connect(copy) as target:
        source.backup(target)


def _run_migrations(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
