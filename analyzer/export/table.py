"""A table of texts, made once and rendered on the terminal and in a report."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Final

from analyzer.display import ABSENT
from analyzer.errors import printable

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

WIDTH: Final = 80
"""Columns that every terminal has: a wider table is folded, running text is wrapped."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Attributes
    ----------
    title : str
        What stands above it.
    cells : tuple of str
        From top to bottom.
    unit : str
        Below the title.
    is_number : bool
        Numbers stand right-aligned.
    """

    title: str
    cells: tuple[str, ...]
    unit: str = ""
    is_number: bool = True

    @property
    def is_empty(self) -> bool:
        """Whether no cell says anything."""
        return all(cell in ("", ABSENT) for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of equal length under a title, with what must be said about them."""

    title: str
    columns: tuple[Column, ...]
    note: str = ""

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """The cells row by row."""
        return tuple(zip(*(column.cells for column in self.columns), strict=True))

    @property
    def keys(self) -> int:
        """How many columns at the left say what a row is about; they stay with whatever is read beside them."""
        first, *others = self.columns
        if first.title and first.is_number:
            return 1
        names = sum(1 for _ in takewhile(lambda column: not column.is_number, others))
        return max(1, min(1 + names, len(others)))

    @property
    def key(self) -> int:
        """The one column, from 1, that stays in sight where a narrow screen scrolls the others past it."""
        first, *others = self.columns
        return 2 if self.keys > 1 and not first.title and others[0].title else 1

    def without_empty_columns(self) -> Table:
        """Leave out the columns that say nothing; the notices say why they do. Where one is left, nothing is."""
        told = tuple(column for column in self.columns if not column.is_empty)
        return Table(self.title, told, self.note) if len(told) > 1 else Table("", ())


def render_text(table: Table) -> str:
    """Align a table for the terminal: title, headings, units, rows, note; control characters are replaced.

    Columns that find no room beside the others go below them, each time beside what a row is about.
    """
    has_titles = any(column.title for column in table.columns)
    has_units = any(column.unit for column in table.columns)
    columns = [_aligned(column, has_titles=has_titles, has_units=has_units) for column in table.columns]
    keys, others = columns[: table.keys], columns[table.keys :]
    blocks = ["\n".join(_lines(zip(*keys, *part, strict=True))) for part in _folded(keys, others)]
    note = textwrap.wrap(printable(table.note), WIDTH, initial_indent="  ", subsequent_indent="  ")
    return "\n".join([printable(table.title.upper()), "\n\n".join(blocks), *note])


def _folded(keys: Sequence[list[str]], others: Sequence[list[str]]) -> list[list[list[str]]]:
    """The columns beside the keys, in as few parts as the width allows, and these as even as they can be."""
    room = WIDTH - sum(_width(column) for column in keys)
    parts, widest = _filled(others, room), max(map(_width, others), default=0)
    while room > widest and len(evener := _filled(others, room - 1)) == len(parts):
        parts, room = evener, room - 1
    return parts


def _filled(columns: Sequence[list[str]], room: int) -> list[list[list[str]]]:
    """Columns one after another, a new part where there is no more room; at least one in each."""
    parts: list[list[list[str]]] = [[]]
    for column in columns:
        if parts[-1] and sum(map(_width, parts[-1])) + _width(column) > room:
            parts.append([])
        parts[-1].append(column)
    return parts


def _width(column: list[str]) -> int:
    """Columns of the terminal that one of ours takes, with the gap before it."""
    return len(column[0]) + 2


def _lines(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Rows of cells as lines; one of blanks alone, as of units where no column has one, is left out."""
    lines = (f"  {'  '.join(cells)}".rstrip() for cells in rows)
    return [line for line in lines if line]


def _aligned(column: Column, *, has_titles: bool, has_units: bool) -> list[str]:
    heading = [column.title] * has_titles + [column.unit] * has_units
    texts = [printable(text) for text in (*heading, *column.cells)]
    width = max(map(len, texts), default=0)
    return [text.rjust(width) if column.is_number else text.ljust(width) for text in texts]
