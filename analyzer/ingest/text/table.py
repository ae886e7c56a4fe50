"""Reading the cells of a text table into columns of numbers, times and labels.

Large plain files go through pandas' threaded reader in one piece. Everything else, and every file in which that
reader meets something it does not expect, is read piece by piece with a look at each odd cell: memory stays bounded,
and every cell and row that is dropped is counted and can be pointed at.
"""

from __future__ import annotations

import csv
import re
from typing import TYPE_CHECKING, Any, Final

import pandas as pd
from pandas.errors import ParserWarning

from analyzer.errors import LogFileError
from analyzer.ingest.source import HEAD_BYTES
from analyzer.ingest.text.cells import split_line
from analyzer.ingest.text.pieces import PieceReader

if TYPE_CHECKING:
    import io
    from pathlib import Path

    from analyzer.ingest.source import Source
    from analyzer.ingest.text.layout import Layout
    from analyzer.ingest.text.raw_table import Plan, RawTable

THREADED_MIN_BYTES: Final = 5 << 20
"""From here on pandas reads a file in threads."""

THREADED_MAX_WIDTH: Final = 100
"""The threaded reader reads every column; beyond this, looking at the wanted ones only is cheaper."""

THREADED_MAX_TEXT_BYTES: Final = 128 << 20
"""Larger files whose times are text are read in pieces, to bound the memory that text takes."""


def read_table(source: Source, layout: Layout, plan: Plan) -> RawTable:
    """Read the wanted columns of a table.

    Parameters
    ----------
    source : Source
        The log.
    layout : Layout
        How it is written.
    plan : Plan
        What to read.

    Raises
    ------
    LogFileError
        When the file cannot be cut into rows at all.
    """
    table = _read_threaded(source, layout, plan)
    if table is None:
        table = _read_in_pieces(source, layout, plan)
    if ends_mid_row(source, layout):
        table.drop_last_row()
    return table


def _read_in_pieces(source: Source, layout: Layout, plan: Plan) -> RawTable:
    """Read piece by piece; quotes that would swallow lines are taken as ordinary signs."""
    line_feeds, quotes = source.count(b"\n", b'"', start=layout.data_offset)
    ends_with_line = source.read_tail(4).rstrip(b"\0").endswith((b"\n", b"\r"))
    lines = line_feeds + (not ends_with_line)
    best: RawTable | None = None
    for quoting in (csv.QUOTE_MINIMAL, csv.QUOTE_NONE):
        table = PieceReader(source, layout, plan, quoting).read()
        if table is not None and (best is None or table.lines > best.lines):
            best = table
        if best is not None and (best.lines >= lines or not quotes):
            break
    if best is None:
        raise LogFileError("cannot be cut into rows", remedy="check its separators and quotes")
    best.no_data.count += max(0, lines - best.lines)
    return best


def _read_threaded(source: Source, layout: Layout, plan: Plan) -> RawTable | None:
    """Read a large plain file in one piece; None when it is not that, or anything in it is odd.

    Words for missing values and blanks before cells are left to the careful reader: to look out for them costs a
    quarter of the time.
    """
    most_bytes = THREADED_MAX_TEXT_BYTES if plan.time_kinds else source.size
    plain = layout.encoding == "utf-8" and layout.widest <= THREADED_MAX_WIDTH
    usual = not {"pair", "mixed"}.intersection(plan.roles.values())
    if not (plain and usual and THREADED_MIN_BYTES <= source.size <= most_bytes):
        return None
    types: dict[int, Any] = dict.fromkeys(range(layout.widest), "category") | dict.fromkeys(plan.roles, "float64")
    types |= plan.text_types()
    try:
        if source.path is not None and _counts_lines(source.head[: layout.data_offset]):
            frame = _parsed(source.path, layout.data_line - 1, layout, types)
        else:
            with source.open() as stream:
                stream.seek(layout.data_offset)
                frame = _parsed(stream, 0, layout, types)
    except (ValueError, OverflowError, ParserWarning):
        return None
    if any(_swallows_lines(frame[i]) for i, kind in types.items() if kind == "category"):
        return None
    table = PieceReader(source, layout, plan).take(frame)
    odd = table is None or table.no_data.count or any(bad.count for bad in table.bad.values())
    return None if odd else table


def _counts_lines(begun: bytes) -> bool:
    """Whether pandas counts the lines before the data as we do: no breaks within quotes, no old line ends."""
    lines = begun.replace(b"\r\n", b"\n").split(b"\n")
    return not any(b"\r" in line or line.count(b'"') % 2 for line in lines)


def _parsed(start: Path | io.BufferedIOBase, lines: int, layout: Layout, types: dict[int, Any]) -> pd.DataFrame:
    """Parse from a number of lines on; a file by its path in threads, what was opened by one alone.

    Where all columns are numbers pandas is told so in one word, on which it puts its threads' pieces together in
    threads, too.
    """
    every = set(types.values())
    return pd.read_csv(
        start,
        skiprows=lines,
        sep=layout.dialect.separator,
        decimal=layout.dialect.decimal,
        header=None,
        names=range(layout.widest),
        index_col=False,
        dtype=every.pop() if len(every) == 1 else types,
        encoding_errors="replace",
    )


def _swallows_lines(words: pd.Series[Any]) -> bool:
    """Whether a stray quote made one cell of several lines."""
    return any("\n" in str(word) for word in words.cat.categories)


def ends_mid_row(source: Source, layout: Layout) -> bool:
    """Whether the last line has no end and fewer cells than any row before it: the logger lost its power."""
    text = source.read_tail(HEAD_BYTES).decode(layout.encoding, errors="replace").rstrip("\0")
    last = re.split(r"[\r\n]", text)[-1]
    usual = min((len(row) for row in layout.sample[:-1]), default=layout.dialect.width)
    return bool(last.strip()) and len(split_line(last, layout.dialect.separator)) < usual
