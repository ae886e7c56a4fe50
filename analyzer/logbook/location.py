"""Where a logbook is: a file, or a database by its URL."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import LogbookError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import URL


@dataclass(frozen=True)
class Location:
    """A logbook's place.

    Attributes
    ----------
    url : sqlalchemy.URL
        For the engine.
    label : str
        What messages call it; never holds a password.
    path : Path or None
        The file of an SQLite logbook.
    """

    url: URL
    label: str
    path: Path | None


def default_path() -> Path:
    """The pilot's own logbook, in the user's data folder of the system."""
    return data_folder(sys.platform, os.environ, Path.home()) / "climbledger" / "logbook.sqlite"


def data_folder(system: str, environment: Mapping[str, str], home: Path) -> Path:
    """Where a system keeps what programs store for their user.

    Parameters
    ----------
    system : str
        As `sys.platform` names it.
    environment : mapping of str to str
        The environment's variables.
    home : Path
        The user's home folder.

    Notes
    -----
    Windows: the folder of local application data. macOS: Application Support. Elsewhere the XDG Base Directory
    Specification 0.8, by which a relative path in XDG_DATA_HOME counts for nothing.
    """
    if system == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local")
    if system == "darwin":
        return home / "Library" / "Application Support"
    stated = Path(environment.get("XDG_DATA_HOME", ""))
    return stated if stated.is_absolute() else home / ".local" / "share"


def locate(where: str | Path | None = None) -> Location:
    """Find out what the user means.

    Parameters
    ----------
    where : str or Path, optional
        A file, a URL ("postgresql://user@host/name"), or None for the pilot's own logbook.

    Raises
    ------
    LogbookError
        When a URL is malformed, or names another kind of database.
    """
    if where is None:
        where = default_path()
    text = str(where)
    if "://" not in text:
        return _file(Path(where).expanduser())
    from sqlalchemy.engine import make_url
    from sqlalchemy.exc import ArgumentError

    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        raise LogbookError(
            "no database URL that can be understood", source=_masked(text), remedy="write postgresql://user@host/name"
        ) from error
    backend = url.get_backend_name()
    if backend == "sqlite" and url.database:
        return _file(Path(url.database))
    if backend in ("postgresql", "postgres"):
        url = url.set(drivername="postgresql+psycopg")
        return Location(url, url.set(drivername="postgresql").render_as_string(hide_password=True), None)
    raise LogbookError(
        f"a logbook cannot be kept in {backend!r}",
        source=_masked(text),
        remedy="give a file, or postgresql://user@host/name",
    )


def _file(path: Path) -> Location:
    from sqlalchemy import URL

    return Location(URL.create("sqlite+pysqlite", database=str(path)), str(path), path)


def _masked(text: str) -> str:
    """A URL that cannot be taken apart, without what may be a password."""
    head, _, tail = text.rpartition("@")
    return f"{head.partition('://')[0]}://***@{tail}" if head else text
