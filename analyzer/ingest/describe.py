"""What each column of a log would be read as, and what else it may be: for a person who maps columns by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.columns.choice import choose
from analyzer.ingest.columns.column_plan import column_meanings
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.columns.unit_guess import guess_unit
from analyzer.ingest.observations import Candidate
from analyzer.ingest.text.layout import lay_out
from analyzer.ingest.text.long_table import find_long
from analyzer.ingest.text.numbers import parse_number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.source import Source
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.long_table import LongColumns

SAMPLE_CELLS: Final = 5
"""Cells shown of each column."""


@dataclass(frozen=True, slots=True)
class ColumnDescription:
    """One column, for the eye.

    Attributes
    ----------
    header : str
        As the column map names it.
    sample : tuple of str
        Its first filled cells.
    channel : str, optional
        The channel proposed; None where the column would not be used.
    unit : str, optional
        The unit proposed; None where none applies or none is known.
    alternatives : tuple of str
        Further channels that it may be.
    """

    header: str
    sample: tuple[str, ...]
    channel: str | None
    unit: str | None
    alternatives: tuple[str, ...]


def describe_table(source: Source) -> tuple[ColumnDescription, ...]:
    """Describe the columns of a text table from its first rows.

    Parameters
    ----------
    source : Source
        The log.

    Raises
    ------
    LogFileError
        When it is no table at all; a table without time or altitude is described all the same.
    """
    _, layout = lay_out(source)
    long = find_long(layout)
    columns = _wide_columns(layout) if long is None else _long_columns(layout, long)
    rows = max((len(sample) for _, sample, _ in columns), default=0)
    candidates = [
        Candidate(i, header, found, _numbers(sample, layout.dialect.decimal, rows))
        for i, (header, sample, found) in enumerate(columns)
        if found and found[0].channel.kind not in ("time", "label")
    ]
    chosen = {one.position: one for one in choose(candidates, _rows(rows)).chosen}
    return tuple(_described(header, sample, found, chosen.get(i)) for i, (header, sample, found) in enumerate(columns))


_Columns = list[tuple[str, tuple[str, ...], "tuple[Meaning, ...]"]]


def _wide_columns(layout: Layout) -> _Columns:
    return [(header, layout.column_sample(i), column_meanings(layout, i)) for i, header in enumerate(layout.headers)]


def _long_columns(layout: Layout, where: LongColumns) -> _Columns:
    """The table's own columns of time, and the names that its first rows hold."""
    columns: _Columns = []
    for i, header in enumerate(layout.headers):
        if i not in (where.name, where.value, where.unit, where.owner):
            columns.append((header, layout.column_sample(i), column_meanings(layout, i)))
    named: dict[str, list[tuple[str, ...]]] = {}
    for row in layout.sample:
        if len(row) > max(where.name, where.owner) and row[where.name]:
            owner = f"{row[where.owner]} " if where.owner >= 0 else ""
            named.setdefault(f"{owner}{row[where.name]}", []).append(row)
    for name, found in named.items():
        rows = [row for row in found if len(row) > where.value]
        unit = rows[0][where.unit] if rows and 0 <= where.unit < len(rows[0]) else ""
        columns.append((name, tuple(row[where.value] for row in rows), meanings(name, unit)))
    return columns


def _numbers(sample: Sequence[str], decimal: str, rows: int) -> Array:
    values = np.full(rows, np.nan)
    values[: len(sample)] = [parse_number(cell, decimal)[0] for cell in sample]
    return values


def _rows(count: int) -> Array:
    """The number of each row, for its time: that of so few rows shows little, and is not read."""
    return np.arange(count, dtype=np.float64)


def _described(
    header: str, sample: tuple[str, ...], found: tuple[Meaning, ...], chosen: Candidate | None
) -> ColumnDescription:
    """Put what was found for a column in one record; labels and times need no choosing."""
    meaning = chosen.meaning if chosen is not None else None
    if meaning is None and found and found[0].channel.kind in ("time", "label"):
        meaning = found[0]
    others = tuple(one.channel.name for one in found if meaning is None or one.channel != meaning.channel)
    unit = meaning.unit if meaning is not None else None
    if unit is None and chosen is not None:
        guess = guess_unit(chosen.meaning.channel, chosen.values, _rows(chosen.values.size))
        unit = guess.unit if guess is not None else None
    return ColumnDescription(
        header, sample[:SAMPLE_CELLS], meaning.channel.name if meaning else None, unit.symbol if unit else None, others
    )
