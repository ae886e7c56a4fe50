"""Columns of times that are text: clock times, dates, date-times with and without a zone."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import pandas as pd

from analyzer.constants import DAY_S
from analyzer.ingest.clocks.clock import CLOCK, ZONE, clock_seconds, zone_is_known, zone_offset_s
from analyzer.ingest.clocks.dates import DATE, DATE_TIME, MONTH_FIRST, date_order, days_of, is_packed_date
from analyzer.ingest.text.cells import kind_of
from analyzer.ingest.text.numbers import MISSING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from analyzer.arrays import Array, Mask
    from analyzer.ingest.clocks.dates import DateOrder

MOST_DAYS: Final = 2
"""The first rows of a log see one midnight at most: what changes oftener is a clock time, "14.03.07"."""

MOST_ROWS_A_TICK: Final = 25.0
"""Of a clock of two parts without a fraction: a logger of 25 Hz writes one; what holds more rows a tick are minutes."""

_SHORTEST_FULL_CLOCK: Final = len("0:00:0")

TimeKind = Literal["number", "clock", "date", "date-time"]

_PACKED: Final = re.compile(
    r"(?P<date>(?:19|20)\d{6}(?=\d{6}(?:\d{3})?(?:\D|$))|\d{6}(?=\d{6}(?:\D|$)))(?P<clock>\d{6})[.,]?(?P<fraction>\d*)"
)
"""12 or 14 digits, and milliseconds; dates since 1970 have 10, 13, 16 or 19."""

_ZONED_CLOCK: Final = re.compile(rf"(?P<clock>{CLOCK})(?P<zone>{ZONE})")
_TWO_PARTS: Final = re.compile(r"\s*\d+:\d+\s*")
_BEHIND_SECONDS: Final = re.compile(r"((?:^|\D)\d{1,2}:\d{1,2}(?::\d{1,2}[.,:]|[.,]))(\d{1,3})$")
_JUDGED_ROWS: Final = 2000
"""Rows by which the fraction of seconds is judged: hundreds of seconds."""

_DATE: Final = re.compile(rf"{DATE}|\d{{8}}")


def time_kind(sample: Iterable[str]) -> TimeKind | None:
    """What kind of time most cells of a column hold; None when they are neither times nor numbers."""
    texts = [cell.strip() for cell in sample]
    kinds = Counter(_kind_of_time(text) for text in texts)
    most = kinds.most_common(1)[0][0] if kinds else None
    packed = {stamp[0] for stamp in map(_packed_stamp, texts) if stamp} if most == "date-time" else set()
    if len(packed) > MOST_DAYS or (kinds["number"] and kinds["date-time"]):
        return "number"  # counts that by chance look like dates
    days = len(set(texts))
    if most == "number" and days <= MOST_DAYS and all(is_packed_date(text) for text in texts):
        return "date"
    if most == "date" and days > MOST_DAYS and not any(np.isnan(clock_seconds(text)) for text in texts):
        return "clock"
    return most


def _kind_of_time(text: str) -> TimeKind | None:
    if kind_of(text) == "number":
        return "number" if _packed_stamp(text) is None else "date-time"
    if DATE_TIME.fullmatch(text) or MONTH_FIRST.fullmatch(text):
        return "date-time"
    if _DATE.fullmatch(text):
        return "date"
    return None if np.isnan(clock_seconds(_clock_and_zone(text)[0])) else "clock"


def _clock_and_zone(text: str) -> tuple[str, str, str]:
    """Clock time and zone of a cell, and no date between them."""
    match = _ZONED_CLOCK.fullmatch(text)
    return (match["clock"], "", match["zone"]) if match else (text, "", "")


def _packed_stamp(text: str) -> tuple[str, str] | None:
    """Date and clock of a stamp in digits alone, "20260531140307" or "260531140307"; None when they are none.

    Digits may also be counts: that they keep within months, days, hours and minutes row after row tells them apart.
    """
    match = _PACKED.fullmatch(text)
    if match is None or not clock_seconds(match["clock"]) < DAY_S:
        return None
    if all(np.isnan(days_of(match["date"], order)) for order in ("day-month", "year-first")):
        return None
    return match["date"], f"{match['clock']}.{match['fraction'] or 0}"


def _counts_thousandths(texts: pd.Series[str]) -> bool:
    """Whether milliseconds are counted behind the seconds, without zeros before them: "14:03:07.5" is 5 ms past.

    Fractions end before a last zero, or all have the same length; counts begin with none, and end in one now and then.
    """
    behind = texts.str.extract(_BEHIND_SECONDS)[1].dropna()
    longer = behind[behind.str.len() > 1]
    if not set(behind.str.len()) >= {2, 3} or longer.str.startswith("0").any():
        return False
    return bool(longer.str.endswith("0").any())


class TimeText:
    """The times of one column, gathered piece by piece.

    Date-times in ISO 8601 are parsed by pandas as a whole; cells that it does not know are taken apart one by one.
    Dates are kept as written until all are known, because only then their order of day and month can be told.
    """

    def __init__(self, kind: TimeKind) -> None:
        self.kind = kind
        self.zone_given = False
        self.two_parts = kind == "clock"
        self.in_thousandths: bool | None = None if kind in ("clock", "date-time") else False
        self._dates: dict[str, int] = {}
        self._seconds: list[Array] = []
        self._date_codes: list[NDArray[np.int32]] = []

    def add(self, cells: pd.Series[str]) -> Mask:
        """Take the next cells.

        Returns
        -------
        numpy.ndarray of bool
            Cells that are filled, yet hold no time.
        """
        texts = cells.astype("str")
        if self.in_thousandths is None:
            self.in_thousandths = _counts_thousandths(texts.head(_JUDGED_ROWS))
        if self.in_thousandths:
            texts = texts.str.replace(_BEHIND_SECONDS, lambda found: found[1] + found[2].zfill(3), regex=True)
        seconds = self._iso_seconds(texts)
        codes = np.full(len(texts), -1, dtype=np.int32)
        rest = np.flatnonzero(np.isnan(seconds))
        bad = np.zeros(len(texts), dtype=bool)
        for row, text in zip(rest, texts.iloc[rest].to_numpy(dtype=object, na_value=""), strict=True):
            seconds[row], codes[row], bad[row] = self._cell(text.strip())
        self._seconds.append(seconds)
        self._date_codes.append(codes)
        return bad

    def keep(self, rows: Mask) -> None:
        """Forget the rest of the cells added last."""
        self._seconds[-1], self._date_codes[-1] = self._seconds[-1][rows], self._date_codes[-1][rows]

    def truncate(self, rows: int) -> None:
        """Forget all cells after so many rows."""
        self._seconds = [np.concatenate(self._seconds)[:rows]]
        self._date_codes = [np.concatenate(self._date_codes)[:rows]]

    def finish(self) -> tuple[Array, DateOrder]:
        """All times in seconds (from midnight for clock times, else from 1970-01-01), and how dates were read."""
        seconds, codes = np.concatenate(self._seconds), np.concatenate(self._date_codes)
        if not self._dates:
            return seconds * (60.0 if self._hours_and_minutes(seconds) else 1.0), "day-month"
        order = date_order(list(self._dates))
        days = np.array([*(days_of(text, order) for text in self._dates), 0.0])
        return seconds + DAY_S * days[codes], order

    def _hours_and_minutes(self, seconds: Array) -> bool:
        """Whether a clock of two parts, read as minutes and seconds, has too many rows in each second for that."""
        there = seconds[np.isfinite(seconds)]
        return self.two_parts and there.size > MOST_ROWS_A_TICK * np.unique(there).size

    def _iso_seconds(self, texts: pd.Series[str]) -> Array:
        if self.kind == "date":
            return np.full(len(texts), np.nan)
        stamped = "1970-01-01T" + texts if self.kind == "clock" else texts
        parsed = pd.to_datetime(stamped, format="ISO8601", utc=True, errors="coerce")
        if self.kind == "date-time":
            first = filter(None, map(DATE_TIME.fullmatch, texts.head(3).dropna()))
            self.zone_given |= any(zone_is_known(match["zone"]) for match in first)
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
        clock, day, zone = self._parts(text)
        if not clock:
            return np.nan, -1, True
        self.zone_given = self.zone_given or zone_is_known(zone)
        seconds = clock_seconds(clock)
        two_parts = _TWO_PARTS.fullmatch(clock) is not None
        if two_parts and day:  # behind a date stand hours and minutes
            seconds *= 60.0
        self.two_parts = self.two_parts and two_parts
        code = self._dates.setdefault(day, len(self._dates)) if day else -1
        return seconds - zone_offset_s(zone), code, bool(np.isnan(seconds))

    def _parts(self, text: str) -> tuple[str, str, str]:
        """Clock time, date and zone of a cell; no clock time where it is no stamp of this kind."""
        if self.kind == "clock":
            return _clock_and_zone(text)
        if match := DATE_TIME.fullmatch(text):
            return match["clock"], match["date"], match["zone"]
        if match := MONTH_FIRST.fullmatch(text):
            return match["clock"], f"{match['day']} {match['month']} {match['year']}", ""
        if self.kind == "date":
            return ("0:00:00", text, "") if _DATE.fullmatch(text) else ("", "", "")
        day, clock = _packed_stamp(text) or ("", "")
        return clock, day, ""
