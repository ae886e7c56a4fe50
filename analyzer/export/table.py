"""A table of texts, made once and rendered on the terminal and in a report."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Final

from analyzer.errors import printable
from analyzer.export.display import ABSENT

NOTE_WIDTH: Final = 90
"""Notes under a table wrap here."""


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

    def without_empty_columns(self) -> Table:
        """Leave out the columns that say nothing; the notices say why they do."""
        return Table(self.title, tuple(column for column in self.columns if not column.is_empty), self.note)


def render_text(table: Table) -> str:
    """Align a table for the terminal: title, headings, units, rows, note; control characters are replaced."""
    has_titles = any(column.title for column in table.columns)
    has_units = any(column.unit for column in table.columns)
    columns = [_aligned(column, has_titles=has_titles, has_units=has_units) for column in table.columns]
    lines = [f"  {'  '.join(row)}".rstrip() for row in zip(*columns, strict=True)]
    note = textwrap.wrap(printable(table.note), NOTE_WIDTH, initial_indent="  ", subsequent_indent="  ")
    return "\n".join([table.title.upper(), *lines, *note])


def _aligned(column: Column, *, has_titles: bool, has_units: bool) -> list[str]:
    heading = [column.title] * has_titles + [column.unit] * has_units
    texts = [*heading, *(printable(cell) for cell in column.cells)]
    width = max(map(len, texts), default=0)
    return [text.rjust(width) if column.is_number else text.ljust(width) for text in texts]
