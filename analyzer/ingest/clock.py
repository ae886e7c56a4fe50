"""Time cells that are text: clock times, dates, date-times with and without a zone."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import pandas as pd

from analyzer.constants import DAY_S
from analyzer.ingest.cells import CLOCK, DATE, MISSING, ZONE, kind_of
from analyzer.ingest.spelled_clock import spelled_seconds

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

MOST_DAYS: Final = 2
"""The first rows of a log see one midnight at most: what changes oftener is a clock time, "14.03.07"."""

MOST_ROWS_A_SECOND: Final = 100.0
"""Telemetry is not faster: a clock of two parts that holds more rows a tick shows hours and minutes."""

_PACKED_DATE_DIGITS: Final = 8
_PACKED_DAY: Final = 240_000.0
_PACKED_JUMP: Final = 40.0
"""From 59 to 100, in a clock time written as one number."""

_LONGEST_STEP_S: Final = 10.0
"""Telemetry samples at least every ten seconds."""

_SHORTEST_FULL_CLOCK: Final = len("0:00:0")
_MINUTES_A_DAY: Final = 1440.0

TimeKind = Literal["number", "clock", "date", "date-time"]
DateOrder = Literal["day-month", "month-day", "unknown"]

_CLOCK: Final = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<hour>\d{1,3}):)?(?P<minute>\d{1,3}):(?P<second>\d{1,2})(?:[.,:](?P<fraction>\d+))?"
    r"\s*(?P<half>[aApP]?)\.?(?:[mM]\.?)?"
)
_DATE_TIME: Final = re.compile(
    rf"(?P<date>{DATE}|\d{{8}})(?:T|,?\s+|_)(?P<clock>{CLOCK}|\d{{6}}(?:[.,]\d+)?|\d\d-\d\d-\d\d(?:[.,]\d+)?)(?P<zone>{ZONE})"
)
_TWO_PARTS: Final = re.compile(r"\s*\d+:\d+\s*")
_DATE: Final = re.compile(rf"{DATE}|\d{{8}}")
_ZONE_OFFSET: Final = re.compile(r"(?P<sign>[+-])(?P<hours>\d{2}):?(?P<minutes>\d{2})?")
_MONTHS: Final = {
    name: number
    for number, names in enumerate(
        (
            "jan ene gen",
            "feb fév fev",
            "mar mär mrt",
            "apr avr abr",
            "may mai mag mei",
            "jun jui giu",
            "jul juil lug",
            "aug aoû ago",
            "sep set",
            "oct okt ott out",
            "nov",
            "dec dez déc dic",
        ),
        1,
    )
    for name in names.split()
}


def time_kind(sample: Iterable[str]) -> TimeKind | None:
    """What kind of time most cells of a column hold; None when they are neither times nor numbers."""
    texts = [cell.strip() for cell in sample]
    kinds = Counter(_kind_of_time(text) for text in texts)
    most = kinds.most_common(1)[0][0] if kinds else None
    days = len(set(texts))
    if most == "number" and days <= MOST_DAYS and all(_is_packed_date(text) for text in texts):
        return "date"
    if most == "date" and days > MOST_DAYS and not any(np.isnan(spelled_seconds(text)) for text in texts):
        return "clock"
    return most


def _kind_of_time(text: str) -> TimeKind | None:
    if kind_of(text) == "number":
        return "number"
    if _DATE_TIME.fullmatch(text):
        return "date-time"
    if _DATE.fullmatch(text):
        return "date"
    return "clock" if _CLOCK.fullmatch(text) or not np.isnan(spelled_seconds(text)) else None


def _is_packed_date(text: str) -> bool:
    """Whether eight digits are a day of our time, as ISO 8601 writes it without strokes."""
    return len(text) == _PACKED_DATE_DIGITS and text[:2] in ("19", "20") and not np.isnan(_days(text, "day-month"))


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
            [*(_days(text, "month-day" if order == "month-day" else "day-month") for text in self._dates), 0.0]
        )
        return seconds + DAY_S * days[codes], order

    def _hours_and_minutes(self, seconds: NDArray[np.float64]) -> bool:
        """Whether a clock of two parts, read as minutes and seconds, has too many rows in each second for that."""
        there = seconds[np.isfinite(seconds)]
        if not self.two_parts or not there.size or float(there.max()) >= _MINUTES_A_DAY:
            return False
        return there.size > MOST_ROWS_A_SECOND * np.unique(there).size

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
        return seconds - _zone_offset(zone), code, bool(np.isnan(seconds))


def clock_seconds(text: str) -> float:
    """Seconds from midnight of a clock time; two parts are minutes and seconds. NaN when it is none.

    Examples
    --------
    >>> clock_seconds("12:30:01,5"), clock_seconds("1:02 pm"), clock_seconds("02:30.5")
    (45001.5, 46920.0, 150.5)
    """
    if re.fullmatch(r"\d{6}(?:[.,]\d+)?", text):
        text = f"{text[:2]}:{text[2:4]}:{text[4:]}"
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return spelled_seconds(text.strip())
    hour, minute, second = (float(match[part] or 0) for part in ("hour", "minute", "second"))
    half = match["half"].casefold()
    if half and match["hour"] is None:
        hour, minute, second = minute, second, 0.0
    if half:
        hour = hour % 12.0 + (12.0 if half == "p" else 0.0)
    if (minute >= 60.0 and hour) or second > 60.0:
        return np.nan
    seconds = hour * 3600.0 + minute * 60.0 + second + float(f"0.{match['fraction'] or 0}")
    return -seconds if match["sign"] == "-" else seconds


def packed_clock_s(numbers: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Seconds from midnight of clock times written as one number, 140307.5 for 14:03:07.5; None for plain numbers.

    Plain seconds pass through 60 to 99; packed ones jump from 59 to 100, one second later. The fraction may follow
    without a mark (hhmmssfff).
    """
    there = numbers[np.isfinite(numbers)]
    for scale in (1.0, 1e-2, 1e-3):
        packed = there * scale
        sound = (packed >= 0.0) & (packed < _PACKED_DAY) & (packed // 100.0 % 100.0 < 60.0) & (packed % 100.0 < 60.0)
        jumps = np.abs(np.diff(packed)) > _PACKED_JUMP
        steps_s = np.abs(np.diff(_unpacked(packed)))[jumps]
        if sound.all() and jumps.any() and np.median(np.minimum(steps_s, DAY_S - steps_s)) <= _LONGEST_STEP_S:
            return _unpacked(numbers * scale)
    return None


def _unpacked(packed: NDArray[np.float64]) -> NDArray[np.float64]:
    return packed // 10_000.0 * 3600.0 + packed // 100.0 % 100.0 * 60.0 + packed % 100.0


def date_order(dates: Sequence[str]) -> DateOrder:
    """Whether all-number dates put the day or the month first: by parts above 12, else by their sign.

    "unknown" when nothing tells: 05/06/2024.
    """
    parts = [re.split(r"[-/. ]", text) for text in dates]
    short = [(int(part[0]), int(part[1])) for part in parts if len(part[0]) <= 2 and part[1:2] and part[1].isdigit()]
    if not short or any(first > 12 for first, _ in short) or any("." in text for text in dates):
        return "day-month"
    return "month-day" if any(second > 12 for _, second in short) else "unknown"


@lru_cache(maxsize=4096)
def _days(text: str, order: DateOrder) -> float:
    """Days from 1970-01-01 of a date; NaN when there is no such day."""
    parts = [text[:4], text[4:6], text[6:]] if text.isdigit() else re.split(r"[-/., ]+", text)[-3:]
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
            day, month = (first, second) if order == "day-month" else (second, first)
        return float(date(year + 2000 if year < 100 else year, month, day).toordinal() - date(1970, 1, 1).toordinal())
    except (ValueError, KeyError):
        return np.nan


def _zone_offset(zone: str) -> float:
    """Seconds east of UTC."""
    match = _ZONE_OFFSET.fullmatch(zone.strip())
    if match is None:
        return 0.0
    offset = int(match["hours"]) * 3600.0 + int(match["minutes"] or 0) * 60.0
    return -offset if match["sign"] == "-" else offset
