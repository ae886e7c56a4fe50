"""The column, or columns, that tell a log's time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal, cast

import numpy as np

from analyzer.constants import DAY_S
from analyzer.ingest.clocks.clock import LONGEST_STEP_S, packed_clock_s
from analyzer.ingest.columns.scale_factor import unit_of_steps
from analyzer.records import Notice
from analyzer.units import Unit, unit_of
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array


ClockKind = Literal["elapsed", "clock", "absolute"]
"""Seconds since the logger started; time of day; date and time (seconds since 1970-01-01)."""

EPOCH_S: Final = (1.0e9, 4.2e9)
"""Seconds since 1970 from 2001 to 2103: a number in this window is a date, not a duration of thirty years."""

SERIAL_DAYS: Final = (36_526.0, 73_050.0)
"""A spreadsheet's day numbers from 2000 to 2099."""

SERIAL_DAY_OF_EPOCH: Final = 25_569.0
"""1970-01-01 as a spreadsheet numbers days."""

LONGEST_MILLISECOND_STEP: Final = 10_000.0
"""A number that grows faster still counts microseconds."""

LONGEST_LOG_S: Final = 6.0 * 3600.0
"""A number of unsure unit that would then last longer counts milliseconds."""

SURE_STEP_S: Final = 2.0
"""Up to this step, seconds are plain."""

JUDGED_ROWS: Final = 100_000
"""Rows by which the unit of a column of numbers is told."""

SOUND_PERCENTILE: Final = 99.0
"""A few damaged lines make no whole time of one part of it."""

RUNNING_SHARE: Final = 0.9
"""A clock may be written out of order, or be set."""

CLEARLY_FINER: Final = 1.05
"""A column has to tell five per cent more samples apart to be preferred to one that is named better."""


@dataclass(frozen=True)
class TimeColumn:
    """One column that may tell the time.

    Attributes
    ----------
    header : str
        Its header.
    seconds : numpy.ndarray, shape (rows,)
        What it says; NaN where nothing.
    kind : str
        "elapsed", "clock", "absolute"; "date" for days alone.
    zone_given : bool
        Absolute times are UTC; else they are local time.
    date_sure : bool
        Day and month could be told apart.
    explicit : bool
        The user's column map names it.
    rank : tuple of int
        Lower is better named.
    notices : tuple of Notice
        How it was read.
    part : Unit, optional
        The unit that is all its header says: "Minute" may be one part of a time written over several columns.
    """

    header: str
    seconds: Array
    kind: ClockKind | Literal["date"]
    zone_given: bool = False
    date_sure: bool = True
    explicit: bool = False
    rank: tuple[int, ...] = ()
    notices: tuple[Notice, ...] = ()
    part: Unit | None = None


@dataclass(frozen=True)
class TimeAxis:
    """The time of each row of a table, before it is put in order.

    Attributes
    ----------
    seconds : numpy.ndarray, shape (rows,)
        NaN where a row has none.
    kind : str
        What they count.
    header : str
        Where they come from.
    calendar : TimeColumn, optional
        The column that tells the date; None where no column does.
    notices : tuple of Notice
        How they were read, and what else might have been.
    """

    seconds: Array
    kind: ClockKind
    header: str
    calendar: TimeColumn | None
    notices: tuple[Notice, ...]

    def started_at(self, row: int) -> datetime | None:
        """Wall-clock time of a row of the table; aware where the file says the zone."""
        if self.calendar is None or not np.isfinite(self.calendar.seconds[row]):
            return None
        since = timedelta(seconds=round(float(self.calendar.seconds[row]), 6))
        try:
            return datetime(1970, 1, 1, tzinfo=UTC if self.calendar.zone_given else None) + since
        except OverflowError:
            return None


def number_column(header: str, numbers: Array, unit: Unit | None, scaled: Sequence[Unit] = ()) -> TimeColumn:
    """Read a column of numbers as time.

    Parameters
    ----------
    header : str
        Its header.
    numbers : numpy.ndarray
        Its values.
    unit : Unit, optional
        The unit its header names; without one it is told from the numbers' size and usual step.
    scaled : sequence of Unit
        The units that a factor in its header leaves open.
    """
    there = numbers[:JUDGED_ROWS][np.isfinite(numbers[:JUDGED_ROWS])]
    size, step = float(np.median(np.abs(there))) if there.size else 0.0, usual_step(there)
    if epoch := _epoch_unit(size, unit):
        notice = Notice("time-epoch", f"read '{header}' as {epoch.symbol} since 1970-01-01 UTC")
        return TimeColumn(header, numbers * epoch.factor, "absolute", zone_given=True, notices=(notice,))
    unit = unit_of_steps(scaled, step) if scaled else unit
    if unit is not None:
        converted = Notice("column-read", f"read '{header}' as time, converted from {unit.symbol}")
        return TimeColumn(
            header, _in_seconds(numbers, unit), "elapsed", notices=() if unit.symbol == "s" else (converted,)
        )
    if SERIAL_DAYS[0] <= size <= SERIAL_DAYS[1] and 0.0 < step * DAY_S < LONGEST_STEP_S:
        notice = Notice("time-serial-day", f"read '{header}' as a spreadsheet's day numbers")
        return TimeColumn(header, (numbers - SERIAL_DAY_OF_EPOCH) * DAY_S, "absolute", notices=(notice,))
    if packed_clock_s(there) is not None and (clock := packed_clock_s(numbers)) is not None:
        notice = Notice(
            "unit-inferred", f"'{header}' has no unit: read as clock times, hhmmss (it jumps from 59 to 100)"
        )
        return TimeColumn(header, clock, "clock", notices=(notice,))
    guessed = unit_of(_running_unit(there, step), "time")
    message = f"'{header}' has no unit: read as time in {guessed.symbol} (its usual step is {step:g})"
    return TimeColumn(header, _in_seconds(numbers, guessed), "elapsed", notices=(Notice("unit-inferred", message),))


def _in_seconds(numbers: Array, unit: Unit) -> Array:
    return numbers if unit.factor == 1.0 else numbers * unit.factor


def usual_step(stamps: Array) -> float:
    """Median of the steps from one stamp to another, in their unit; 0 where there is none."""
    steps = np.abs(np.diff(stamps))
    steps = steps[steps > 0.0]
    return float(np.median(steps)) if steps.size else 0.0


def _epoch_unit(size: float, unit: Unit | None) -> Unit | None:
    """The unit in which numbers of this size are a date in our time."""
    units = (unit,) if unit is not None else tuple(unit_of(symbol, "time") for symbol in ("s", "ms", "us", "ns"))
    return next((one for one in units if EPOCH_S[0] <= size * one.factor <= EPOCH_S[1]), None)


def _running_unit(numbers: Array, step: float) -> str:
    """The unit of running time whose usual step is a telemetry's."""
    long = bool(numbers.size) and float(np.ptp(numbers)) > LONGEST_LOG_S
    if step > LONGEST_MILLISECOND_STEP:
        return "us"
    return "ms" if step >= LONGEST_STEP_S or (step > SURE_STEP_S and long) else "s"


def choose_time(columns: Sequence[TimeColumn]) -> TimeAxis | None:
    """Choose the column that tells most samples apart; of equals the better named one.

    A column of dates and one of clock times make one. None when no column tells the time.
    """
    columns = _parts_joined(columns)
    times = [column for column in columns if column.kind != "date"]
    order = sorted(times, key=lambda column: (not column.explicit, not _runs(column), column.rank))
    if not order:
        return None
    best, *others = order
    for column in others:
        if not best.explicit and _distinct(column) > CLEARLY_FINER * _distinct(best) and _runs(column):
            best = column
    date = next((column for column in columns if column.kind == "date"), None)
    kind, seconds, calendar = best.kind, best.seconds, best if best.kind == "absolute" else None
    if best.kind == "clock" and date is not None:
        calendar = replace(date, seconds=date.seconds + best.seconds)
        if date.date_sure and len(set(date.seconds[np.isfinite(date.seconds)])) > 1:
            kind, seconds = "absolute", calendar.seconds
    calendar = calendar or next((column for column in others if column.kind == "absolute"), None)
    notices = (*best.notices, *_calendar_notices(calendar), *_other_notices(best, order))
    calendar = calendar if calendar is not None and calendar.date_sure else None
    return TimeAxis(seconds, cast("ClockKind", kind), best.header, calendar, notices)


def _parts_joined(columns: Sequence[TimeColumn]) -> Sequence[TimeColumn]:
    """Put a time together that is written over several columns, as hour, minute and second are.

    They are parts when each but the largest stays below the next larger's unit; columns of the whole time in several
    units do not. A clock or a date in whole seconds is the part of a second's size, where none is named so.
    """
    open_ones = [column for column in columns if not column.explicit]
    sized = [(1.0, one) for one in open_ones if one.kind in ("clock", "absolute") and _in_whole_seconds(one)]
    parts = dict(sized[:1] + [(one.part.factor, one) for one in open_ones if one.part is not None])
    sizes = sorted(parts, reverse=True)
    bounded = all(float(np.nanpercentile(parts[s].seconds, SOUND_PERCENTILE)) < larger for larger, s in pairwise(sizes))
    if len(sizes) <= 1 or not bounded:
        return columns
    largest = parts[sizes[0]]
    names = listed([parts[size].header for size in sizes])
    joined = replace(
        largest,
        seconds=np.sum([column.seconds for column in parts.values()], axis=0),
        kind="clock" if sizes[0] == unit_of("h").factor else largest.kind,
        notices=(Notice("column-read", f"read {names} together as time"),),
    )
    return [joined, *(column for column in columns if all(column is not part for part in parts.values()))]


def _in_whole_seconds(column: TimeColumn) -> bool:
    there = column.seconds[np.isfinite(column.seconds)]
    return bool(np.all(there == np.floor(there)))


def _distinct(column: TimeColumn) -> int:
    return int(np.unique(column.seconds[np.isfinite(column.seconds)]).size)


def _runs(column: TimeColumn) -> bool:
    """Whether a column goes one way, as a clock does; an interval, or the time left, goes up and down."""
    steps = np.diff(column.seconds[np.isfinite(column.seconds)])
    forward, backward = int(np.sum(steps > 0.0)), int(np.sum(steps < 0.0))
    return max(forward, backward) >= RUNNING_SHARE * (forward + backward)


def _calendar_notices(calendar: TimeColumn | None) -> tuple[Notice, ...]:
    if calendar is None or calendar.date_sure:
        return ()
    message = f"the dates in '{calendar.header}' do not show which number is the day; the log's date is left open"
    return (Notice("date-ambiguous", message),)


def _other_notices(best: TimeColumn, order: Sequence[TimeColumn]) -> tuple[Notice, ...]:
    others = [column.header for column in order if column is not best]
    if not others or best.explicit:
        return ()
    message = f"time is read from '{best.header}', which tells most samples apart; not used: {listed(others)}"
    return (Notice("column-chosen", message),)
