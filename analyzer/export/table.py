"""A table of texts, made once and rendered on the terminal and in a report."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING, Final

from analyzer.errors import printable
from analyzer.export.display import ABSENT

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
        """Leave out the columns that say nothing; the notices say why they do."""
        return Table(self.title, tuple(column for column in self.columns if not column.is_empty), self.note)


def render_text(table: Table) -> str:
    """Align a table for the terminal: title, headings, units, rows, note; control characters are replaced.

    Columns that find no room beside the others go below them, each time beside what a row is about.
    """
    has_titles = any(column.title for column in table.columns)
    has_units = any(column.unit for column in table.columns)
    columns = [_aligned(column, has_titles=has_titles, has_units=has_units) for column in table.columns]
    keys, others = columns[: table.keys], columns[table.keys :]
    blocks = ["\n".join(_line(row) for row in zip(*keys, *part, strict=True)) for part in _folded(keys, others)]
    note = textwrap.wrap(printable(table.note), WIDTH, initial_indent="  ", subsequent_indent="  ")
    return "\n".join([table.title.upper(), "\n\n".join(blocks), *note])


def _folded(keys: Sequence[list[str]], others: Sequence[list[str]]) -> Iterator[list[list[str]]]:
    """The columns beside the keys, as many at a time as the width holds; at least one."""
    taken = sum(len(column[0]) + 2 for column in keys)
    part: list[list[str]] = []
    room = WIDTH - taken
    for column in others:
        if part and len(column[0]) + 2 > room:
            yield part
            part, room = [], WIDTH - taken
        part.append(column)
        room -= len(column[0]) + 2
    yield part


def _line(cells: Sequence[str]) -> str:
    return f"  {'  '.join(cells)}".rstrip()


def _aligned(column: Column, *, has_titles: bool, has_units: bool) -> list[str]:
    heading = [column.title] * has_titles + [column.unit] * has_units
    texts = [*heading, *(printable(cell) for cell in column.cells)]
    width = max(map(len, texts), default=0)
    return [text.rjust(width) if column.is_number else text.ljust(width) for text in texts]
