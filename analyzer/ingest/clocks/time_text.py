"""Columns of times that are text: clock times, dates, date-times with and without a zone."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import pandas as pd

from analyzer.constants import DAY_S
from analyzer.ingest.clocks.clock import CLOCK, ZONE, clock_seconds, zone_offset_s
from analyzer.ingest.clocks.dates import DATE, date_order, days_of, is_packed_date
from analyzer.ingest.text.cells import kind_of
from analyzer.ingest.text.numbers import MISSING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from analyzer.ingest.clocks.dates import DateOrder

MOST_DAYS: Final = 2
"""The first rows of a log see one midnight at most: what changes oftener is a clock time, "14.03.07"."""

MOST_ROWS_A_TICK: Final = 100.0
"""Telemetry is not faster: a clock of two parts that holds more rows a tick shows hours and minutes."""

_SHORTEST_FULL_CLOCK: Final = len("0:00:0")
_MINUTES_A_DAY: Final = 1440.0

TimeKind = Literal["number", "clock", "date", "date-time"]

_DATE_TIME: Final = re.compile(
    rf"(?P<date>{DATE}|\d{{8}})(?:T|,?\s+|_)(?P<clock>{CLOCK}|\d{{6}}(?:[.,]\d+)?|\d\d-\d\d-\d\d(?:[.,]\d+)?)(?P<zone>{ZONE})"
)
_TWO_PARTS: Final = re.compile(r"\s*\d+:\d+\s*")
_DATE: Final = re.compile(rf"{DATE}|\d{{8}}")


def time_kind(sample: Iterable[str]) -> TimeKind | None:
    """What kind of time most cells of a column hold; None when they are neither times nor numbers."""
    texts = [cell.strip() for cell in sample]
    kinds = Counter(_kind_of_time(text) for text in texts)
    most = kinds.most_common(1)[0][0] if kinds else None
    days = len(set(texts))
    if most == "number" and days <= MOST_DAYS and all(is_packed_date(text) for text in texts):
        return "date"
    if most == "date" and days > MOST_DAYS and not any(np.isnan(clock_seconds(text)) for text in texts):
        return "clock"
    return most


def _kind_of_time(text: str) -> TimeKind | None:
    if kind_of(text) == "number":
        return "number"
    if _DATE_TIME.fullmatch(text):
        return "date-time"
    if _DATE.fullmatch(text):
        return "date"
    return None if np.isnan(clock_seconds(text)) else "clock"


class TimeText:
    """The times of one column, gathered piece by piece.

    Date-times in ISO 8601 are parsed by pandas as a whole; cells that it does not know are taken apart one by one.
    Dates are kept as written until all are known, because only then their order of day and month can be told.
    """

    def __init__(self, kind: TimeKind) -> None:
        self.kind = kind
        self.zone_given = False
        self.two_parts = kind == "clock"
        self._dates: dict[str, int] = {}
        self._seconds: list[NDArray[np.float64]] = []
        self._date_codes: list[NDArray[np.int32]] = []

    def add(self, cells: pd.Series[str]) -> NDArray[np.bool_]:
        """Take the next cells.

        Returns
        -------
        numpy.ndarray of bool
            Cells that are filled, yet hold no time.
        """
        texts = cells.astype("str")
        seconds = self._iso_seconds(texts)
        codes = np.full(len(texts), -1, dtype=np.int32)
        rest = np.flatnonzero(np.isnan(seconds))
        bad = np.zeros(len(texts), dtype=bool)
        for row, text in zip(rest, texts.iloc[rest].to_numpy(dtype=object, na_value=""), strict=True):
            seconds[row], codes[row], bad[row] = self._cell(text.strip())
        self._seconds.append(seconds)
        self._date_codes.append(codes)
        return bad

    def keep(self, rows: NDArray[np.bool_]) -> None:
        """Forget the rest of the cells added last."""
        self._seconds[-1], self._date_codes[-1] = self._seconds[-1][rows], self._date_codes[-1][rows]

    def truncate(self, rows: int) -> None:
        """Forget all cells after so many rows."""
        self._seconds = [np.concatenate(self._seconds)[:rows]]
        self._date_codes = [np.concatenate(self._date_codes)[:rows]]

    def finish(self) -> tuple[NDArray[np.float64], DateOrder]:
        """All times in seconds (from midnight for clock times, else from 1970-01-01), and how dates were read."""
        seconds, codes = np.concatenate(self._seconds), np.concatenate(self._date_codes)
        if not self._dates:
            return seconds * (60.0 if self._hours_and_minutes(seconds) else 1.0), "day-month"
        order = date_order(list(self._dates))
        days = np.array(
            [*(days_of(text, "month-day" if order == "month-day" else "day-month") for text in self._dates), 0.0]
        )
        return seconds + DAY_S * days[codes], order

    def _hours_and_minutes(self, seconds: NDArray[np.float64]) -> bool:
        """Whether a clock of two parts, read as minutes and seconds, has too many rows in each second for that."""
        there = seconds[np.isfinite(seconds)]
        if not self.two_parts or not there.size or float(there.max()) >= _MINUTES_A_DAY:
            return False
        return there.size > MOST_ROWS_A_TICK * np.unique(there).size

    def _iso_seconds(self, texts: pd.Series[str]) -> NDArray[np.float64]:
        if self.kind == "date":
            return np.full(len(texts), np.nan)
        stamped = "1970-01-01T" + texts if self.kind == "clock" else texts
        parsed = pd.to_datetime(stamped, format="ISO8601", utc=True, errors="coerce")
        if self.kind == "date-time" and not self.zone_given:
            first = (_DATE_TIME.fullmatch(text) for text in texts.head(3).dropna())
            self.zone_given = any(match is not None and match["zone"] for match in first)
        micros = parsed.dt.as_unit("us").to_numpy(dtype="datetime64[us]")
        seconds = np.where(np.isnat(micros), np.nan, micros.astype(np.int64) / 1e6)
        if self.kind == "clock":  # ISO 8601 takes two parts for hours and minutes
            seconds[(texts.str.len() < _SHORTEST_FULL_CLOCK).to_numpy(dtype=bool, na_value=False)] = np.nan
            self.two_parts = self.two_parts and not np.isfinite(seconds).any()
        return seconds

    def _cell(self, text: str) -> tuple[float, int, bool]:
        """Seconds, code of the date, and whether the cell is bad."""
        if text.casefold() in MISSING:
            return np.nan, -1, False
        if self.kind == "clock":
            clock, day, zone = text, "", ""
        elif match := _DATE_TIME.fullmatch(text):
            clock, day, zone = match["clock"], match["date"], match["zone"]
        elif self.kind == "date" and _DATE.fullmatch(text):
            clock, day, zone = "0:00:00", text, ""
        else:
            return np.nan, -1, True
        self.zone_given = self.zone_given or bool(zone)
        seconds = clock_seconds(clock)
        self.two_parts = self.two_parts and _TWO_PARTS.fullmatch(clock) is not None
        code = self._dates.setdefault(day, len(self._dates)) if day else -1
        return seconds - zone_offset_s(zone), code, bool(np.isnan(seconds))
