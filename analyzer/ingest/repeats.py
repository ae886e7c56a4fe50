"""Rows that share one time stamp: sensors that report together, lines written twice, clocks coarser than sampling."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.wording import counted
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

SPORADIC_SHARE: Final = 0.05
"""Up to this share of stamps that repeat with different values, the repeats are slips; above, the clock is coarse."""


@dataclass(frozen=True)
class Timeline:
    """One instant a row.

    Attributes
    ----------
    seconds : numpy.ndarray
        Strictly increasing.
    starts : numpy.ndarray of int, optional
        Where the rows of each instant begin, for rows to be merged; None where each row is an instant.
    notices : tuple of Notice
        What was spread, merged or dropped.
    """

    seconds: NDArray[np.float64]
    starts: NDArray[np.intp] | None = None
    notices: tuple[Notice, ...] = ()

    def merged(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the values of ordered rows one row an instant: the first that is there."""
        if self.starts is None:
            return values
        rows = np.where(np.isnan(values), values.size, np.arange(values.size))
        first = np.minimum.reduceat(rows, self.starts)
        return np.append(values, np.nan)[first]


def settle_repeats(stamps: NDArray[np.float64], columns: Iterable[NDArray[np.float64]]) -> Timeline:
    """Make ordered stamps strictly increasing.

    Rows of one stamp that do not contradict each other are one instant (a sparse table: each sensor on a line of its
    own). Where only few stamps repeat with other values, the first is kept. Where many do, the clock is coarser than
    the sampling (whole seconds at 5 Hz), and the rows are spread evenly up to the next stamp.

    Parameters
    ----------
    stamps : numpy.ndarray, shape (rows,)
        Never running backward.
    columns : iterable of numpy.ndarray, each of shape (rows,)
        What the rows hold, NaN where nothing.
    """
    if bool(np.all(stamps[1:] > stamps[:-1])):
        return Timeline(stamps)
    starts = np.flatnonzero(np.append(True, stamps[1:] > stamps[:-1]))
    sizes = np.diff(np.append(starts, stamps.size))
    contradicting = np.zeros(starts.size, dtype=bool)
    for values in columns:
        highest, lowest = np.fmax.reduceat(values, starts), np.fmin.reduceat(values, starts)
        contradicting |= highest > lowest
    if np.mean(contradicting) > SPORADIC_SHARE:
        return _spread(stamps, starts, sizes)
    dropped, merged = int(np.sum(sizes[contradicting] - 1)), int(np.sum(sizes[~contradicting] - 1))
    notices = (
        [Notice("rows-merged", f"joined {counted(merged, 'row')} to the row of the same time before")] if merged else []
    )
    if dropped:
        notices.append(
            Notice(
                "rows-repeated",
                f"dropped {counted(dropped, 'row')} repeating the time of the row before with other values",
            )
        )
    return Timeline(stamps[starts], starts, tuple(notices))


def _spread(stamps: NDArray[np.float64], starts: NDArray[np.intp], sizes: NDArray[np.intp]) -> Timeline:
    """Spread rows evenly within the tick of a coarse clock; the first and last tick may be cut short."""
    ticks = stamps[starts]
    gaps = np.diff(ticks)
    tick_s = float(np.median(gaps)) if gaps.size else 1.0
    widths = np.minimum(np.append(gaps, tick_s), tick_s)
    usual = float(np.median(sizes))
    shares = sizes.astype(np.float64)
    shares[[0, -1]] = np.maximum(shares[[0, -1]], usual)
    within = np.arange(stamps.size) - np.repeat(starts, sizes)
    within = within + np.where(np.arange(stamps.size) < sizes[0], shares[0] - sizes[0], 0.0)
    seconds = stamps + within / np.repeat(shares, sizes) * np.repeat(widths, sizes)
    message = f"the clock ticks every {tick_s:g} s with about {usual:g} samples a tick; spread them evenly"
    return Timeline(seconds, None, (Notice("stamps-spread", message),))
