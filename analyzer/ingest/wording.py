"""Counts and lists in messages."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def counted(count: int, noun: str) -> str:
    """Count things in words: "1 row", "3 rows"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def listed(names: Sequence[str], most: int = 12) -> str:
    """Name things in quotes; what is more than a line holds is counted."""
    shown = ", ".join(f"'{name[:40]}'" for name in names[:most])
    return f"{shown} and {len(names) - most} more" if len(names) > most else shown
