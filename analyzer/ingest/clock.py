"""Time cells that are text: clock times, dates, date-times with and without a zone."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
import pandas as pd

from analyzer.ingest.cells import CLOCK, DATE, MISSING, ZONE, kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

DAY_S: Final = 86_400.0

TimeKind = Literal["number", "clock", "date", "date-time"]
DateOrder = Literal["day-month", "month-day", "unknown"]

_CLOCK: Final = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<hour>\d{1,3}):)?(?P<minute>\d{1,3}):(?P<second>\d{1,2})(?:[.,:](?P<fraction>\d+))?"
    r"\s*(?P<half>[aApP]?)\.?(?:[mM]\.?)?"
)
_DATE_TIME: Final = re.compile(
    rf"(?P<date>{DATE}|\d{{8}})(?:T|\s+|_)(?P<clock>{CLOCK}|\d{{6}}(?:[.,]\d+)?)(?P<zone>{ZONE})"
)
_DATE: Final = re.compile(DATE)
_ZONE_OFFSET: Final = re.compile(r"(?P<sign>[+-])(?P<hours>\d{2}):?(?P<minutes>\d{2})?")
_MONTHS: Final = {
    name: number
    for number, names in enumerate(
        (
            "jan",
            "feb fév",
            "mar mär",
            "apr avr",
            "may mai",
            "jun",
            "jul",
            "aug",
            "sep",
            "oct okt",
            "nov",
            "dec dez déc",
        ),
        1,
    )
    for name in names.split()
}


def time_kind(sample: Iterable[str]) -> TimeKind | None:
    """What kind of time most cells of a column hold; None when they are neither times nor numbers."""
    kinds: Counter[TimeKind | None] = Counter()
    for cell in sample:
        text = cell.strip()
        if kind_of(text) == "number":
            kinds["number"] += 1
        elif _DATE_TIME.fullmatch(text):
            kinds["date-time"] += 1
        elif _DATE.fullmatch(text):
            kinds["date"] += 1
        else:
            kinds["clock" if _CLOCK.fullmatch(text) else None] += 1
    return kinds.most_common(1)[0][0] if kinds else None


class TimeText:
    """The times of one column, gathered piece by piece.

    Date-times in ISO 8601 are parsed by pandas as a whole; cells that it does not know are taken apart one by one.
    Dates are kept as written until all are known, because only then their order of day and month can be told.
    """

    def __init__(self, kind: TimeKind) -> None:
        self.kind = kind
        self.zone_given = False
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
            return seconds, "day-month"
        order = date_order(list(self._dates))
        days = np.array(
            [*(_days(text, "month-day" if order == "month-day" else "day-month") for text in self._dates), 0.0]
        )
        return seconds + DAY_S * days[codes], order

    def _iso_seconds(self, texts: pd.Series[str]) -> NDArray[np.float64]:
        if self.kind == "date":
            return np.full(len(texts), np.nan)
        stamped = "1970-01-01T" + texts if self.kind == "clock" else texts
        parsed = pd.to_datetime(stamped, format="ISO8601", utc=True, errors="coerce")
        if self.kind == "date-time" and not self.zone_given:
            first = (_DATE_TIME.fullmatch(text) for text in texts.head(3).dropna())
            self.zone_given = any(match is not None and match["zone"] for match in first)
        micros = parsed.dt.as_unit("us").to_numpy(dtype="datetime64[us]")
        return np.where(np.isnat(micros), np.nan, micros.astype(np.int64) / 1e6)

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
        return np.nan
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
    parts = [text[:4], text[4:6], text[6:]] if text.isdigit() else re.split(r"[-/. ]", text)
    try:
        if parts[1][:1].isalpha():
            year, month, day = int(parts[2]), _MONTHS[parts[1][:3].casefold()], int(parts[0])
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
