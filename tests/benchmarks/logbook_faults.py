"""Imports killed at random moments (kill -9), on SQLite and PostgreSQL: nothing acknowledged is lost, nothing is half.

    python tests/benchmarks/logbook_faults.py --kills 200
    python tests/benchmarks/logbook_faults.py --kills 200 --url postgresql://user@host/empty_database

Each import runs in a child process that reports every log after the logbook has acknowledged it, and is killed after a
random time; then the logbook is examined and the import begun again where it ended. Half of the imports analyse their
logs, half bring the analyses along, so that the kills fall into the writing itself.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import select
import signal
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from logbook_logs import log_text

from analyzer.logbook import Edits, add_logs, open_logbook
from analyzer.logbook.database import Database
from analyzer.logbook.location import locate
from analyzer.logbook.work import Analysed, Job, analyse

LOGS = 60
LONGEST_S = {"analysing": 0.8, "writing": 0.25}


@dataclass
class Tally:
    """What the kills did."""

    kills: int = 0
    ended_early: int = 0
    acknowledged: int = 0
    rounds: int = 0
    problems: list[str] = field(default_factory=list)


def killed_imports(where: str, kills: int, seed: int, folder: Path) -> Tally:
    """Kill so many imports; each finished logbook is emptied and filled anew."""
    chance = random.Random(seed)
    paths = [folder / f"log-{number}.csv" for number in range(LOGS)]
    for number, path in enumerate(paths):
        path.write_bytes(log_text(number))
    prepared = [analyse(Job(path.name, path.read_bytes())) for path in paths]
    open_logbook(where).close()
    tally = Tally()
    while tally.kills < kills:
        tally.rounds += 1
        _fill_and_kill(where, paths, prepared, chance, tally, kills)
        with open_logbook(where) as book:
            book.remove([entry.id for entry in book.list()])
    return tally


def _fill_and_kill(
    where: str, paths: list[Path], prepared: list[Analysed], chance: random.Random, tally: Tally, kills: int
) -> None:
    """Fill an empty logbook, with interruptions."""
    acknowledged: set[str] = set()
    while tally.kills < kills:
        way = chance.choice(sorted(LONGEST_S))
        said, was_killed = _import_and_kill(
            where, paths, prepared if way == "writing" else [], chance.uniform(0.0, LONGEST_S[way])
        )
        acknowledged |= said
        tally.acknowledged += len(said)
        tally.kills += was_killed
        tally.ended_early += not was_killed
        tally.problems += examine(where, acknowledged)
        if not was_killed:
            return


def _import_and_kill(where: str, paths: list[Path], prepared: list[Analysed], after_s: float) -> tuple[set[str], bool]:
    """Import in a child, kill it; give the hashes that it acknowledged, and whether it was killed before its end."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            _import(where, paths, prepared, writing)
        finally:
            os._exit(0)
    os.close(writing)
    deadline, said = time.monotonic() + after_s, b""
    while (left := deadline - time.monotonic()) > 0.0 and select.select([reading], [], [], left)[0]:
        part = os.read(reading, 65536)
        if not part:
            break
        said += part
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    while part := os.read(reading, 65536):
        said += part
    os.close(reading)
    return {line for line in said.decode().split("\n") if len(line) == 64}, os.WIFSIGNALED(status)


def _import(where: str, paths: list[Path], prepared: list[Analysed], writing: int) -> None:
    with open_logbook(where) as book:
        if prepared:
            for path, found in zip(paths, prepared, strict=True):
                if book.known(found.sha256) is None:
                    book.store(Job(path.name, path.read_bytes()), found, Edits(tags={"a": "b"}))
                    os.write(writing, f"{found.sha256}\n".encode())
        else:
            for outcome in add_logs(book, paths, edits=Edits(tags={"a": "b"}), jobs=1):
                if outcome.status == "added":
                    digest = hashlib.sha256(Path(outcome.name).read_bytes()).hexdigest()
                    os.write(writing, f"{digest}\n".encode())


def examine(where: str, acknowledged: set[str]) -> list[str]:
    """Look for anything lost, half or double."""
    problems = []
    with open_logbook(where) as book:
        entries = book.list()
        hashes = [entry.sha256 for entry in entries]
        problems += [f"lost: {digest}" for digest in acknowledged - set(hashes)]
        problems += [f"double: {digest}" for digest in set(hashes) if hashes.count(digest) > 1]
        for entry in entries:
            book.job(entry.id)  # raises when it is not what was added
            if book.summary(entry.id).log.sha256 != entry.sha256 or entry.tags != {"a": "b"}:
                problems.append(f"half: entry {entry.id}")
    with closing(Database(locate(where))) as database, database.reading() as connection:
        if database.is_sqlite:
            said = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
            problems += [] if said == "ok" else [f"integrity: {said}"]
        for table in ("logbook_files", "logbook_tags"):
            query = f"SELECT count(*) FROM {table} WHERE entry_id NOT IN (SELECT id FROM logbook_entries)"
            orphans = connection.exec_driver_sql(query).scalar()
            problems += [f"orphans in {table}: {orphans}"] if orphans else []
    return problems


def main() -> None:
    """Print the counts; exit 1 on any problem."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--url", help="an empty PostgreSQL database; a new SQLite file when left out")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        where = options.url or str(Path(folder) / "logbook.sqlite")
        tally = killed_imports(where, options.kills, options.seed, Path(folder))
    print(
        f"{tally.kills} imports killed ({tally.ended_early} more ran to their end), {tally.acknowledged} logs "
        f"acknowledged in {tally.rounds} rounds: {len(tally.problems)} problems"
    )
    print(*tally.problems[:20], sep="\n")
    sys.exit(bool(tally.problems))


if __name__ == "__main__":
    main()
