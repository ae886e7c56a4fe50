"""Cells of a text table: splitting a line into them, and telling what kind of thing each holds."""

from __future__ import annotations

import csv
import re
from functools import lru_cache
from math import isnan
from typing import TYPE_CHECKING, Final, Literal

from analyzer.ingest.spelled_clock import spelled_seconds
from analyzer.units import find_units

if TYPE_CHECKING:
    from collections.abc import Iterable

WHITESPACE: Final = r"\s+"
"""The separator of tables aligned with blanks, as pandas writes it."""

MISSING: Final = frozenset((
    "", "-", "--", "---", "----", "n/a", "na", "n.a.", "nan", "null", "none", "nil", "?", "*",
    "#n/a", "#div/0!", "#value!", "#ref!", "inf", "-inf", "+inf", ".",
    "err", "error", "invalid", "missing", "no data", "nodata",
))  # fmt: skip
"""How loggers and spreadsheets write that there is no value, lower case."""

MAX_VALUE_CHARACTERS: Final = 64
"""Longer than any number or time stamp."""

CellKind = Literal["empty", "number", "time", "text"]

NUMBER: Final = re.compile(
    r"[+\-\u2212]?(?:[1-9]\d{0,2}"
    r"(?:(?:,\d{3})+(?:\.\d*)?|(?:\.\d{3})+(?:,\d*)?|(?:['\u2019 \u00a0\u202f]\d{3})+(?:[.,]\d*)?)"
    r"|\d+(?:\.\d*|,\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?"
)
"""A mark that parts thousands stands before each three digits; any other mark is the decimal one."""

NUMBER_WITH_UNIT: Final = re.compile(rf"(?P<number>{NUMBER.pattern})\s*(?P<unit>[^\d\s.,:;/-][^\d:]{{0,7}})")
CLOCK: Final = r"[+-]?\d{1,3}:\d{1,2}(?::\d{1,2})?(?:[.,:]\d+)?\s*(?:[aApP]\.?[mM]\.?)?"
_NAME: Final = r"[^\W\d_]{3,10}\.?"
DATE: Final = (
    r"(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})"
    rf"|(?:{_NAME},?\s)?(?:\d{{1,2}}\.?[- ]{_NAME}|{_NAME}[- ]\d{{1,2}}),?[- ]\d{{4}})"
)
ZONE: Final = r"(?:\s*(?:[zZ]|UTC|GMT|[+-]\d{2}:?\d{2}|[+-]\d{2}))?"
TIME: Final = re.compile(rf"(?:{DATE}|{CLOCK}|{DATE}(?:T|,?\s+|_){CLOCK}{ZONE}|\d{{8}}T\d{{6}}(?:[.,]\d+)?{ZONE})")


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
    if TIME.fullmatch(text):  # asked first: 06.05.2024 would pass for a number with thousands
        return "time"
    if NUMBER.fullmatch(text):
        return "number"
    match = NUMBER_WITH_UNIT.fullmatch(text)
    if match and find_units(match["unit"]):
        return "number"
    return "text" if isnan(spelled_seconds(text)) else "time"


def holds_values(cells: Iterable[str]) -> bool:
    """Whether any of the cells is a number or a time."""
    return any(kind_of(cell) in ("number", "time") for cell in cells)


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
