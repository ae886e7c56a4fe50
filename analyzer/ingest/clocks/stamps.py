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
from analyzer.ingest.clocks.clock_jumps import MOST_JUMPS, RESTART_GAP_S, clock_set, joined, unsteady, unwrapped
from analyzer.ingest.clocks.stray_stamps import SHUFFLED_ROWS, far_from_all, glitches
from analyzer.ingest.columns.column_map import map_option
from analyzer.records import Notice
from analyzer.wording import counted

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices, Mask
    from analyzer.ingest.clocks.time_axis import ClockKind

MIN_STAMPS: Final = 2
"""Fewer have no order."""

REVERSED_SHARE: Final = 0.9
"""From this share of backward steps on, the file is written last line first."""

FEWEST_TURNS: Final = 4
ROWS_A_TURN: Final = 400
"""A table sorted as text runs back once in 10 to 200 rows; a logger that starts again does so less often."""

EVEN_SHARE, UNEVEN_SHARE = 0.98, 0.5
"""Of the steps of one logger's clock so many differ from the usual one by less than this share of it."""

LONGEST_PAUSE_S: Final = 8.0 * 3600.0
"""A night, with the logger off and the pack out: a longer pause is drawn as `RESTART_GAP_S`, or the avionics would draw
current through it, and a log that ended in the air fly on."""

DISPLACED_SHARE: Final = 0.2
"""A clock by which more samples than this stand far from their place in the file tells no time."""

LARGEST_STAMP_S: Final = 1e12
"""Beyond this (the year 33 658) a number is no stamp."""


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

    rows: Indices
    seconds: Array
    notices: tuple[Notice, ...]

    def selection(self, table_rows: int) -> Indices | slice:
        """What to take from a table of so many rows: all, uncopied, where they stand in order as most do."""
        in_place = self.rows.size == table_rows and bool(np.all(np.diff(self.rows) == 1))
        return slice(None) if in_place else self.rows


def order_stamps(seconds: Array, kind: ClockKind) -> OrderedStamps:
    """Make stamps run forward.

    Parameters
    ----------
    seconds : numpy.ndarray, shape (rows,)
        Stamps in the order of the file; NaN where a row has none (such rows are left out).
    kind : str
        What the stamps count.

    Raises
    ------
    LogFileError
        When fewer than two samples have a stamp, all have the same, or the clock jumps more often than
        `clock_jumps.MOST_JUMPS`.
    """
    rows = np.flatnonzero(np.abs(seconds) < LARGEST_STAMP_S)
    stamps = seconds if rows.size == seconds.size else seconds[rows]
    if stamps.size < MIN_STAMPS:
        raise too_short()
    steps = np.diff(stamps)
    if not steps.any():
        raise _stands_still(stamps.size)
    if not ((steps < 0.0) | (steps > LONGEST_PAUSE_S) | clock_set(stamps, steps, kind)).any():
        return OrderedStamps(rows, stamps, ())
    notices: list[Notice] = []
    lowest = -DAY_S / 2.0 if kind == "clock" else -np.inf  # below it, a clock passes midnight
    if np.mean((steps < 0.0) & (steps > lowest)) > REVERSED_SHARE:
        rows, stamps = rows[::-1], stamps[::-1]
        notices.append(Notice("clock-reversed", "the log is written last sample first; it was turned round"))
    if kind != "clock" and _stand_in_another_order(stamps, kind):
        rows, stamps = rows[np.argsort(stamps)], np.sort(stamps)
        message = f"the log's {stamps.size} samples stand in another order than that of time; they were sorted"
        notices.append(Notice("clock-sorted", message))
    rows, stamps, dropped = _without(glitches(stamps, kind), rows, stamps, "far off its neighbours'")
    stamps, carried = unwrapped(stamps, kind)
    stamps, set_together = joined(stamps, kind)
    rows, stamps, moved = _sorted(rows, stamps)
    rows, stamps, far = _without(far_from_all(stamps), rows, stamps, "weeks away from all others")
    stamps, drawn = _pauses_drawn(stamps)
    return OrderedStamps(rows, stamps, (*notices, *dropped, *carried, *set_together, *moved, *far, *drawn))


def _stand_in_another_order(stamps: Array, kind: ClockKind) -> bool:
    """Whether stamps run back again and again, as of a table sorted as text, and in order make one even clock.

    Sessions one after the other, each from 0, hold the same stamps several times, or uneven ones; lines written late,
    and those of a counter that overflows, stand near their place.
    """
    if int(np.sum(np.diff(stamps) < 0.0)) < max(FEWEST_TURNS, stamps.size / ROWS_A_TURN):
        return False
    places = np.argsort(unwrapped(stamps, kind)[0], kind="stable")
    if np.all(np.abs(places - np.arange(places.size)) <= SHUFFLED_ROWS):
        return False
    steps = np.diff(np.sort(stamps))
    even = np.abs(steps - np.median(steps)) <= UNEVEN_SHARE * np.median(steps)
    return bool(np.all(steps > 0.0) and np.mean(even) >= EVEN_SHARE)


def too_short() -> LogFileError:
    """Say that too few samples have a time."""
    return LogFileError("holds fewer than two samples with a time", remedy="give a whole log")


def _stands_still(samples: int) -> LogFileError:
    """Say that the clock never ran."""
    remedy = f"name another column of times with {map_option('Header', 'time_s')}"
    return LogFileError(f"its {samples} samples all have the same time", remedy=remedy)


def _without(wrong: Mask, rows: Indices, stamps: Array, where: str) -> tuple[Indices, Array, list[Notice]]:
    """Drop rows whose stamps are wrong."""
    if not wrong.any():
        return rows, stamps, []
    message = f"dropped {counted(int(wrong.sum()), 'sample')} with a time {where}"
    return rows[~wrong], stamps[~wrong], [Notice("clock-glitch", message)]


def _sorted(rows: Indices, stamps: Array) -> tuple[Indices, Array, list[Notice]]:
    """Sort lines that were written late.

    Raises
    ------
    LogFileError
        When too many stand far from their place: such a clock tells no time.
    """
    order = np.argsort(stamps, kind="stable")
    places = np.arange(order.size)
    far = np.abs(order - places) > SHUFFLED_ROWS
    backward = int(np.sum(np.diff(stamps) < 0.0))
    if backward > MOST_JUMPS and np.mean(far) > DISPLACED_SHARE:
        raise unsteady(backward)
    moved = int(np.sum(order != places))
    message = f"sorted {counted(moved, 'sample')} written out of order in time"
    return rows[order], stamps[order], [Notice("clock-sorted", message)] if moved else []


def _pauses_drawn(stamps: Array) -> tuple[Array, list[Notice]]:
    """Draw long pauses, between days that someone put into one file, as a logger's that was switched on again."""
    steps = np.diff(stamps)
    long = steps > LONGEST_PAUSE_S
    if not long.any():
        return stamps, []
    days = ", ".join(f"{step / DAY_S:.1f}" for step in steps[long])
    message = f"the log pauses for {days} days; drawn as {RESTART_GAP_S:g} s"
    shorter_steps = np.where(long, RESTART_GAP_S, steps)
    return np.append(stamps[0], stamps[0] + np.cumsum(shorter_steps)), [Notice("clock-set", message)]
