"""A logbook's way to other places: a folder of plain files for any program, or another logbook as a backup."""

from __future__ import annotations

import csv
import io
import os
import re
import secrets
from pathlib import Path
from typing import TYPE_CHECKING, Final

from analyzer.errors import LogbookError, OutputError
from analyzer.export.csv_table import safe_text
from analyzer.export.json_document import json_document
from analyzer.export.writing import write_document
from analyzer.logbook.store import open_logbook
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analyzer.logbook.records import Entry
    from analyzer.logbook.store import Logbook

_UNSAFE: Final = re.compile(r"[^\w.+-]+")
_LIST_COLUMNS: Final = (
    "id", "day", "started_at", "log_name", "setup_name", "propeller", "place", "note", "tags", "motor_runs",
    "is_corrected", "added_at", "analysed_at", "analyzer_version", "sha256",
)  # fmt: skip


def export_entries(logbook: Logbook, chosen: Sequence[Entry], folder: Path) -> Iterator[str]:
    """Write entries as plain files: each log as it was, its setup and its summary, and one table of all.

    Parameters
    ----------
    logbook : Logbook
        Where from.
    chosen : sequence of Entry
        Which.
    folder : Path
        Where to; made if it is not there. Files of the same name are replaced.

    Yields
    ------
    str
        The name of each log as it is done.

    Raises
    ------
    OutputError
        When something cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            f"cannot be made ({error.strerror or error})", source=str(folder), remedy="give the name of a folder"
        ) from error
    for entry in chosen:
        stem = f"{entry.id:05d}-{_UNSAFE.sub('_', Path(entry.log_name).name)[:80]}"
        job = logbook.job(entry.id)
        write_document(folder / stem, job.data)
        if job.setup is not None:
            table = f"{stem}.coefficients.csv"  # two entries may have tables of one name
            write_document(folder / f"{stem}.setup.toml", job.setup.toml_with_table(table))
            if job.setup.coefficients is not None:
                write_document(folder / table, job.setup.coefficients)
        write_document(folder / f"{stem}.summary.json", json_document(logbook.summary(entry.id)))
        yield entry.log_name
    write_document(folder / "logbook.csv", entries_csv(chosen))


def entries_csv(entries: Sequence[Entry]) -> str:
    """One row an entry, safe to open in a spreadsheet."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(_LIST_COLUMNS)
    for entry in entries:
        tags = "; ".join(f"{key}={value}" for key, value in entry.tags.items())
        values = [tags if name == "tags" else getattr(entry, name) for name in _LIST_COLUMNS]
        writer.writerow(["" if value is None else safe_text(str(value)) for value in values])
    return stream.getvalue()


def back_up(logbook: Logbook, target: Path) -> int:
    """Copy a whole logbook, a file or a database on a server alike, into one new SQLite file.

    The copy is a logbook itself: open it with ``--logbook``, or take its entries over with `Logbook.copy_from`.

    Parameters
    ----------
    logbook : Logbook
        Which.
    target : Path
        The new file, or an earlier backup, which is replaced when the copy is complete.

    Returns
    -------
    int
        Entries copied.

    Raises
    ------
    OutputError
        When the target is a folder, cannot be written, or holds what would be lost.
    LogbookError
        When reading or writing fails; the old file at the target is then untouched.
    """
    if target.is_dir() or not target.parent.is_dir():
        problem = "is a folder" if target.is_dir() else "cannot be written: its folder does not exist"
        raise OutputError(problem, source=str(target), remedy="give the name of a file")
    _check_nothing_lost(logbook, target)
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        with open_logbook(temporary) as copy:
            outcomes = copy.copy_from(logbook, logbook.list())
        os.replace(temporary, target)  # noqa: PTH105 - Path.replace would do the same
    finally:
        temporary.unlink(missing_ok=True)
    return len(outcomes)


def _check_nothing_lost(logbook: Logbook, target: Path) -> None:
    """Refuse to replace a file that is no backup of this logbook, or that has what was removed since."""
    if not target.exists() or not target.stat().st_size:
        return
    try:
        with open_logbook(target, create=False) as old:
            there = {entry.sha256 for entry in old.list()}
    except LogbookError as error:
        raise OutputError("is there already and is no logbook", source=str(target), remedy="give a new name") from error
    lost = there - {entry.sha256 for entry in logbook.list()}
    if lost:
        raise OutputError(
            f"holds {counted(len(lost), 'log')} that {logbook.label} has not",
            source=str(target),
            remedy="give a new name, or take them over first with: climbledger logbook merge",
        )
