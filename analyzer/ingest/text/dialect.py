"""The dialect of a text table: what separates its cells, and what marks the decimals."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final

from analyzer.ingest.text.cells import WHITESPACE, kind_of, split_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

SEPARATORS: Final = (";", "\t", ",", "|", WHITESPACE)
"""Tried in this order; of equals the first wins: a decimal comma is no separator."""

SAMPLE_LINES: Final = 60
"""Lines judged; taken from the end of the file's head, past preamble and header."""

SAMPLE_CHARACTERS: Final = 200_000
"""Fewer lines are judged where they are very long."""

UNCUT_WEIGHT: Final = 3
"""How many cells of text a cell weighs that still holds a separator: it should have been cut there."""

BLANKS_TRUST: Final = 0.8
"""Blanks also run together the empty cells of a table that another separator cuts."""

_SEPARATOR_INSIDE: Final = frozenset(";\t|")
_COMMA_DECIMAL: Final = re.compile(r"[+-]?(?:\d*|\d{1,3}(?:\.\d{3})+),\d+(?:[eE][+-]?\d+)?")
_POINT_DECIMAL: Final = re.compile(r"[+-]?(?:\d*|\d{1,3}(?:,\d{3})+)\.\d+(?:[eE][+-]?\d+)?")
_THOUSANDS: Final = {
    ",": re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+"),
    ".": re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+"),
}
_BELOW_A_THOUSAND: Final = re.compile(r"[+-]?[1-9]\d{0,2}")


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a text table is written.

    Attributes
    ----------
    separator : str
        One character, or `cells.WHITESPACE`.
    decimal : str
        "." or ",".
    width : int
        Cells in most rows.
    """

    separator: str
    decimal: str
    width: int


def find_dialect(lines: Sequence[str]) -> Dialect | None:
    """Find the separator under which a file's lines are a table of numbers, and its decimal mark.

    Parameters
    ----------
    lines : sequence of str
        Complete lines from the head of the file.

    Returns
    -------
    Dialect or None
        None when no separator makes a table of at least two columns with numbers in it.
    """
    filled = list(islice(_within((line for line in reversed(lines) if line.strip()), SAMPLE_CHARACTERS), SAMPLE_LINES))
    scored = [(_score(filled, separator), separator) for separator in SEPARATORS]
    (score, width), separator = max(scored, key=lambda entry: entry[0][0], default=((0.0, 0), ""))
    if score <= 0.0:
        return None
    rows = [split_line(line, separator) for line in filled]
    return Dialect(separator, find_decimal([row for row in rows if len(row) == width]), width)


def _within(lines: Iterable[str], most: int) -> Iterator[str]:
    """Lines up to a number of characters; at least two."""
    taken = 0
    for count, line in enumerate(lines):
        taken += len(line)
        if taken > most and count > 1:
            return
        yield line


def _score(lines: Sequence[str], separator: str) -> tuple[float, int]:
    """Score a separator: the share of rows of the usual width, times the share of numbers and times in their cells."""
    rows = [split_line(line, separator) for line in lines]
    widths = Counter(len(row) for row in rows if len(row) > 1)
    if not widths:
        return 0.0, 0
    width, count = max(widths.items(), key=lambda item: (item[1], item[0]))
    cells = [cell for row in rows if len(row) == width for cell in row]
    kinds = Counter(kind_of(cell) for cell in cells)
    values = kinds["number"] + kinds["time"]
    uncut = sum(not _SEPARATOR_INSIDE.isdisjoint(cell) for cell in cells)
    trust = BLANKS_TRUST if separator == WHITESPACE else 1.0
    return trust * count / len(rows) * values / max(1, values + kinds["text"] + UNCUT_WEIGHT * uncut), width


def find_decimal(rows: Sequence[Sequence[str]]) -> str:
    """Find the decimal mark that most cells with one use; a mark before each three digits is none.

    Where only one mark is used, and always so, it is no decimal mark if its columns hold whole numbers below a thousand
    as well: decimals do not come in threes or not at all.
    """
    columns = [[cell for cell in column if cell] for column in zip(*rows, strict=False)]
    cells = [cell for column in columns for cell in column]
    points = [cell for cell in cells if _POINT_DECIMAL.fullmatch(cell)]
    commas = [cell for cell in cells if _COMMA_DECIMAL.fullmatch(cell)]
    for marked, mark, others, other in ((commas, ",", points, "."), (points, ".", commas, ",")):
        if (
            marked
            and all(map(_THOUSANDS[mark].fullmatch, marked))
            and (others or any(_is_whole(own, mark) for own in columns))
        ):
            return other
    return "," if len(commas) > len(points) else "."


def _is_whole(cells: Sequence[str], mark: str) -> bool:
    """Whether a column holds whole numbers, with a mark between thousands where there are any."""
    return any(map(_BELOW_A_THOUSAND.fullmatch, cells)) and any(map(_THOUSANDS[mark].fullmatch, cells))
