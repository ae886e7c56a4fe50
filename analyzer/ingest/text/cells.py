"""Cells of a text table: splitting a line into them, and telling what kind of thing each holds."""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from math import isnan
from typing import TYPE_CHECKING, Final, Literal

from analyzer.ingest.clocks.clock import CLOCK, ZONE, clock_seconds
from analyzer.ingest.clocks.dates import DATE, DATE_TIME, MONTH_FIRST
from analyzer.ingest.source import Source
from analyzer.ingest.text.numbers import MISSING, parse_number

if TYPE_CHECKING:
    from collections.abc import Iterable

WHITESPACE: Final = r"\s+"
"""The separator of tables aligned with blanks, as pandas writes it."""

MAX_VALUE_CHARACTERS: Final = 64
"""Longer than any number or time stamp."""

CellKind = Literal["empty", "number", "time", "text"]

_GUARD: Final = re.compile(rb'(?P<before>^|[,;\t|])(?:="|"="")(?=[^"])', re.MULTILINE)

_TIMES: Final = (re.compile(rf"{DATE}|{CLOCK}{ZONE}"), DATE_TIME, MONTH_FIRST)


@lru_cache(maxsize=65_536)
def kind_of(cell: str) -> CellKind:
    """What a cell holds.

    Examples
    --------
    >>> [kind_of(cell) for cell in ("12,5", "12.5 V", "12:30:01", "2024-05-06", "--", "speed")]
    ['number', 'number', 'time', 'time', 'empty', 'text']
    """
    text = cell.strip()
    if text.casefold() in MISSING:
        return "empty"
    if len(text) > MAX_VALUE_CHARACTERS:
        return "text"
    if any(form.fullmatch(text) for form in _TIMES):  # asked first: 06.05.2024 would pass for a number with thousands
        return "time"
    if not isnan(parse_number(text, ".")[0]):
        return "number"
    return "text" if isnan(clock_seconds(text)) else "time"


def holds_values(cells: Iterable[str]) -> bool:
    """Whether any of the cells is a number or a time."""
    return any(kind_of(cell) in ("number", "time") for cell in cells)


def without_guards(source: Source) -> Source:
    """Take off what keeps a spreadsheet from reading cells as numbers: ="0.5", or as CSV quotes it."""
    if b'="' not in source.head or not _GUARD.search(source.head):
        return source
    return Source(source.label, data=_GUARD.sub(rb'\g<before>"', source.read_head(source.size)).replace(b'"""', b'"'))


def split_line(line: str, separator: str) -> list[str]:
    """Cut a line into stripped cells; quoted cells may hold the separator."""
    if separator == WHITESPACE:
        return line.split()
    if '"' in line:
        try:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])]
        except csv.Error:
            pass  # a stray quote: cut it as it stands
    return [cell.strip().strip('"') for cell in line.split(separator)]
