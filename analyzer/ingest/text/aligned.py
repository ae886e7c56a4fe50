"""Tables aligned with blanks, some of whose cells are empty or hold blanks: cut where their columns end.

Cut at the blanks, a row with an empty cell would give each value behind it to the column before.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.source import Source
from analyzer.ingest.text.cells import WHITESPACE, kind_of, split_line
from analyzer.ingest.text.dialect import find_dialect
from analyzer.ingest.text.encoding import find_encoding

if TYPE_CHECKING:
    from collections.abc import Sequence

SAMPLE_LINES: Final = 200
"""Lines at the end of the file's head that show the columns."""

MOST_ASTRAY: Final = 0.05
"""Share of these lines that may be remarks, or stand askew."""

HEADING_LINES: Final = 3
"""Names, units and types above the data are aligned with them; what stands above these are remarks."""

MOST_CROSSED: Final = 1.0 / 3.0
"""Share of the gaps between columns that a heading may write across: then both sides are one column, whose cells hold
blanks. A line that crosses more is a remark."""

MIN_VALUES: Final = 2
"""Numbers or times that make a line a row."""

_LINE_END: Final = re.compile(r"\r\n|\n|\r")


def cut_at_columns(source: Source) -> Source:
    """The same log with tabs between its columns, line by line, where blanks alone do not tell its cells apart.

    Any other log is returned as it is: one with separators, and one whose rows all have a word for each column. A row
    with a word across the end of a column is left in one piece, and dropped and counted as one that does not fit.
    """
    if source.head.count(b"  ") <= source.head.count(b"\n"):
        return source
    encoding, mark_bytes = find_encoding(source.head)
    lines = _LINE_END.split(source.head[mark_bytes:].decode(encoding, errors="replace"))[:-1]
    dialect = find_dialect(lines)
    if dialect is None or dialect.separator != WHITESPACE:
        return source
    cuts = _columns_end(lines)
    if not cuts:
        return source
    lines = _LINE_END.split(source.read_head(source.size)[mark_bytes:].decode(encoding, errors="replace"))
    first = _first_row(lines, cuts)
    top = max(0, first - HEADING_LINES)
    if all(len(line.split()) in (0, len(cuts) + 1) for line in lines[top:-1]):
        return source
    table = [*lines[:top], *("\t".join(_cells(line, cuts)) for line in lines[top:-1]), "\t".join(lines[-1].split())]
    return Source(source.label, data="\n".join(table).encode())


def _columns_end(lines: Sequence[str]) -> list[int]:
    """Where each column but the last ends, as the place of a blank; none where the lines are not aligned."""
    rows = [line for line in lines if line.strip()][-SAMPLE_LINES:]
    if any("\t" in line for line in rows):
        return []
    filled = _filled(rows).mean(axis=0) > MOST_ASTRAY
    edges = np.diff(np.concatenate(([False], filled, [False])).astype(int))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    gaps = [(int(end), int(start)) for end, start in zip(ends[:-1], starts[1:], strict=True)]
    first = _first_row(lines, [(low + high) // 2 for low, high in gaps])
    heading = [""]
    for line in reversed([line for line in lines[:first] if line.strip()][-HEADING_LINES:]):
        within = [gap for gap in gaps if _widest_blank(_filled([*heading, line]), *gap) is not None]
        if len(gaps) - len(within) > MOST_CROSSED * len(gaps):
            break
        heading, gaps = [*heading, line], within
    places = (_widest_blank(_filled(heading), *gap) for gap in gaps)
    return [place for place in places if place is not None]


def _filled(lines: Sequence[str]) -> np.ndarray:
    """Whether there is a sign, by line and place."""
    width = max(map(len, lines), default=0)
    signs = np.array([list(line.ljust(width)) for line in lines])
    return np.asarray(signs != " ")


def _widest_blank(filled: np.ndarray, low: int, high: int) -> int | None:
    """Middle of the longest run of places from low to high that are blank in all lines."""
    taken = [low - 1, *(low + np.flatnonzero(filled[:, low:high].any(axis=0))).tolist(), high]
    start, end = max(pairwise(taken), key=lambda pair: pair[1] - pair[0])
    return (start + 1 + end) // 2 if end - start > 1 else None


def _first_row(lines: Sequence[str], cuts: Sequence[int]) -> int:
    """Index of the first line that is cut into values; the number of lines where there is none."""
    for index, line in enumerate(lines):
        if sum(kind_of(cell) in ("number", "time") for cell in _cells(line, cuts)) >= MIN_VALUES:
            return index
    return len(lines)


def _cells(line: str, cuts: Sequence[int]) -> list[str]:
    """Cut a line at the columns; by its blanks, or not at all, where a word stands across the end of one."""
    bounds = [0, *cuts, len(line)]
    if all(line[cut : cut + 1] in ("", " ") for cut in cuts):
        return [line[start:end].strip() for start, end in pairwise(bounds)]
    words = split_line(line, WHITESPACE)
    return words if len(words) == len(cuts) + 1 else [line.strip()]
