"""Times, counts and lists in sentences: notices, errors and screens say them alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def clock(seconds: float) -> str:
    """Time since the log's first sample as a pilot reads it: "3:07", "1:03:07"."""
    whole = round(abs(seconds))
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    sign = "-" if seconds < 0 and whole else ""
    return f"{sign}{hours}:{minutes:02d}:{rest:02d}" if hours else f"{sign}{minutes}:{rest:02d}"


def counted(count: int, noun: str) -> str:
    """Count things in words: "1 row", "3 rows"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def listed(names: Sequence[str], most: int = 12) -> str:
    """Name things in quotes; what is more than a line holds is counted."""
    shown = ", ".join(f"'{name[:40]}'" for name in names[:most])
    return f"{shown} and {len(names) - most} more" if len(names) > most else shown
