"""Wide tables: one row an instant, one column a channel; sparse where each sensor reports at its own rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.ingest.clocks.table_time import time_axis
from analyzer.ingest.clocks.timeline import arrange
from analyzer.ingest.columns.column_plan import plan_columns
from analyzer.ingest.observations import Candidate, Observations, unused
from analyzer.ingest.text.coordinates import signed
from analyzer.ingest.text.table import read_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.arrays import Array
    from analyzer.ingest.columns.column_plan import ColumnPlan
    from analyzer.ingest.source import Source
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.raw_table import RawTable


def read_wide(source: Source, layout: Layout, columns: Mapping[str, str]) -> Observations:
    """Read a wide table and put it in order of time.

    Raises
    ------
    ColumnMapError
        When the user's map does not fit the log.
    LogFileError
        When it holds no usable time, or no rows.
    """
    plan = plan_columns(layout, columns)
    raw = read_table(source, layout, plan.reading)
    axis = time_axis(layout, plan, raw)
    times = {i for i, role in plan.reading.roles.items() if role == "time"}
    numbers = {i: values for i, values in raw.numbers.items() if i not in times}
    numbers |= {i: signed(raw.numbers[i], raw.labels[letters]) for letters, i in plan.hemispheres.items()}
    order = arrange(axis, list(numbers.values()))
    return Observations(
        seconds=order.seconds,
        columns=tuple(_column(i, layout, plan, raw, order.numbers(values)) for i, values in _may_be(plan, numbers)),
        labels={layout.headers[i]: order.labels(raw.labels[i]) for i in _best_named_first(plan, raw)},
        cells={layout.headers[i]: order.numbers(numbers[i]) for i in plan.cells},
        time_header=axis.header,
        started_at=axis.started_at(order.first_row),
        headers=layout.headers,
        notices=(*axis.notices, *raw.notices(), *order.notices, *unused([layout.headers[i] for i in plan.ignored])),
    )


def _may_be(plan: ColumnPlan, numbers: Mapping[int, Array]) -> list[tuple[int, Array]]:
    """Columns of numbers that may be channels; a column of pairs stands under its position and its complement."""
    return [(i, values) for i, values in numbers.items() if max(i, ~i) in plan.meanings]


def _column(i: int, layout: Layout, plan: ColumnPlan, raw: RawTable, values: Array) -> Candidate:
    position = max(i, ~i)
    meanings = plan.meanings[position]
    if plan.reading.roles[position] == "pair":
        meanings = meanings[:1] if i >= 0 else meanings[1:]
    return Candidate(
        i,
        layout.headers[position],
        meanings,
        values,
        explicit=position in plan.explicit,
        bad=raw.bad[position],
        cell_unit=raw.unit_texts.get(position, ""),
    )


def _best_named_first(plan: ColumnPlan, raw: RawTable) -> list[int]:
    def merit(position: int) -> tuple[bool, int, int]:
        meaning = plan.meanings[position][0]
        return position not in plan.explicit, -meaning.sureness, meaning.rank

    return sorted((i for i in raw.labels if i in plan.meanings), key=merit)
