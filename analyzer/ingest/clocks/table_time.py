"""The time of each row of a table as read, wide or long."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, Literal, cast

import numpy as np

from analyzer.constants import DAY_S
from analyzer.errors import LogFileError
from analyzer.ingest.clocks.time_axis import TimeAxis, TimeColumn, choose_time, number_column
from analyzer.ingest.columns import words
from analyzer.ingest.columns.column_map import map_option
from analyzer.ingest.columns.column_plan import no_time
from analyzer.ingest.columns.convert import MAX_BAD_SHARE
from analyzer.ingest.columns.headers import words_of
from analyzer.ingest.columns.meaning import UNIT_ONLY
from analyzer.records import Notice
from analyzer.units import find_units, parse_units

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.ingest.clocks.time_axis import ClockKind
    from analyzer.ingest.columns.column_plan import ColumnPlan
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.raw_table import RawTable

MOST_ROWS_A_SECOND: Final = 250.0
"""Ten sensors at 20 Hz, each on rows of its own, make 200."""

LONGEST_UPTIME_S: Final = 10.0 * 365.0 * DAY_S
"""No logger has run for longer: what would have counts from some day, in some unit."""

FEWEST_JUDGED_ROWS: Final = 100
"""A shorter log may be one burst."""

MAX_NO_DATA_SHARE: Final = 0.5
"""When more lines than this hold no data, the file is no table, or not this one."""


def time_axis(layout: Layout, plan: ColumnPlan, raw: RawTable) -> TimeAxis:
    """Tell the time of each row.

    Raises
    ------
    LogFileError
        When the column of times, or most lines of the file, hold something else.
    """
    lost = raw.no_data
    if lost.count > MAX_NO_DATA_SHARE * max(1, raw.lines):
        where = f"line {lost.first_line}" if lost.first_line else ""
        problem = f"{lost.count} of {raw.lines} lines hold no data (first: '{lost.first_text}')"
        raise LogFileError(problem, where=where, remedy="give a table with a time in each row")
    if plan.row_interval_s:
        return _by_rows(plan.row_interval_s, raw)
    columns = {i: _time_column(i, layout, plan, raw) for i, role in plan.reading.roles.items() if role == "time"}
    axis = choose_time([column for column in columns.values() if np.isfinite(column.seconds).any()])
    if axis is None:
        raise no_time(layout)
    for i, column in columns.items():
        bad = raw.bad[i]
        if column.header == axis.header and bad.count > MAX_BAD_SHARE * bad.filled:
            where = f"line {bad.first_line}, column '{column.header}'"
            problem = f"'{bad.first_text}' is no time ({bad.count} of {bad.filled} cells are not)"
            raise LogFileError(problem, where=where, remedy="correct the cells")
    _check_guessed_unit(axis)
    return axis


def _by_rows(interval_s: float, raw: RawTable) -> TimeAxis:
    """Count the rows that hold a value."""
    filled = np.zeros(raw.rows, dtype=bool)
    for values in raw.numbers.values():
        filled |= np.isfinite(values)
    message = f"no column of times: a row every {interval_s:g} s, as the lines above the table say"
    seconds = np.where(filled, interval_s * (np.cumsum(filled) - 1), np.nan)
    return TimeAxis(seconds, "elapsed", "count of rows", None, (Notice("time-from-rate", message),))


def _check_guessed_unit(axis: TimeAxis) -> None:
    """Refuse a guess under which rows come faster than telemetry does, and ticks, which may last anything.

    Raises
    ------
    LogFileError
        When a time without a unit would hold too many rows a second (it counts days, hours or minutes in fractions), or
        counts ticks.
    """
    guessed = axis.kind == "elapsed" and any(notice.code == "unit-inferred" for notice in axis.notices)
    if guessed and not words.TICKS.isdisjoint(words_of(axis.header)):
        problem = f"'{axis.header}' does not say how long a tick is"
        remedy = f"give its length with {map_option(axis.header, 'time_s [10 ms]')}"
        raise LogFileError(problem, remedy=remedy)
    there = axis.seconds[np.isfinite(axis.seconds)] if guessed else axis.seconds[:0]
    if there.size and float(np.median(there)) > LONGEST_UPTIME_S:
        problem = f"'{axis.header}' has no unit, and counts from no day and in no unit known here"
        remedy = f"say what it counts, for instance with {map_option(axis.header, 'time_s [0.1 us]')}"
        raise LogFileError(problem, remedy=remedy)
    span_s = float(np.ptp(there)) if there.size > FEWEST_JUDGED_ROWS else 0.0
    if span_s > 0.0 and there.size > MOST_ROWS_A_SECOND * span_s:
        problem = f"'{axis.header}' has no unit, and in seconds {there.size / span_s:.0f} rows would fall into each"
        remedy = f"say what it counts with {map_option(axis.header, 'time_s [min]')} (or h, day, s)"
        raise LogFileError(problem, remedy=remedy)


def _time_column(position: int, layout: Layout, plan: ColumnPlan, raw: RawTable) -> TimeColumn:
    header, (meaning, *_) = layout.headers[position], plan.meanings[position]
    if position in raw.times:
        seconds, order = raw.times[position].finish()
        kind: ClockKind | Literal["date"]
        kind = "absolute" if raw.times[position].kind == "date-time" else cast("ClockKind", raw.times[position].kind)
        column = TimeColumn(header, seconds, kind, raw.times[position].zone_given, order != "unknown")
        if raw.times[position].two_parts:
            column = replace(column, notices=(_two_parts(header, seconds),))
        elif raw.times[position].in_thousandths:
            message = f"what stands behind the seconds in '{header}' counts milliseconds: it has no zeros before it"
            column = replace(column, notices=(Notice("unit-inferred", message),))
    else:
        in_cells = (unit for unit in parse_units(raw.unit_texts.get(position, "")) if unit.dimension == "time")
        column = number_column(header, raw.numbers[position], meaning.unit or next(in_cells, None), meaning.scaled)
        column = replace(column, part=meaning.unit if find_units(header) else None)
    guessed = meaning.sureness == UNIT_ONLY and not column.notices
    notices = (*column.notices, *((Notice("column-read", f"read '{header}' as time"),) if guessed else ()))
    rank = (-meaning.sureness, meaning.rank)
    return replace(column, explicit=position in plan.explicit, rank=rank, notices=notices)


def _two_parts(header: str, seconds: Array) -> Notice:
    """Say how a clock of two parts was read."""
    minutes = not np.any(seconds[np.isfinite(seconds)] % 60.0)
    read_as = "hours and minutes (its rows would come too fast else)" if minutes else "minutes and seconds"
    return Notice("unit-inferred", f"'{header}' has two parts: read as {read_as}")
