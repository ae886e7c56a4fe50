"""Wide tables: one row an instant, one column a channel; sparse where each sensor reports at its own rate."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, Literal, cast

import numpy as np

from analyzer.errors import LogFileError
from analyzer.ingest.arrangement import arrange
from analyzer.ingest.choice import Candidate
from analyzer.ingest.column_plan import no_time, plan_columns
from analyzer.ingest.convert import MAX_BAD_SHARE
from analyzer.ingest.meaning import UNIT_ONLY
from analyzer.ingest.observations import Column, Observations
from analyzer.ingest.raw_table import BadCells
from analyzer.ingest.table import read_table
from analyzer.ingest.time_axis import TimeColumn, choose_time, number_column
from analyzer.ingest.wording import counted, listed
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from analyzer.ingest.column_plan import ColumnPlan
    from analyzer.ingest.layout import Layout
    from analyzer.ingest.raw_table import RawTable
    from analyzer.ingest.source import Source
    from analyzer.ingest.stamps import ClockKind
    from analyzer.ingest.time_axis import TimeAxis


MAX_NO_DATA_SHARE: Final = 0.5
"""When more lines than this hold no data, the file is no table, or not this one."""


def read_wide(source: Source, layout: Layout, columns: Mapping[str, str]) -> Observations:
    """Read a wide table and put it in order of time.

    Raises
    ------
    ColumnMapError
        When the user's map does not fit the log.
    LogFileError
        When it holds no usable time, or no rows.
    """
    plan = plan_columns(layout, columns, source.label)
    raw = read_table(source, layout, plan.reading)
    axis = time_axis(layout, plan, raw, source.label)
    times = {i for i, role in plan.reading.roles.items() if role == "time"}
    numbers = {i: values for i, values in raw.numbers.items() if i not in times}
    order = arrange(axis, raw.repeated_headers, list(numbers.values()), source.label)
    return Observations(
        seconds=order.seconds,
        columns=tuple(_column(i, layout, plan, raw, order.numbers(values)) for i, values in _may_be(plan, numbers)),
        labels={layout.headers[i]: order.labels(raw.labels[i]) for i in _best_named_first(plan, raw)},
        cells={layout.headers[cell.position]: order.numbers(numbers[cell.position]) for cell in plan.cells},
        time_header=axis.header,
        started_at=axis.started_at(int(order.rows[0])),
        headers=layout.headers,
        notices=(*axis.notices, *table_notices(raw), *order.notices, *_ignored_notices(layout, plan)),
    )


def time_axis(layout: Layout, plan: ColumnPlan, raw: RawTable, source: str) -> TimeAxis:
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
        raise LogFileError(problem, source=source, where=where, remedy="give a table with a time in each row")
    columns = {i: _time_column(i, layout, plan, raw) for i, role in plan.reading.roles.items() if role == "time"}
    axis = choose_time([column for column in columns.values() if np.isfinite(column.seconds).any()])
    if axis is None:
        raise no_time(layout, source)
    for i, column in columns.items():
        bad = raw.bad[i]
        if column.header == axis.header and bad.count > MAX_BAD_SHARE * bad.filled:
            where = f"line {bad.first_line}, column '{column.header}'"
            problem = f"'{bad.first_text}' is no time ({bad.count} of {bad.filled} cells are not)"
            raise LogFileError(problem, source=source, where=where, remedy="correct the cells")
    return axis


def _time_column(position: int, layout: Layout, plan: ColumnPlan, raw: RawTable) -> TimeColumn:
    header, (meaning, *_) = layout.headers[position], plan.meanings[position]
    if position in raw.times:
        seconds, order = raw.times[position].finish()
        kind: ClockKind | Literal["date"]
        kind = "absolute" if raw.times[position].kind == "date-time" else cast("ClockKind", raw.times[position].kind)
        column = TimeColumn(header, seconds, kind, raw.times[position].zone_given, order != "unknown")
    else:
        column = number_column(header, raw.numbers[position], meaning.unit)
    guessed = meaning.sureness == UNIT_ONLY
    notices = (*column.notices, *((Notice("column-read", f"read '{header}' as time"),) if guessed else ()))
    return replace(column, explicit=position in plan.explicit, rank=meaning.rank, notices=notices)


def table_notices(raw: RawTable) -> list[Notice]:
    """What was found between the rows."""
    notices = []
    if raw.repeated_headers:
        notices.append(
            Notice("header-repeated", f"the header stands again {len(raw.repeated_headers)}x inside the data")
        )
    if raw.no_data.count:
        lost = raw.no_data
        first = f" (first: line {lost.first_line}, '{lost.first_text}')" if lost.first_line else ""
        notices.append(Notice("rows-dropped", f"dropped {counted(lost.count, 'line')} without data{first}"))
    if raw.cut_off:
        notices.append(Notice("log-cut-off", "the log stops in the middle of a row; the row was dropped"))
    return notices


def _may_be(plan: ColumnPlan, numbers: Mapping[int, NDArray[np.float64]]) -> list[tuple[int, NDArray[np.float64]]]:
    """Columns of numbers that may be channels; a column of pairs stands under its position and its complement."""
    return [(i, values) for i, values in numbers.items() if max(i, ~i) in plan.meanings]


def _column(i: int, layout: Layout, plan: ColumnPlan, raw: RawTable, values: NDArray[np.float64]) -> Column:
    position = max(i, ~i)
    meanings = plan.meanings[position]
    if plan.reading.roles[position] == "pair":
        meanings = meanings[:1] if i >= 0 else meanings[1:]
    candidate = Candidate(i, layout.headers[position], meanings, values, position in plan.explicit)
    return Column(candidate, raw.bad.get(position, BadCells()), raw.unit_texts.get(position, ""))


def _best_named_first(plan: ColumnPlan, raw: RawTable) -> list[int]:
    def merit(position: int) -> tuple[bool, int, int]:
        meaning = plan.meanings[position][0]
        return position not in plan.explicit, -meaning.sureness, meaning.rank

    return sorted(raw.labels, key=merit)


def _ignored_notices(layout: Layout, plan: ColumnPlan) -> list[Notice]:
    if not plan.ignored:
        return []
    headers = listed([layout.headers[i] for i in plan.ignored])
    return [Notice("column-ignored", f"not used: {headers}")]
