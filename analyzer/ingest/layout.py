"""The layout of a text table: its encoding, dialect, header, and where its data begin."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from analyzer.errors import LogFileError
from analyzer.ingest.cells import holds_values, kind_of, split_line
from analyzer.ingest.dialect import Dialect, find_dialect
from analyzer.ingest.encoding import find_encoding, is_text
from analyzer.ingest.header_row import find_heading

if TYPE_CHECKING:
    from collections.abc import Collection

    from analyzer.ingest.source import Source

WIDE_HEAD_BYTES: Final = 1 << 20
"""How far a head is read when its first lines are long (thousands of columns)."""

ENOUGH_LINES: Final = 30
"""Lines that show a dialect; a head with fewer is read further."""

MAX_COLUMNS: Final = 20_000
"""More columns than any logger writes: the file is something else."""

SAMPLE_ROWS: Final = 200
"""Rows kept to judge columns by."""

MAX_EXTRA_CELLS: Final = 64
"""Cells beyond the table's width that a damaged line may have to be looked at; lines with more are skipped."""

_LINE: Final = re.compile(r"[^\r\n]*(?:\r\n|\n|\r)")


@dataclass(frozen=True)
class Layout:
    """Where everything is in a text table.

    Attributes
    ----------
    encoding : str
        As Python calls it.
    dialect : Dialect
        Separator and decimal mark; its width covers the widest of header and rows.
    headers : tuple of str
        One a column; "column 3" where the file gives none.
    units : tuple of str
        The row of units, "" where there is none.
    has_header : bool
        Whether the headers are the file's own.
    data_line : int
        Line of the first row, from 1.
    data_offset : int
        Its place, in bytes.
    sample : tuple of tuple of str
        The first rows' cells.
    widest : int
        Cells in the widest of the first rows; more than the dialect's width where a line is damaged.
    """

    encoding: str
    dialect: Dialect
    headers: tuple[str, ...]
    units: tuple[str, ...]
    has_header: bool
    data_line: int
    data_offset: int
    sample: tuple[tuple[str, ...], ...]
    widest: int

    def column_sample(self, position: int) -> tuple[str, ...]:
        """The first filled cells of one column."""
        cells = (row[position] for row in self.sample if position < len(row))
        return tuple(cell for cell in cells if kind_of(cell) != "empty")


def find_layout(source: Source, mapped: Collection[str] = ()) -> Layout:
    """Find header and data in a text log.

    Parameters
    ----------
    source : Source
        The log.
    mapped : collection of str
        Headers that the user's column map names; a row that holds them is the header.

    Raises
    ------
    LogFileError
        When the bytes are no text, or hold no table of numbers.
    """
    if not is_text(source.head):
        raise LogFileError("is no text (binary data)", source=source.label, remedy="give a telemetry log, as text")
    encoding, mark_bytes = find_encoding(source.head)
    lines = _head_lines(source, encoding, mark_bytes)
    dialect = find_dialect(lines)
    if dialect is None:
        shown = next((line.strip() for line in lines if line.strip()), "")[:60]
        problem = f"no table of numbers found (it begins '{shown}')"
        raise LogFileError(problem, source=source.label, remedy="give a table with a header and rows of numbers")
    return _laid_out(lines, dialect, source, (encoding, mark_bytes), mapped)


def _head_lines(source: Source, encoding: str, mark_bytes: int) -> list[str]:
    """Read the first lines, complete and with their ends; more of them where they are long."""
    lines: list[str] = []
    for limit in (len(source.head), WIDE_HEAD_BYTES):
        head = source.head if limit == len(source.head) else source.read_head(limit)
        text = head[mark_bytes:].decode(encoding, errors="replace")
        lines = _LINE.findall(text)
        if source.size <= len(head):
            rest = text[sum(map(len, lines)) :]
            return [*lines, rest] if rest.strip() else lines
        if len(lines) >= ENOUGH_LINES:
            return lines
    if not lines:
        problem = f"its first line is longer than {WIDE_HEAD_BYTES} bytes"
        raise LogFileError(problem, source=source.label, remedy="give a table with line breaks")
    return lines


def _laid_out(
    lines: list[str], dialect: Dialect, source: Source, coding: tuple[str, int], mapped: Collection[str]
) -> Layout:
    heading = find_heading(lines, dialect, mapped)
    width = max(dialect.width, len(heading.headers))
    if width > MAX_COLUMNS:
        raise LogFileError(f"has {width} columns", source=source.label, remedy="give a telemetry log")
    first = heading.data_row
    if first == len(lines):
        shown = ", ".join(heading.headers[:8])
        raise LogFileError(
            f"no row of numbers under the header '{shown}'", source=source.label, remedy="give a log with data rows"
        )
    rows = [split_line(line.rstrip("\r\n"), dialect.separator) for line in lines[first : first + SAMPLE_ROWS]]
    return Layout(
        encoding=coding[0],
        dialect=replace(dialect, width=width),
        headers=tuple(name or f"column {i + 1}" for i, name in enumerate(_padded(heading.headers, width))),
        units=_padded(heading.units, width),
        has_header=bool(heading.headers),
        data_line=first + 1,
        data_offset=coding[1] + len("".join(lines[:first]).encode(coding[0], errors="replace")),
        sample=tuple(tuple(row) for row in rows if 1 < len(row) <= width and holds_values(row)),
        widest=max(width, len(rows[0]), *(min(len(row), width + MAX_EXTRA_CELLS) for row in rows)),
    )


def _padded(cells: tuple[str, ...], width: int) -> tuple[str, ...]:
    return (*cells, *[""] * (width - len(cells)))
