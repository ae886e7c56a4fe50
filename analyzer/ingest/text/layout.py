"""The layout of a text table: its encoding, dialect, header, and where its data begin."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING, Final

from analyzer.errors import LogFileError, printable
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.text.aligned import cut_at_columns
from analyzer.ingest.text.cells import holds_values, kind_of, split_line, without_guards
from analyzer.ingest.text.dialect import Dialect, find_dialect
from analyzer.ingest.text.encoding import OTHER_CODE_PAGES, WESTERN, find_encoding, is_text
from analyzer.ingest.text.header_row import find_heading
from analyzer.ingest.text.pairs import as_table
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from analyzer.ingest.source import Source

WIDE_HEAD_BYTES: Final = 1 << 20
"""How far a head is read when its first lines are long (thousands of columns)."""

ENOUGH_LINES: Final = 30
"""Lines that show a dialect; a head with fewer is read further."""

MAX_COLUMNS: Final = 20_000
"""More columns than any logger writes: the file is something else."""

SAMPLE_ROWS: Final = 200
"""Rows kept to judge columns by."""

MIN_TERMS: Final = 2
"""So many words of channels in one line are a header."""

HEADING_LINES: Final = 30
"""Lines among which the header is looked for that tells one code page from the other."""

MAX_EXTRA_CELLS: Final = 64
"""Cells beyond the table's width that a damaged line may have to be looked at; lines with more are skipped."""

MAX_ROW_LINES: Final = 64
"""A row of headers with line breaks in its cells has no more lines."""

_LINE_END: Final = re.compile(r"\r\n|\n|\r")
_LINE_BREAK: Final = re.compile(r"\s*[\r\n]+\s*")
_OPEN_QUOTE: Final = re.compile(r'(?:^|[,;\t|])[ ]*"[^"]*\Z')


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
        One a column, all different: "column 3" where the file gives none, "Temp (column 3)" where it repeats one.
    names : tuple of str
        The headers as written.
    units : tuple of str
        The row of units, "" where there is none.
    data_line : int
        Line of the first row, from 1.
    data_offset : int
        Its place, in bytes.
    sample : tuple of tuple of str
        The first rows' cells.
    widest : int
        Cells in the widest of the first rows; more than the dialect's width where a line is damaged.
    preamble : tuple of str
        The lines above the data.
    """

    encoding: str
    dialect: Dialect
    headers: tuple[str, ...]
    names: tuple[str, ...]
    units: tuple[str, ...]
    data_line: int
    data_offset: int
    sample: tuple[tuple[str, ...], ...]
    widest: int
    preamble: tuple[str, ...] = ()

    def column_sample(self, position: int) -> tuple[str, ...]:
        """The first filled cells of one column."""
        return self._samples[position]

    @cached_property
    def _samples(self) -> list[tuple[str, ...]]:
        columns = zip_longest(*self.sample, [""] * len(self.headers), fillvalue="")
        return [tuple(cell for cell in column if kind_of(cell) != "empty") for column in columns]


def lay_out(source: Source, mapped: Collection[str] = ()) -> tuple[Source, Layout]:
    """Find header and data in a text log, which is made a plain table first where it is pairs, or cells by place.

    Parameters and errors as for `find_layout`.

    Returns
    -------
    table : Source
        The log, or the table made of it.
    layout : Layout
        Of the table; its lines are counted as in the log.
    """
    table = as_table(source)
    if table is None:
        source = cut_at_columns(without_guards(source))
        return source, find_layout(source, mapped)
    layout = find_layout(table, mapped)
    return table, replace(layout, data_line=layout.data_line - 1)


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
        raise LogFileError("is no text (binary data)", remedy="give a telemetry log, as text")
    encoding, mark_bytes = find_encoding(source.head)
    lines = _whole_rows(_head_lines(source, encoding, mark_bytes))
    for page in OTHER_CODE_PAGES if encoding == WESTERN else ():
        other = _whole_rows(_head_lines(source, page, mark_bytes))
        if _terms(other) > _terms(lines):
            encoding, lines = page, other
    if any(line.count(separator) >= MAX_COLUMNS for line in lines[-1:] for separator in ",;\t|"):
        raise LogFileError(f"has more than {MAX_COLUMNS} columns", remedy="give a telemetry log")
    dialect = find_dialect(lines)
    if dialect is None:
        raise _no_table(lines)
    return _laid_out(lines, dialect, (encoding, mark_bytes), mapped)


def _terms(lines: Sequence[str]) -> int:
    """Count the cells above the data that name a channel."""
    cells = (cell for line in lines[:HEADING_LINES] for cell in re.split(r"[,;\t|]", line))
    return sum(bool(meanings(cell)) for cell in cells)


def _no_table(lines: Sequence[str]) -> LogFileError:
    """Say that there are no rows of numbers, and whether there is a header at least."""
    rows = ((i, split_line(line, separator)) for i, line in enumerate(lines) for separator in ";\t,|")
    at, header = next(((i, row) for i, row in rows if sum(bool(meanings(cell)) for cell in row) >= MIN_TERMS), (-1, []))
    shown = printable(next((line.strip() for line in lines[at + 1 :] if line.strip()), "")[:60])
    if not header:
        problem = f"no table of numbers found (it begins '{shown}')"
        return LogFileError(problem, remedy="give a table with a header and rows of numbers")
    below = f" (below it stands '{shown}')" if shown else ""
    problem = f"no row of numbers under the header {printable(listed(header))}{below}"
    return LogFileError(problem, remedy="give a log with rows of plain numbers")


def _head_lines(source: Source, encoding: str, mark_bytes: int) -> list[str]:
    """Read the first lines, complete and with their ends; more of them where they are long."""
    lines: list[str] = []
    for limit in (len(source.head), WIDE_HEAD_BYTES):
        head = source.head if limit == len(source.head) else source.read_head(limit)
        text = head[mark_bytes:].decode(encoding, errors="replace")
        ends = [0, *(match.end() for match in _LINE_END.finditer(text))]
        lines = [text[start:end] for start, end in pairwise(ends)]
        if source.size <= len(head):
            rest = text[ends[-1] :]
            return [*lines, rest] if rest.strip() else lines
        if len(lines) >= ENOUGH_LINES:
            return lines
    if not lines:
        problem = f"its first line is longer than {WIDE_HEAD_BYTES} bytes"
        raise LogFileError(problem, remedy="give a table with line breaks")
    return lines


def _whole_rows(lines: list[str]) -> list[str]:
    """Join the lines of a row in which a quoted cell holds line breaks, as headers of spreadsheets do.

    A quote that stays open for long is a stray one, and joins nothing.
    """
    if not any('"' in line for line in lines):
        return lines
    rows: list[str] = []
    start = 0
    while start < len(lines):
        row, count = lines[start], 1
        while _OPEN_QUOTE.search(row) and count < MAX_ROW_LINES and start + count < len(lines):
            row, count = row + lines[start + count], count + 1
        if count > 1 and _OPEN_QUOTE.search(row):
            row, count = lines[start], 1
        rows.append(row)
        start += count
    return rows


def _laid_out(lines: list[str], dialect: Dialect, coding: tuple[str, int], mapped: Collection[str]) -> Layout:
    heading = find_heading(lines, dialect, mapped)
    width = max(dialect.width, len(heading.headers))
    first = heading.data_row
    if first == len(lines):
        raise _no_table(lines)
    if heading.headers and dialect.width > len(heading.headers):
        _check_unheaded(lines[first:], len(heading.headers), dialect, first + 1)
    rows = [split_line(line.rstrip("\r\n"), dialect.separator) for line in lines[first : first + SAMPLE_ROWS]]
    names = _padded(tuple(printable(_LINE_BREAK.sub(" ", name)) for name in heading.headers), width)
    return Layout(
        encoding=coding[0],
        dialect=replace(dialect, width=width),
        headers=tuple(_different(names)),
        names=names,
        units=_padded(heading.units, width),
        data_line=sum(len(_LINE_END.findall(line)) for line in lines[:first]) + 1,
        data_offset=coding[1] + len("".join(lines[:first]).encode(coding[0], errors="replace")),
        sample=tuple(tuple(row) for row in rows if 1 < len(row) <= width and holds_values(row)),
        widest=max(width, len(rows[0]), *(min(len(row), width + MAX_EXTRA_CELLS) for row in rows)),
        preamble=tuple(lines[:first]),
    )


def _check_unheaded(lines: Sequence[str], width: int, dialect: Dialect, line: int) -> None:
    """Refuse rows that hold values under no header: which header belongs to which value cannot be told.

    Empty cells beyond the header are only separators at the ends of lines.
    """
    rows = [split_line(text.rstrip("\r\n"), dialect.separator) for text in lines[:SAMPLE_ROWS]]
    too_long = sum(any(row[width:]) for row in rows)
    if too_long > len(rows) / 2:
        mark = " (a decimal comma and a comma between cells?)" if dialect.separator == "," else ""
        problem = f"rows hold {dialect.width} cells under {width} headers{mark}"
        raise LogFileError(problem, where=f"line {line}", remedy="give each column a header of its own")


def _different(names: Sequence[str]) -> Iterator[str]:
    """Tell columns apart that have no header, or the same."""
    counts = Counter(names)
    for i, name in enumerate(names, 1):
        yield f"column {i}" if not name else name if counts[name] == 1 else f"{name} (column {i})"


def _padded(cells: tuple[str, ...], width: int) -> tuple[str, ...]:
    return (*cells[:width], *[""] * (width - len(cells)))
