"""A crew of workers that analyses logs: this process, a pool of processes, or any executor that is handed in.

A worker that dies (a log too large for the memory, a bug in a library) costs at most the log that it held: the logs
that were under way are tried again one by one, and the one that kills its worker a second time is reported.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import deque
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, replace
from multiprocessing import connection
from typing import TYPE_CHECKING, Any, Final, Generic, TypeVar

from analyzer.errors import ClimbledgerError, LogbookError, LogFileError
from analyzer.logbook.records import Outcome
from analyzer.logbook.work import analyse

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from analyzer.logbook.work import Analysed, Job

Task = TypeVar("Task")

_AHEAD: Final = 3
"""Jobs handed out per worker: enough to keep it busy, little enough to keep memory flat."""
_DEATHS: Final = 2
"""A log that was alone with its worker when that died, after one death in company, is the cause."""


@dataclass(frozen=True)
class _Order(Generic[Task]):
    task: Task
    job: Job
    deaths: int = 0
    crew: int = 0
    """Which of the crews, one after the other, it was given to."""


def work_through(
    tasks: Iterable[Task],
    job_of: Callable[[Task], Job | Outcome],
    keep: Callable[[Task, Job, Analysed], Outcome],
    executor: Executor | None,
    workers: int,
) -> Iterator[Outcome]:
    """Turn tasks into jobs, have them analysed, and keep what was found.

    Parameters
    ----------
    tasks : iterable
        Whatever `job_of` understands.
    job_of : callable
        Makes the job of a task, or says that there is nothing to do.
    keep : callable
        Stores what was found; runs here.
    executor : Executor or None
        Where to work; None works in `workers` processes of its own, or right here when that is one.
    workers : int
        How many.

    Yields
    ------
    Outcome
        One a task, in the order they finish.

    Raises
    ------
    LogbookError
        When the logbook cannot be written, or the executor handed in has broken.
    """
    fresh = (_ordered(task, job_of) for task in tasks)
    again: deque[_Order[Task]] = deque()
    running: dict[Future[Analysed], _Order[Task]] = {}
    crew = _Crew(executor, workers)
    try:
        while True:
            yield from _hand_out(fresh, again, running, crew)
            if not running:
                return
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                order = running.pop(future)
                result = _result(future)
                if isinstance(result, BrokenExecutor) and order.deaths + 1 < _DEATHS:
                    crew.replace(order.crew, result)
                    again.append(replace(order, deaths=order.deaths + 1))
                elif isinstance(result, Exception):
                    yield _failure(result, order.job)
                else:
                    yield keep(order.task, order.job, result)
    finally:
        crew.dismiss()


def _hand_out(
    fresh: Iterator[_Order[Task] | Outcome],
    again: deque[_Order[Task]],
    running: dict[Future[Analysed], _Order[Task]],
    crew: _Crew,
) -> Iterator[Outcome]:
    """Give the crew as much as it takes, and what comes again alone; say of which tasks there is nothing to do."""
    while len(running) < (1 if again else crew.capacity):
        order = again.popleft() if again else next(fresh, None)
        if order is None:
            return
        if isinstance(order, Outcome):
            yield order
            continue
        future = crew.begin(order.job)
        running[future] = replace(order, crew=crew.number)
        if order.deaths:
            return


def _ordered(task: Task, job_of: Callable[[Task], Job | Outcome]) -> _Order[Task] | Outcome:
    made = job_of(task)
    return made if isinstance(made, Outcome) else _Order(task, made)


def _result(future: Future[Analysed]) -> Analysed | Exception:
    try:
        return future.result()
    except Exception as error:  # noqa: BLE001 - whatever a worker, a pickle or a cluster raises becomes a report
        return error


def _failure(error: Exception, job: Job) -> Outcome:
    """Why a log failed; by its path, since two folders may hold logs of one name."""
    name = job.path or job.name
    if isinstance(error, ClimbledgerError):
        reason = error
        reason.source = name if error.source == job.name else error.source
    elif isinstance(error, BrokenExecutor):
        reason = LogFileError("its analysis was ended by the system", source=name, remedy="it may need more memory")
    else:
        said = f"its analysis failed ({type(error).__name__}: {error})"
        reason = LogFileError(said, source=name, remedy="please report it")
    return Outcome(name, "failed", error=reason)


class _Crew:
    """An executor of our own that can be replaced, or one that was handed in."""

    def __init__(self, executor: Executor | None, workers: int) -> None:
        self._is_own = executor is None
        self._workers = workers
        self._executor = executor or self._hire()
        self.number = 0
        known = getattr(self._executor, "_max_workers", None) or workers
        self.capacity = 1 if isinstance(self._executor, _Here) else _AHEAD * max(workers, int(known))

    def begin(self, job: Job) -> Future[Analysed]:
        """Hand out a job."""
        try:
            return self._executor.submit(analyse, job)
        except BrokenExecutor as error:
            self.replace(self.number, error)
            return self._executor.submit(analyse, job)

    def replace(self, number: int, death: BrokenExecutor) -> None:
        """Take a new crew in the place of number so-and-so, which lost a worker, unless that was done already.

        Raises
        ------
        LogbookError
            When the executor is not ours to replace.
        """
        if not self._is_own:
            raise LogbookError("the workers have stopped", remedy="start them again and repeat the command") from death
        if number == self.number:
            self._executor.shutdown(wait=True, cancel_futures=True)
            self._executor = self._hire()
            self.number += 1

    def dismiss(self) -> None:
        """Send our own crew home; work under way is finished, what waits is not begun."""
        if self._is_own:
            self._executor.shutdown(wait=True, cancel_futures=True)

    def _hire(self) -> Executor:
        if self._workers == 1:
            return _Here()
        method = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
        context = multiprocessing.get_context(method)
        if method == "forkserver":
            context.set_forkserver_preload(["analyzer.analysis", "analyzer.logbook.work"])
            _start_fork_server()
        return _Pool(self._workers, mp_context=context, initializer=_begin_worker)


class _Pool(ProcessPoolExecutor):
    """Processes; the first job starts them, and the thread that waits for them when we leave: both or neither."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:  # noqa: ANN401 - as in the base class
        with _ctrl_c_held_back():
            return super().submit(fn, *args, **kwargs)


class _Here(Executor):
    """Works right here, at once."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:  # noqa: ANN401 - as in the base class
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - the future carries it
            future.set_exception(error)
        return future


def _start_fork_server() -> None:
    """Start the process that workers are copied from, with Ctrl-C held back: it and they inherit that.

    It would otherwise be stopped while it loads, with a traceback, before it leaves Ctrl-C to the parent by itself.
    """
    from multiprocessing import forkserver, resource_tracker

    resource_tracker.ensure_running()  # it lets go of Ctrl-C when it starts
    with _ctrl_c_held_back():
        forkserver.ensure_running()


@contextmanager
def _ctrl_c_held_back() -> Iterator[None]:
    """Let Ctrl-C wait until the end, where the system can: halfway through, workers would be left to nobody."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin_worker() -> None:
    """Leave Ctrl-C to the parent, and do not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)
