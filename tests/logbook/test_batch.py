"""Many logs at once: in processes, in threads, on a cluster; with broken ones among them; stopped and begun again."""

from __future__ import annotations

import os
import signal
from collections import Counter
from concurrent.futures import Executor, ThreadPoolExecutor
from pathlib import Path

import pytest
from logbook_logs import log_text

from analyzer.errors import LogbookError, LogFileError, OptionError
from analyzer.logbook import Edits, Logbook, Outcome, add_logs, find_logs, open_logbook, renew_entries
from analyzer.logbook.crew import _Crew, work_through
from analyzer.logbook.work import Analysed, Job, analyse


@pytest.fixture
def book(tmp_path: Path) -> Logbook:
    return open_logbook(tmp_path / "logbook.sqlite")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Five good logs, one of them twice, and three that are none."""
    top = tmp_path / "logs"
    (top / "may" / ".hidden").mkdir(parents=True)
    for number in range(4):
        (top / f"flight-{number}.csv").write_bytes(log_text(number))
    (top / "may" / "flight-4.TXT").write_bytes(log_text(4))
    (top / "may" / "copy-of-0.csv").write_bytes(log_text(0))
    (top / "broken.csv").write_bytes(b"time,altitude\n" + b"\xff\xfe" * 50)
    (top / "empty.csv").touch()
    (top / "may" / "notes.pdf").write_bytes(b"%PDF-1.4")
    (top / "may" / ".hidden" / "flight-9.csv").write_bytes(log_text(9))
    return top


def tally(outcomes: list[Outcome]) -> dict[str, int]:
    return dict(Counter(outcome.status for outcome in outcomes))


EXPECTED = {"added": 5, "known": 1, "failed": 2}


def test_a_folder_is_searched_to_the_bottom(folder: Path) -> None:
    names = [path.name for path in find_logs([folder, folder / "flight-1.csv", folder / "may" / "notes.pdf"])]
    assert sorted(names[:8]) == sorted(
        [
            "broken.csv",
            "empty.csv",
            "flight-0.csv",
            "flight-1.csv",
            "flight-2.csv",
            "flight-3.csv",
            "copy-of-0.csv",
            "flight-4.TXT",
        ]
    )
    assert names[8:] == ["notes.pdf"]  # a file that is named is always tried


@pytest.mark.parametrize("jobs", [1, 2])
def test_good_logs_are_added_and_broken_ones_reported(book: Logbook, folder: Path, jobs: int) -> None:
    outcomes = list(add_logs(book, find_logs([folder]), edits=Edits(place="Dunes"), jobs=jobs))
    assert tally(outcomes) == EXPECTED
    assert {Path(outcome.name).name for outcome in outcomes if outcome.status == "failed"} == {
        "broken.csv",
        "empty.csv",
    }
    assert all(isinstance(outcome.error, LogFileError) for outcome in outcomes if outcome.status == "failed")
    assert all(str(outcome.error).startswith(outcome.name) for outcome in outcomes if outcome.status == "failed")
    assert {outcome.name for outcome in outcomes} == {str(path) for path in find_logs([folder])}
    assert {entry.place for entry in book.list()} == {"Dunes"}


def test_any_executor_will_do(book: Logbook, folder: Path) -> None:
    with ThreadPoolExecutor(2) as executor:
        assert tally(list(add_logs(book, find_logs([folder]), executor=executor))) == EXPECTED
        assert executor.submit(len, "ours").result() == 4  # it is left open


@pytest.mark.filterwarnings("ignore::ResourceWarning")  # the cluster's own sockets and loops, closed late
def test_a_cluster_with_a_scheduler_and_workers(book: Logbook, folder: Path) -> None:
    distributed = pytest.importorskip("distributed") if not os.environ.get("CI") else __import__("distributed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    )
    with cluster, distributed.Client(cluster) as client:
        assert len(client.scheduler_info()["workers"]) == 2
        with client.get_executor() as executor:
            outcomes = list(add_logs(book, find_logs([folder]), executor=executor))
    assert tally(outcomes) == EXPECTED
    assert sum(entry.motor_runs for entry in book.list()) == 5


def test_a_stopped_run_goes_on_where_it_ended(book: Logbook, folder: Path) -> None:
    first = add_logs(book, find_logs([folder]), jobs=1)
    done = [next(first) for _ in range(4)]
    first.close()  # as Ctrl-C does
    added = {outcome.name for outcome in done if outcome.status == "added"}
    assert added
    assert len(book.list()) == len(added)  # what was acknowledged is there
    rest = list(add_logs(book, find_logs([folder]), jobs=1))
    assert {outcome.name for outcome in rest if outcome.status == "known"} >= added
    assert len(book.list()) == 5


def test_the_outcome_of_a_log_is_its_being_there(book: Logbook, folder: Path) -> None:
    for outcome in add_logs(book, find_logs([folder]), jobs=1):
        if outcome.status == "added":
            assert outcome.entry_id is not None
            assert book.get(outcome.entry_id).log_name == Path(outcome.name).name


def test_impossible_edits_stop_before_anything(book: Logbook, folder: Path) -> None:
    with pytest.raises(OptionError):
        list(add_logs(book, find_logs([folder]), edits=Edits(day="soon")))
    assert book.list() == ()


def test_entries_are_analysed_anew_in_parallel(book: Logbook, folder: Path) -> None:
    list(add_logs(book, find_logs([folder]), edits=Edits(note="keep me"), jobs=1))
    numbers = [entry.id for entry in book.list()]
    assert tally(list(renew_entries(book, numbers, jobs=2))) == {"analysed": 5}
    assert {entry.note for entry in book.list()} == {"keep me"}


# ---- workers that die


def _die_on_two(job: Job) -> Analysed:
    if job.name == "log-2.csv":
        os.kill(os.getpid(), signal.SIGKILL)
    return analyse(job)


def kept(_task: int, job: Job, _found: Analysed) -> Outcome:
    return Outcome(job.name, "added")


def test_a_log_that_kills_its_worker_costs_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """As a log does that needs more memory than there is: the system ends the process."""
    monkeypatch.setattr("analyzer.logbook.crew.analyse", _die_on_two)
    jobs = (Job(f"log-{number}.csv", log_text(number)) for number in range(6))
    outcomes = list(work_through(range(6), lambda _: next(jobs), kept, None, 2))
    assert tally(outcomes) == {"added": 5, "failed": 1}
    (failed,) = (outcome for outcome in outcomes if outcome.status == "failed")
    assert failed.name == "log-2.csv"
    assert "ended by the system" in str(failed.error)


def test_a_broken_executor_that_is_not_ours_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("analyzer.logbook.crew.analyse", _die_on_two)
    own = _Crew(None, 2)
    try:
        jobs = (Job(f"log-{number}.csv", log_text(number)) for number in range(2, 5))
        with pytest.raises(LogbookError, match="workers have stopped"):
            list(work_through(range(3), lambda _: next(jobs), kept, own._executor, 2))
    finally:
        own.dismiss()


class _Refusing(Executor):
    def submit(self, fn: object, /, *args: object, **kwargs: object) -> object:  # type: ignore[override]
        from concurrent.futures import Future

        future: Future[object] = Future()
        future.set_exception(ValueError("cannot be pickled"))
        return future


def test_any_problem_of_an_executor_becomes_a_report(book: Logbook, folder: Path) -> None:
    outcomes = list(add_logs(book, [folder / "flight-0.csv"], executor=_Refusing()))
    assert tally(outcomes) == {"failed": 1}
    assert "ValueError: cannot be pickled" in str(outcomes[0].error)


def test_what_cannot_be_read_is_a_failure_of_its_own(book: Logbook, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    outcomes = list(add_logs(book, [tmp_path / "pipe.csv", tmp_path / "none.csv", tmp_path]))
    assert tally(outcomes) == {"failed": 3}


def test_workers_end_with_their_parent(tmp_path: Path) -> None:
    """kill -9 of the parent must not leave workers behind."""
    import subprocess
    import sys
    import time

    script = tmp_path / "parent.py"
    script.write_text(
        "import os, time\n"
        "from analyzer.logbook.crew import _Crew\n"
        "if __name__ == '__main__':\n"
        "    crew = _Crew(None, 2)\n"
        "    print(*{f.result() for f in [crew._executor.submit(os.getpid) for _ in range(20)]}, flush=True)\n"
        "    time.sleep(60)\n"
    )
    parent = subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    workers = [int(text) for text in parent.stdout.readline().split()]
    assert workers
    parent.kill()
    parent.wait()
    parent.stdout.close()
    deadline = time.monotonic() + 10.0
    while any(_alive(worker) for worker in workers):
        assert time.monotonic() < deadline, "a worker outlived its parent"
        time.sleep(0.05)


def test_ctrl_c_while_the_workers_begin_is_silent(tmp_path: Path, folder: Path) -> None:
    """Ctrl-C reaches the whole group of processes, also those that are still loading what they need."""
    import subprocess
    import sys
    import time

    script = "from analyzer.cli.main import main; main()"
    arguments = ["logbook", "add", str(folder), "--jobs", "2", "--logbook", str(tmp_path / "new.sqlite")]
    for patience_s in (0.9, 1.3, 1.7):
        command = subprocess.Popen(
            [sys.executable, "-c", script, *arguments], stderr=subprocess.PIPE, text=True, start_new_session=True
        )
        time.sleep(patience_s)
        os.killpg(command.pid, signal.SIGINT)
        said = command.communicate(timeout=60)[1]
        assert "Traceback" not in said, said


def _alive(process: int) -> bool:
    try:
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"
