"""Reading a long table: one value a row, with its time, the name of its channel and sometimes its unit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analyzer.errors import printable
from analyzer.ingest.clocks.stamps import OrderedStamps, order_stamps
from analyzer.ingest.clocks.table_time import time_axis
from analyzer.ingest.clocks.timeline import settle_repeats
from analyzer.ingest.columns.column_map import resolve_map
from analyzer.ingest.columns.column_plan import mapped_meanings, no_time, plan_columns
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.observations import Candidate, Observations, unused
from analyzer.ingest.text.labels import Labels
from analyzer.ingest.text.long_table import pivot
from analyzer.ingest.text.raw_table import MAX_SHOWN, BadCells, Plan
from analyzer.ingest.text.table import read_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from analyzer.arrays import Array, Indices
    from analyzer.ingest.clocks.time_axis import TimeAxis
    from analyzer.ingest.columns.column_map import Target
    from analyzer.ingest.columns.column_plan import ColumnPlan
    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.source import Source
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.long_table import LongColumns, Pivot
    from analyzer.ingest.text.raw_table import RawTable, Role


@dataclass(frozen=True, eq=False)
class _Rows:
    """The rows of a long table that have a time and a name, in order of time, and how they are gathered.

    `places` are their places in the file.
    """

    gathered: Pivot
    values: Array
    texts: Labels
    units: Labels | None
    places: Indices

    def unit(self, code: int) -> str:
        """The unit that a channel's rows give first."""
        if self.units is None:
            return ""
        given = self.units.codes[self.gathered.of(code)]
        given = given[given >= 0]
        return self.units.words[given[0]] if given.size else ""


def read_long(source: Source, layout: Layout, where: LongColumns, columns: Mapping[str, str]) -> Observations:
    """Read a long table and put it in order of time, a column a channel.

    The user's map may name the table's own headers (for the time) and the names of channels.

    Raises
    ------
    ColumnMapError
        When the user's map does not fit the log.
    LogFileError
        When it holds no usable time, or no rows.
    """
    own = {header: text for header, text in columns.items() if header in layout.headers}
    plan = _only_times(plan_columns(layout, own), where)
    if plan.row_interval_s:  # a row is one value, not one instant
        raise no_time(layout)
    raw = read_table(source, layout, plan.reading)
    axis = time_axis(layout, plan, raw)
    if where.owner >= 0:
        raw.labels[where.name] = raw.labels[where.name].behind(raw.labels[where.owner])
    codes, names = raw.labels[where.name].codes, raw.labels[where.name].words
    seconds = axis.seconds if (codes >= 0).all() else np.where(codes >= 0, axis.seconds, np.nan)
    ordered = _ordered(seconds, codes, axis)
    rows = _rows(raw, where, ordered)
    gathered = rows.gathered
    targets = resolve_map({h: text for h, text in columns.items() if h not in own}, names)
    channels = _channels(names, rows, targets)
    left = [name for c, name in enumerate(names) if c not in channels and c not in targets]
    numbers = {c: gathered.column(c, rows.values) for c, found in channels.items() if not _is_label(found)}
    order = settle_repeats(ordered.seconds[gathered.first_rows], list(numbers.values()))
    return Observations(
        seconds=order.seconds,
        columns=tuple(
            Candidate(
                c, names[c], channels[c], order.numbers(column), c in targets, _bad_values(rows, c, layout.data_line)
            )
            for c, column in numbers.items()
        ),
        labels={names[c]: order.labels(_spread(rows, c)) for c, found in channels.items() if _is_label(found)},
        cells={},
        time_header=axis.header,
        started_at=axis.started_at(int(ordered.rows[0])),
        headers=tuple(names),
        notices=(*axis.notices, *raw.notices(), *ordered.notices, *order.notices, *unused(left)),
    )


def _only_times(plan: ColumnPlan, where: LongColumns) -> ColumnPlan:
    """Of the table's own columns only those of time have meanings; name, value and unit are read as such."""
    times = {i: meaning for i, meaning in plan.meanings.items() if plan.reading.roles.get(i) == "time"}
    roles: dict[int, Role] = {**dict.fromkeys(times, "time"), where.name: "label", where.value: "mixed"}
    roles |= dict.fromkeys((i for i in (where.unit, where.owner) if i >= 0), "label")
    return replace(
        plan, meanings=times, ignored=(), cells=(), hemispheres={}, reading=Plan(roles, plan.reading.time_kinds)
    )


def _ordered(seconds: Array, codes: NDArray[np.int32], axis: TimeAxis) -> OrderedStamps:
    """Put rows in order of time; a table written channel by channel, each from start to end, is only sorted."""
    rows = np.flatnonzero(np.isfinite(seconds))
    blocks = np.flatnonzero(np.diff(codes[rows]) != 0) + 1
    one_block_each = 0 < blocks.size < np.unique(codes[rows]).size
    if one_block_each and all(bool(np.all(np.diff(seconds[block]) >= 0.0)) for block in np.split(rows, blocks)):
        rows = rows[np.argsort(seconds[rows], kind="stable")]
        return OrderedStamps(rows, seconds[rows], ())
    return order_stamps(seconds, axis.kind)


def _rows(raw: RawTable, where: LongColumns, ordered: OrderedStamps) -> _Rows:
    """Bring the rows in order."""
    rows = ordered.selection(raw.rows)
    units = raw.labels.get(where.unit if where.unit >= 0 else ~where.value)
    return _Rows(
        gathered=pivot(ordered.seconds, raw.labels[where.name].codes[rows], len(raw.labels[where.name].words)),
        values=raw.numbers[where.value][rows],
        texts=raw.labels[where.value].taken(rows),
        units=units.taken(rows) if units is not None else None,
        places=ordered.rows,
    )


def _channels(names: Sequence[str], rows: _Rows, targets: Mapping[int, Target]) -> dict[int, tuple[Meaning, ...]]:
    """What each name may mean."""
    found = {}
    for code, name in enumerate(names):
        unit = rows.unit(code)
        found[code] = mapped_meanings(targets[code], name, unit) if code in targets else meanings(name, unit)
    return {code: meaning for code, meaning in found.items() if meaning}


def _is_label(found: tuple[Meaning, ...]) -> bool:
    return found[0].channel.kind == "label"


def _bad_values(rows: _Rows, code: int, data_line: int) -> BadCells:
    """Values of a channel that are no numbers."""
    mine = rows.gathered.of(code)
    texts = rows.texts.codes[mine]
    bad = texts >= 0
    filled = int(np.isfinite(rows.values[mine]).sum() + bad.sum())
    if not bad.any():
        return BadCells(filled=filled)
    first = int(bad.argmax())
    text = printable(rows.texts.words[texts[first]][:MAX_SHOWN])
    return BadCells(int(bad.sum()), filled, data_line + int(rows.places[mine[first]]), text)


def _spread(rows: _Rows, code: int) -> Labels:
    """Words of one channel by row of the wide table; numbers of modes as they would be written."""
    mine = rows.gathered.of(code)
    codes, values = rows.texts.codes[mine], rows.values[mine]
    numbered = np.flatnonzero((codes < 0) & np.isfinite(values))
    numbers, places = np.unique(values[numbered], return_inverse=True)
    codes[numbered] = len(rows.texts.words) + places
    column = np.full(rows.gathered.first_rows.size, -1, dtype=np.int32)
    column[rows.gathered.targets[mine]] = codes
    return Labels(column, (*rows.texts.words, *(f"{number:g}" for number in numbers)))
