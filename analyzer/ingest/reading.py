"""Reading a log: the one way in, whatever the file."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.errors import InputError, NoSuchColumnError
from analyzer.ingest.adapter import choose_adapter, installed_adapters
from analyzer.ingest.source import Source, open_bytes, open_source, unreadable
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from analyzer.ingest.describe import ColumnDescription
    from analyzer.records import Log


def read_log(
    path: str | Path, columns: Mapping[str, str] | None = None, columns_if_there: Mapping[str, str] | None = None
) -> Log:
    """Read a log file.

    Parameters
    ----------
    path : str or Path
        The file; it is only read.
    columns : mapping of str to str, optional
        Explicit column map: header to "channel [unit]" or "ignore".
    columns_if_there : mapping of str to str, optional
        A setup's column map, which serves several loggers: a header that this log has not is said in a notice.
        `columns` wins over it.

    Returns
    -------
    Log
        Canonical channels in SI units on the log's own, strictly increasing time stamps; sparse columns stay sparse.

    Raises
    ------
    LogFileError
        When the file cannot be read as telemetry: the message says where and what to do.
    ColumnMapError
        When the map names a header, channel or unit that is not there.

    Examples
    --------
    >>> log = read_log("sample_logs/first_flight.csv")  # doctest: +SKIP
    >>> log.frame.columns  # doctest: +SKIP
    """
    return _read(open_source(path), columns or {}, columns_if_there or {})


def read_log_bytes(
    data: bytes,
    name: str,
    columns: Mapping[str, str] | None = None,
    columns_if_there: Mapping[str, str] | None = None,
) -> Log:
    """Read a log that was uploaded.

    Parameters
    ----------
    data : bytes
        The file's content.
    name : str
        The file's name; folders in it are ignored.
    columns, columns_if_there : mapping of str to str, optional
        As in `read_log`.

    Raises
    ------
    LogFileError, ColumnMapError
        As in `read_log`.
    """
    return _read(open_bytes(data, name), columns or {}, columns_if_there or {})


def describe_columns(log: str | Path | bytes, name: str = "upload") -> tuple[ColumnDescription, ...]:
    """Tell what each column of a log would be read as, and what else it may be.

    Parameters
    ----------
    log : str, Path or bytes
        A file, or the content of an upload.
    name : str
        What messages call an upload.

    Raises
    ------
    LogFileError
        When it is no log at all; one without time or altitude is described all the same.
    """
    source = open_bytes(log, name) if isinstance(log, bytes) else open_source(log)
    adapters = installed_adapters()
    with _named(source):
        return choose_adapter(source, adapters).describe(source)


def _read(source: Source, columns: Mapping[str, str], columns_if_there: Mapping[str, str]) -> Log:
    adapters = installed_adapters()
    wanted = {**columns_if_there, **columns}
    absent: list[Notice] = []
    with _named(source):
        adapter = choose_adapter(source, adapters)
        while True:
            try:
                log = adapter.read(source, wanted)
            except NoSuchColumnError as error:
                if error.header in columns:
                    raise
                del wanted[error.header]
                hint = f"; did you mean '{error.close}'?" if error.close else ""
                message = f"no column '{error.header}', which the setup's column map names{hint}"
                absent.append(Notice("column-absent", message))
            else:
                return replace(log, notices=(*log.notices, *absent))


@contextmanager
def _named(source: Source) -> Iterator[None]:
    """Say in each error which log it is about."""
    try:
        yield
    except OSError as error:
        raise unreadable(source.label, error) from error
    except InputError as error:
        error.source = error.source or source.label
        raise
