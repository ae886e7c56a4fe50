"""Clock times as text and as numbers: 14:03:07.5, 2:03 pm, 0h01m23s, 1'02.5", 14.03.07, PT1M2.5S, 140307."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import DAY_S

if TYPE_CHECKING:
    from analyzer.arrays import Array

CLOCK: Final = r"[+-]?\d{1,3}:\d{1,2}(?::\d{1,2})?(?:[.,:]\d+)?\s*(?:[aApP]\.?[mM]\.?)?"
ZONE: Final = r"(?:\s*(?:[zZ]|UTC|GMT|[+-]\d{2}:?\d{2}|[+-]\d{2})|\s+[A-Z]{3,4})?"
"""A clock time and a zone as parts of longer patterns, without groups; a zone by its letters ("CEST") may be anything.
"""

LONGEST_STEP_S: Final = 10.0
"""Telemetry samples at least every ten seconds."""

_PACKED_DAY: Final = 240_000.0
_PACKED_JUMP: Final = 40.0
"""From 59 to 100, in a clock time written as one number."""

_CLOCK: Final = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<hour>\d{1,3}):)?(?P<minute>\d{1,3}):(?P<second>\d{1,2})(?:[.,:](?P<fraction>\d+))?"
    r"\s*(?P<half>[aApP]?)\.?(?:[mM]\.?)?"
)
_LETTERED_ZONE: Final = re.compile(r"\s+(?!UTC|GMT)[A-Z]{3,4}")
_ZONE_OFFSET: Final = re.compile(r"(?P<sign>[+-])(?P<hours>\d{2}):?(?P<minutes>\d{2})?")
_PACKED: Final = re.compile(r"\d{6}(?:[.,]\d+)?")
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


def clock_seconds(text: str) -> float:
    """Seconds from midnight of a clock time; two parts are minutes and seconds. NaN when it is none.

    Examples
    --------
    >>> clock_seconds("12:30:01,5"), clock_seconds("1:02 pm"), clock_seconds("02:30.5")
    (45001.5, 46920.0, 150.5)
    >>> clock_seconds("0h01m23.5s"), clock_seconds("14.03.07"), clock_seconds("2 days 00:00:01")
    (83.5, 50587.0, 172801.0)
    """
    if _PACKED.fullmatch(text):
        text = f"{text[:2]}:{text[2:4]}:{text[4:]}"
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return _spelled_seconds(text.strip())
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


def _spelled_seconds(text: str) -> float:
    """Seconds of a clock time or duration that is written without colons; NaN when it is none."""
    for form in (_LETTERED, _PRIMED, _SIGNED, _DAYS_AND_CLOCK):
        match = form.fullmatch(text)
        parts = {name: part for name, part in match.groupdict().items() if name in _SIZES_S and part} if match else {}
        if parts:
            numbers = {name: float(part.replace(",", ".")) for name, part in parts.items()}
            most = {"hours": 24.0, "minutes": 60.0, "seconds": 60.0} if form is _SIGNED else {}
            sound = all(numbers[name] < limit for name, limit in most.items())
            return sum(_SIZES_S[name] * number for name, number in numbers.items()) if sound else np.nan
    return np.nan


def zone_is_known(zone: str) -> bool:
    """Whether a zone as written tells the offset from UTC; the letters of zones are used twice over the world."""
    return bool(zone) and _LETTERED_ZONE.fullmatch(zone) is None


def zone_offset_s(zone: str) -> float:
    """Seconds east of UTC."""
    match = _ZONE_OFFSET.fullmatch(zone.strip())
    if match is None:
        return 0.0
    offset = int(match["hours"]) * 3600.0 + int(match["minutes"] or 0) * 60.0
    return -offset if match["sign"] == "-" else offset


def packed_clock_s(numbers: Array) -> Array | None:
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
        if sound.all() and jumps.any() and np.median(np.minimum(steps_s, DAY_S - steps_s)) <= LONGEST_STEP_S:
            return _unpacked(numbers * scale)
    return None


def _unpacked(packed: Array) -> Array:
    return packed // 10_000.0 * 3600.0 + packed // 100.0 % 100.0 * 60.0 + packed % 100.0
