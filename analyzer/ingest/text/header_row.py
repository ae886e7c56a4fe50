"""Which rows of a text table are its header, its units, and its first data."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.columns import words
from analyzer.ingest.columns.headers import fold
from analyzer.ingest.columns.meaning import meanings
from analyzer.ingest.text.cells import WHITESPACE, holds_values, split_line
from analyzer.units import find_units

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from analyzer.ingest.text.dialect import Dialect

ROWS_BELOW: Final = 6
"""Within so many rows under a header its data begin; between them stand units, types, rules."""

USUAL_LINES: Final = 200
"""Lines in which nearly every header stands; only where none does, more are looked at: it saves a small log's reading
a tenth of its time."""

MAX_CANDIDATES: Final = 60
"""Rows looked at as headers; real ones stand near the top."""

MANY_ROWS: Final = 10
"""Under a header that names channels so many rows are a log; a header behind them is that of a second session."""

MISFIT_FACTOR: Final = 0.25
"""What a header's score is worth when it is narrower than the data: a sentence in the preamble uses trade terms too."""

MIN_UNITS_SHARE: Final = 0.5
"""Share of a row's filled cells that have to be units to make it a row of units."""

_COMMENT: Final = re.compile(r"\s*(?:#+|%+|//+|\*+)\s*")

_TIME_PATTERN: Final = re.compile(r"[ymdhs]+(?:[:./ -][ymdhscfz0]+)+")
"""How a clock or a date is written, in a row of units: hh:mm:ss.cc, yyyy-mm-dd."""

_OF_LONG_TABLES: Final = words.LONG_NAME | words.LONG_VALUE | words.LONG_UNIT


@dataclass(frozen=True, slots=True)
class Heading:
    """The rows above the data.

    Attributes
    ----------
    headers : tuple of str
        The header's cells; empty where the table has no header.
    units : tuple of str
        The cells of the row of units; empty where there is none.
    data_row : int
        Index of the first row of data; the number of rows where there is none.
    """

    headers: tuple[str, ...]
    units: tuple[str, ...]
    data_row: int


def find_heading(lines: Sequence[str], dialect: Dialect, mapped: Collection[str] = ()) -> Heading:
    """Find header, units and first data row.

    The header is the row without numbers, with data under it, whose words the channel table knows best (or that the
    user's column map names). Where no row says anything to it, it is the row of the right width right above the data.

    Parameters
    ----------
    lines : sequence of str
        The first lines of the file.
    dialect : Dialect
        How they are written.
    mapped : collection of str
        Headers that the user's column map names.
    """
    if len(lines) > USUAL_LINES:
        heading = find_heading(lines[:USUAL_LINES], dialect, mapped)
        if heading.headers and heading.data_row < USUAL_LINES:
            return heading
    rows = [_cells(line, dialect) for line in lines]
    data = [_is_data(line, row) for line, row in zip(lines, rows, strict=True)]
    first = next((i for i, row in enumerate(rows) if data[i] and len(row) == dialect.width), len(rows))
    candidates = [i for i in range(len(rows)) if not data[i] and any(rows[i]) and any(data[i + 1 : i + 1 + ROWS_BELOW])]
    scores = {i: _score(rows[i], dialect, mapped) for i in candidates[:MAX_CANDIDATES]}
    remarks = [bool(_COMMENT.match(line)) for line in lines]
    plain = [i for i in scores if i < first and not remarks[i]]
    if plain and scores[plain[-1]] > 0.0 and len(rows[plain[-1]]) == dialect.width:
        # A remark may hold as many trade words as a header; a header that is no remark is then the real one.
        scores = {i: score for i, score in scores.items() if not remarks[i]}
    above = np.cumsum([is_data and len(row) == dialect.width for is_data, row in zip(data, rows, strict=True)])
    scores = {i: score for i, score in scores.items() if score > 0.0 and above[i] < MANY_ROWS} or scores
    best = max(scores.values(), default=0.0)
    if best > 0.0:
        return _heading(rows, data, remarks, next(i for i, score in scores.items() if score == best))
    nearest = [i for i in candidates if i < first and len(rows[i]) == dialect.width]
    return _heading(rows, data, remarks, nearest[-1]) if nearest else Heading((), (), first)


def _cells(line: str, dialect: Dialect) -> list[str]:
    """Cut a line; a header over columns of blanks may have blanks inside its names, or commas between them."""
    text = line.rstrip("\r\n")
    if dialect.separator != WHITESPACE:
        return split_line(text, dialect.separator)
    text = _COMMENT.sub("", text, count=1) if _COMMENT.match(text) else text.strip()
    splits = (
        text.split(),
        re.split(r"\s{2,}|\t", text),
        re.split(r"\s+(?![\[({])", text),
        re.split(r"\s*[,;]\s*", text),
    )
    return next((cells for cells in splits if len(cells) == dialect.width), splits[0])


def _is_data(line: str, row: Sequence[str]) -> bool:
    return len(row) > 1 and not _COMMENT.match(line) and holds_values(row)


def _plain(row: Sequence[str]) -> tuple[str, ...]:
    """The header's cells without the mark of a comment line before them."""
    return (_COMMENT.sub("", row[0], count=1), *row[1:]) if row and _COMMENT.match(row[0]) else tuple(row)


def _score(row: Sequence[str], dialect: Dialect, mapped: Collection[str]) -> float:
    """Count the row's trade terms, each by how sure it is."""
    score = 0.0
    for cell in filter(None, _plain(row)):
        known = meanings(cell)
        score += 1.0 + known[0].sureness if known else float(fold(cell) in _OF_LONG_TABLES)
        score += 5.0 * (cell in mapped)
    return score if len(row) >= dialect.width - 1 else score * MISFIT_FACTOR


def _heading(rows: list[list[str]], data: list[bool], remarks: list[bool], at: int) -> Heading:
    """Put header, units and first data row together, once one row of the heading is known."""
    header = _plain(rows[at])
    units: tuple[str, ...] = ()
    has_words_above = at > 0 and not data[at - 1] and len(rows[at - 1]) > 1 and remarks[at - 1] <= remarks[at]
    if _is_units(rows[at]) and has_words_above and not _is_units(rows[at - 1]):
        header, units = _plain(rows[at - 1]), tuple(rows[at])
    elif has_words_above and _is_units(rows[at - 1]) and len(rows[at - 1]) == len(header):
        units = tuple(rows[at - 1])
    elif at + 1 < len(rows) and not data[at + 1] and _is_units(rows[at + 1]):
        units = tuple(rows[at + 1])
    if len(set(header)) < len(header) and at > 0 and not data[at - 1] and len(rows[at - 1]) == len(header):
        header = _grouped(_plain(rows[at - 1]), header)
    data_row = next((i for i in range(at + 1, len(rows)) if data[i]), len(rows))
    widths = {len(row) for row, is_data in zip(rows[data_row:], data[data_row:], strict=True) if is_data}
    whole = _brackets_joined(header)
    return Heading(whole if widths == {len(whole)} else tuple(header), units, data_row)


def _brackets_joined(header: Sequence[str]) -> tuple[str, ...]:
    """Put headers together that were cut at a separator within brackets: "Alt (m, baro)"."""
    names: list[str] = []
    for cell in header:
        if names and names[-1].count("(") > names[-1].count(")"):
            names[-1] += f", {cell}"
        else:
            names.append(cell)
    return tuple(names)


def _is_units(row: Sequence[str]) -> bool:
    filled = [cell for cell in row if cell]
    units = sum(bool(find_units(cell)) for cell in filled)
    fillers = sum(_is_filler(cell.casefold().strip("[]()")) for cell in filled)
    return units >= 1 and (units + fillers) / len(filled) > MIN_UNITS_SHARE


def _is_filler(cell: str) -> bool:
    return cell in words.NO_UNIT or _TIME_PATTERN.fullmatch(cell) is not None


def _grouped(groups: Sequence[str], header: Sequence[str]) -> tuple[str, ...]:
    """Join a row of group names, each written over its first column, to headers that repeat without it."""
    names, group = [], ""
    for above, name in zip(groups, header, strict=True):
        group = above or group
        names.append(f"{group} {name}".strip())
    return tuple(names)
