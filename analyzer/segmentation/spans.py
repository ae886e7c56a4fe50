"""Stretches of samples, and of time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.conditioning.stretches import stretches_of

if TYPE_CHECKING:
    from analyzer.arrays import Mask

Span = tuple[float, float]
"""Start and end, in seconds."""

Rows = tuple[int, int]
"""The first row, and one past the last."""


def spans_of(mask: Mask, least: int = 1) -> list[Rows]:
    """First index and one past the last of every stretch of True that is at least so long, in order."""
    first, last = stretches_of(mask).T
    long = last - first >= least
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))
