"""Many logs at once: read here, analysed anywhere, stored here.

Reading, hashing and storing stay in this process (one writer, short transactions); the analyses run on an executor.
A log is acknowledged, by its `Outcome`, when it is on the disk. What is in the logbook already is found by its hash
before it is analysed, so a run that was stopped goes on where it ended.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

from analyzer.errors import LogFileError
from analyzer.logbook.crew import work_through
from analyzer.logbook.records import Edits, Outcome, checked
from analyzer.logbook.stored_setup import pack_setup
from analyzer.logbook.work import Job

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from concurrent.futures import Executor

    from analyzer.logbook.store import Logbook
    from analyzer.logbook.work import Analysed
    from analyzer.setup_file import Setup

LOG_ENDINGS: Final = (".csv", ".txt", ".tsv", ".log", ".dat", ".igc")
"""Which files of a folder are taken for logs; a file that is named is always tried."""


def find_logs(paths: Iterable[str | Path]) -> list[Path]:
    """List the logs among files and folders; folders are searched to the bottom, hidden files left out.

    Raises
    ------
    LogFileError
        When a folder cannot be read.
    """
    found: list[Path] = []
    for path in map(Path, paths):
        found.extend(_logs_in(path) if path.is_dir() else [path])
    return list(dict.fromkeys(found))


def _logs_in(folder: Path) -> list[Path]:
    def refuse(error: OSError) -> None:
        raise LogFileError(f"cannot be read ({error.strerror or error})", source=str(folder)) from error

    found: list[Path] = []
    for parent, folders, names in os.walk(folder, onerror=refuse):
        folders[:] = (name for name in folders if not name.startswith("."))  # where the walk goes on
        found += (Path(parent, name) for name in names if not name.startswith("."))
    return sorted(path for path in found if path.name.lower().endswith(LOG_ENDINGS))


def add_logs(
    logbook: Logbook,
    paths: Sequence[str | Path],
    *,
    setup: Setup | None = None,
    columns: Mapping[str, str] | None = None,
    edits: Edits | None = None,
    executor: Executor | None = None,
    jobs: int | None = None,
) -> Iterator[Outcome]:
    """Add logs, and say of each what became of it as soon as that is certain.

    Parameters
    ----------
    logbook : Logbook
        Where to.
    paths : sequence of str or Path
        Log files (`find_logs` makes the list from folders).
    setup, columns, edits
        The same for all, as for `Logbook.add`.
    executor : Executor, optional
        Anything like a ``concurrent.futures`` executor: a pool of processes, or ``client.get_executor()`` of a Dask
        cluster. It is left open.
    jobs : int, optional
        Without an executor: how many processes; as many as there are cores when left out.

    Yields
    ------
    Outcome
        One a path, in the order they finish. A log that cannot be read is "failed" and keeps no other from being added.

    Raises
    ------
    SetupFileError, OptionError
        Before anything is added, when setup or edits are impossible.
    LogbookError
        When the logbook itself cannot be written; what was yielded before is safe.
    """
    wanted = checked(edits or Edits())
    packed, column_map = pack_setup(setup), dict(columns or {})
    seen: set[str] = set()

    def job_of(path: str | Path) -> Job | Outcome:
        try:
            data = _read(Path(path))
        except LogFileError as error:
            return Outcome(str(path), "failed", error=error)
        sha256 = hashlib.sha256(data).hexdigest()
        known = logbook.known(sha256)
        if known is not None or sha256 in seen:
            return Outcome(str(path), "known", known)
        seen.add(sha256)
        return Job(Path(path).name, data, packed, wanted.propeller or "", column_map, is_new=True, path=str(path))

    def keep(path: str | Path, job: Job, found: Analysed) -> Outcome:
        stored = logbook.store(job, found, wanted)
        return Outcome(str(path), stored.status, stored.entry_id)

    yield from work_through(paths, job_of, keep, executor, worker_count(jobs, len(paths)))


def renew_entries(logbook: Logbook, entry_ids: Sequence[int], *, jobs: int | None = None) -> Iterator[Outcome]:
    """Analyse entries anew, after an upgrade for example; the pilot's words and corrections stay.

    Parameters
    ----------
    logbook : Logbook
        Which.
    entry_ids : sequence of int
        Entries.
    jobs : int, optional
        How many processes; as many as there are cores when left out.

    Yields
    ------
    Outcome
        One an entry; an entry that cannot be analysed any more keeps its old analysis and is "failed".
    """

    def job_of(entry_id: int) -> Job | Outcome:
        try:
            return logbook.job(entry_id)
        except LogFileError as error:
            return Outcome(f"entry {entry_id}", "failed", entry_id, error)

    def keep(entry_id: int, _job: Job, found: Analysed) -> Outcome:
        return logbook.renew(entry_id, found)

    yield from work_through(entry_ids, job_of, keep, None, worker_count(jobs, len(entry_ids)))


def worker_count(jobs: int | None, tasks: int) -> int:
    """How many processes to start: those asked for, else one a core; never more than there are tasks."""
    return max(1, min(jobs or os.cpu_count() or 1, tasks))


def _read(path: Path) -> bytes:
    from analyzer.ingest.source import open_source

    source = open_source(path)
    try:
        with source.open() as stream:
            return stream.read()
    except OSError as error:
        raise LogFileError(f"cannot be read ({error.strerror or error})", source=str(path)) from error
