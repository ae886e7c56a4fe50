"""Dates as text: 2026-05-31, 31.05.2026, 5/31/26, 31 May 2026, 20260531, 260531."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from analyzer.ingest.clocks.clock import CLOCK, ZONE

if TYPE_CHECKING:
    from collections.abc import Sequence

DateOrder = Literal["day-month", "month-day", "year-first", "unknown"]
"""What short dates begin with; "year-first" is asked of six digits alone, which may also be day, month and year."""

_NAME: Final = r"[^\W\d_]{3,10}\.?"
DATE: Final = (
    r"(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})"
    rf"|(?:{_NAME},?\s)?(?:\d{{1,2}}\.?[- ]{_NAME}|{_NAME}[- ]\d{{1,2}}),?[- ](?:\d{{4}}|\d{{2}}))"
)
DATE_TIME: Final = re.compile(
    rf"(?P<date>{DATE}|\d{{8}}|\d{{6}})(?:T|,?\s+|_|-)"
    rf"(?P<clock>{CLOCK}|\d{{6}}(?:[.,]\d+)?|\d\d-\d\d-\d\d(?:[.,]\d+)?)(?P<zone>{ZONE})"
)
MONTH_FIRST: Final = re.compile(
    rf"(?:[^\W\d_]{{2,3}}\s+)?(?P<month>[^\W\d_]{{3}})\s+(?P<day>\d{{1,2}})\s+(?P<clock>{CLOCK})\s+(?P<year>\d{{4}})"
)
"""As C's `asctime` writes it: Sun May 17 14:58:40 2026."""

_EPOCH: Final = date(1970, 1, 1).toordinal()
_PACKED: Final = re.compile(r"(?:19|20)\d{6}")
_SHORT_DIGITS: Final = 6
_MONTH_NAMES: Final = (
    "jan ene gen", "feb fév fev", "mar mär mrt", "apr avr abr", "may mai mag mei", "jun jui giu", "jul juil lug",
    "aug aoû ago", "sep set", "oct okt ott out", "nov", "dec dez déc dic",
)  # fmt: skip
_MONTHS: Final = {name: number for number, names in enumerate(_MONTH_NAMES, 1) for name in names.split()}
"""By their first three letters; four where two French months share three."""


def is_packed_date(text: str) -> bool:
    """Whether eight digits are a day of our time, as ISO 8601 writes it without strokes."""
    return _PACKED.fullmatch(text) is not None and not np.isnan(days_of(text, "day-month"))


def date_order(dates: Sequence[str]) -> DateOrder:
    """Whether all-number dates put the day or the month first: by parts above 12, else by their sign.

    "unknown" when nothing tells: 05/06/2024.
    """
    if all(len(text) == _SHORT_DIGITS and text.isdigit() for text in dates):
        return _closer(dates, "day-month", "year-first")
    parts = [re.split(r"[-/. ]", text) for text in dates]
    short = [(int(part[0]), int(part[1])) for part in parts if len(part[0]) <= 2 and part[1:2] and part[1].isdigit()]
    if not short or any(first > 12 for first, _ in short) or any("." in text for text in dates):
        return "day-month"
    return "month-day" if any(second > 12 for _, second in short) else _closer(dates, "day-month", "month-day")


def _closer(dates: Sequence[str], *orders: DateOrder) -> DateOrder:
    """Of two orders the one in which all are days, and the days of one log lie closer together."""
    spans = np.nan_to_num([np.ptp([days_of(text, order) for text in dates]) for order in orders], nan=np.inf)
    return "unknown" if spans[0] == spans[1] else orders[int(np.argmin(spans))]


@lru_cache(maxsize=4096)
def days_of(text: str, order: DateOrder) -> float:
    """Days from 1970-01-01 of a date; NaN when there is no such day."""
    parts = _cut(text, order) if text.isdigit() else re.split(r"[-/., ]+", text)[-3:]
    try:
        if parts[0][:1].isalpha():
            parts[:2] = parts[1::-1]
        if parts[1][:1].isalpha():
            name = parts[1].casefold()
            year, month, day = int(parts[2]), _MONTHS.get(name[:4]) or _MONTHS[name[:3]], int(parts[0])
        elif len(parts[0]) == 4:
            year, month, day = (int(part) for part in parts)
        else:
            first, second, year = (int(part) for part in parts)
            day, month = (second, first) if order == "month-day" else (first, second)
        return float(date(year + 2000 if year < 100 else year, month, day).toordinal() - _EPOCH)
    except (ValueError, KeyError):
        return np.nan


def _cut(digits: str, order: DateOrder) -> list[str]:
    """Cut a date of digits alone into its parts; of six, the year is brought to where long dates have it."""
    if len(digits) > _SHORT_DIGITS:
        return [digits[:4], digits[4:6], digits[6:]]
    first, month, last = digits[:2], digits[2:4], digits[4:]
    return [f"20{first}", month, last] if order == "year-first" else [first, month, last]
