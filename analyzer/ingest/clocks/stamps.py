"""From a log's time stamps as written to one clock that runs forward.

Stamps that are wrong (`stray_stamps`) are dropped, a clock that jumps is carried on (`clock_jumps`), lines written out
of order or last one first are sorted. Each is said in a notice; no row is moved silently.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import DAY_S
from analyzer.errors import LogFileError
from analyzer.ingest.clocks.clock_jumps import clock_set, joined, unsteady, unwrapped
from analyzer.ingest.clocks.stamp_settings import DEFAULT_SETTINGS, StampSettings, typical_step
from analyzer.ingest.clocks.stray_stamps import far_from_all, glitches
from analyzer.ingest.columns.column_map import map_option
from analyzer.records import Notice
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.ingest.clocks.stamp_settings import ClockKind

MIN_STAMPS: Final = 2
"""Fewer have no order."""


@dataclass(frozen=True)
class OrderedStamps:
    """The rows that have a usable stamp, in order.

    Attributes
    ----------
    rows : numpy.ndarray of int
        Rows of the table, in the order of time.
    seconds : numpy.ndarray
        Their stamps, never running backward.
    notices : tuple of Notice
        What was mended.
    """

    rows: NDArray[np.intp]
    seconds: NDArray[np.float64]
    notices: tuple[Notice, ...]


def order_stamps(
    seconds: NDArray[np.float64],
    kind: ClockKind,
    restarts: Sequence[int] = (),
    settings: StampSettings = DEFAULT_SETTINGS,
    *,
    source: str = "",
) -> OrderedStamps:
    """Make stamps run forward.

    Parameters
    ----------
    seconds : numpy.ndarray, shape (rows,)
        Stamps in the order of the file; NaN where a row has none (such rows are left out).
    kind : str
        What the stamps count.
    restarts : sequence of int
        Rows before which the file says that the logger started again.
    settings : StampSettings
        Limits.
    source : str
        What an error calls the log.

    Raises
    ------
    LogFileError
        When fewer than two samples have a stamp, all have the same, or the clock jumps more often than
        `StampSettings.most_jumps`.
    """
    rows = np.flatnonzero(np.abs(seconds) < settings.largest_stamp_s)
    stamps = seconds if rows.size == seconds.size else seconds[rows]
    if stamps.size < MIN_STAMPS:
        raise too_short(source)
    steps = np.diff(stamps)
    if not steps.any():
        raise _stands_still(stamps.size, source)
    if not ((steps < 0.0) | (steps > settings.longest_pause_s) | clock_set(stamps, steps, kind, settings)).any():
        return OrderedStamps(rows, stamps, ())
    notices: list[Notice] = []
    lowest = -DAY_S / 2.0 if kind == "clock" else -np.inf  # below it, a clock passes midnight
    if np.mean((steps < 0.0) & (steps > lowest)) > settings.reversed_share:
        rows, stamps = rows[::-1], stamps[::-1]
        notices.append(Notice("clock-reversed", "the log is written last sample first; it was turned round"))
    rows, stamps, dropped = _without(
        glitches(stamps, kind, typical_step(stamps), settings), rows, stamps, "far off its neighbours'"
    )
    stamps, carried = unwrapped(stamps, kind, settings)
    stamps, set_together = joined(stamps, kind, np.isin(rows, restarts), settings, source)
    rows, stamps, moved = _sorted(rows, stamps, settings, source)
    rows, stamps, far = _without(far_from_all(stamps, settings), rows, stamps, "weeks away from all others")
    stamps, drawn = _pauses_drawn(stamps, settings)
    return OrderedStamps(rows, stamps, (*notices, *dropped, *carried, *set_together, *moved, *far, *drawn))


def too_short(source: str) -> LogFileError:
    """Say that too few samples have a time."""
    return LogFileError("holds fewer than two samples with a time", source=source, remedy="give a whole log")


def _stands_still(samples: int, source: str) -> LogFileError:
    """Say that the clock never ran."""
    remedy = f"name another column of times with {map_option('Header', 'time_s')}"
    return LogFileError(f"its {samples} samples all have the same time", source=source, remedy=remedy)


def _without(
    wrong: NDArray[np.bool_], rows: NDArray[np.intp], stamps: NDArray[np.float64], where: str
) -> tuple[NDArray[np.intp], NDArray[np.float64], list[Notice]]:
    """Drop rows whose stamps are wrong."""
    if not wrong.any():
        return rows, stamps, []
    message = f"dropped {counted(int(wrong.sum()), 'sample')} with a time {where}"
    return rows[~wrong], stamps[~wrong], [Notice("clock-glitch", message)]


def _sorted(
    rows: NDArray[np.intp], stamps: NDArray[np.float64], settings: StampSettings, source: str
) -> tuple[NDArray[np.intp], NDArray[np.float64], list[Notice]]:
    """Sort lines that were written late.

    Raises
    ------
    LogFileError
        When too many stand far from their place: such a clock tells no time.
    """
    order = np.argsort(stamps, kind="stable")
    places = np.arange(order.size)
    far = np.abs(order - places) > settings.shuffled_rows
    backward = int(np.sum(np.diff(stamps) < 0.0))
    if backward > settings.most_jumps and np.mean(far) > settings.displaced_share:
        raise unsteady(backward, source)
    moved = int(np.sum(order != places))
    message = f"sorted {counted(moved, 'sample')} written out of order in time"
    return rows[order], stamps[order], [Notice("clock-sorted", message)] if moved else []


def _pauses_drawn(stamps: NDArray[np.float64], settings: StampSettings) -> tuple[NDArray[np.float64], list[Notice]]:
    """Draw long pauses, between days that someone put into one file, as a logger's that was switched on again."""
    steps = np.diff(stamps)
    long = steps > settings.longest_pause_s
    if not long.any():
        return stamps, []
    days = ", ".join(f"{step / DAY_S:.1f}" for step in steps[long])
    message = f"the log pauses for {days} days; drawn as {settings.restart_gap_s:g} s"
    shorter_steps = np.where(long, settings.restart_gap_s, steps)
    return np.append(stamps[0], stamps[0] + np.cumsum(shorter_steps)), [Notice("clock-set", message)]


def fill_missing(
    seconds: NDArray[np.float64], filled: NDArray[np.bool_], settings: StampSettings = DEFAULT_SETTINGS
) -> tuple[NDArray[np.float64], tuple[Notice, ...]]:
    """Give rows without a stamp the stamp before them, where they are many; few are left without, and so dropped.

    Parameters
    ----------
    seconds : numpy.ndarray
        NaN where a row has no stamp.
    filled : numpy.ndarray of bool
        Rows that hold anything but a time.
    settings : StampSettings
        Limits.
    """
    missing = np.isnan(seconds) & filled
    last = np.maximum.accumulate(np.where(np.isnan(seconds), -1, np.arange(seconds.size)))
    carried = missing & (last >= 0)
    if int(carried.sum()) <= max(settings.droppable_rows, settings.droppable_share * seconds.size):
        carried[:] = False
    notices = []
    if dropped := int(np.sum(missing & ~carried)):
        notices.append(Notice("rows-without-time", f"dropped {counted(dropped, 'sample')} without a time"))
    if count := int(carried.sum()):
        message = f"{counted(count, 'sample')} without a time set after the time written before them"
        notices.append(Notice("stamps-carried", message))
    return np.where(carried, seconds[last], seconds), tuple(notices)
