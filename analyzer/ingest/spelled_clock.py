"""Clock times and durations without colons: 0h01m23s, 1'02.5", 14.03.07, 2 days 01:02:03, ISO 8601's PT1M2.5S."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from analyzer.constants import DAY_S

_LETTERED: Final = re.compile(
    r"P?(?:(?P<days>\d+)\s*d(?:ays?)?,?\s*)?T?(?:(?P<hours>\d+)\s*h\s*)?(?:(?P<minutes>\d+)\s*m(?:in)?\s*)?"
    r"(?:(?P<seconds>\d+(?:[.,]\d+)?)\s*s(?:ec)?)?",
    re.IGNORECASE,
)
_PRIMED: Final = re.compile(r"(?P<minutes>\d{1,3})\s*['\u2032]\s*(?P<seconds>\d{1,2}(?:[.,]\d+)?)\s*(?:[\"\u2033]|'')?")
_SIGNED: Final = re.compile(
    r"(?P<hours>\d{1,2})(?P<sign>[.-])(?P<minutes>\d{2})(?P=sign)(?P<seconds>\d{2}(?:[.,]\d+)?)"
)
_DAYS_AND_CLOCK: Final = re.compile(
    r"(?P<days>\d+) days?,? (?P<hours>\d{1,2}):(?P<minutes>\d{2}):(?P<seconds>\d{2}(?:\.\d+)?)", re.IGNORECASE
)
_SIZES_S: Final = {"days": DAY_S, "hours": 3600.0, "minutes": 60.0, "seconds": 1.0}


def spelled_seconds(text: str) -> float:
    """Seconds of a clock time or duration that is written without colons; NaN when it is none.

    Examples
    --------
    >>> spelled_seconds("0h01m23.5s"), spelled_seconds("14.03.07"), spelled_seconds("2 days 00:00:01")
    (83.5, 50587.0, 172801.0)
    """
    for form in (_LETTERED, _PRIMED, _SIGNED, _DAYS_AND_CLOCK):
        match = form.fullmatch(text)
        parts = {name: part for name, part in match.groupdict().items() if name in _SIZES_S and part} if match else {}
        if parts:
            numbers = {name: float(part.replace(",", ".")) for name, part in parts.items()}
            most = {"hours": 24.0, "minutes": 60.0, "seconds": 60.0} if form is _SIGNED else {}
            sound = all(numbers[name] < limit for name, limit in most.items())
            return sum(_SIZES_S[name] * number for name, number in numbers.items()) if sound else np.nan
    return np.nan
