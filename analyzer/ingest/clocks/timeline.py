"""The rows of a table in order of time, one an instant: how to bring each of its columns there.

Rows may share a time stamp: sensors that report together, lines written twice, a clock coarser than the sampling.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.clocks.stamps import order_stamps
from analyzer.ingest.clocks.stray_stamps import fill_missing
from analyzer.ingest.text.labels import Labels
from analyzer.records import Notice
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analyzer.arrays import Array, Indices
    from analyzer.ingest.clocks.time_axis import TimeAxis

SPORADIC_SHARE: Final = 0.05
"""Up to this share of stamps that repeat with different values, single stamps are stale; above, the clock is coarse."""


@dataclass(frozen=True, eq=False)
class Timeline:
    """The instants of a log, and how rows of a table become them.

    Attributes
    ----------
    stamps : numpy.ndarray
        Strictly increasing.
    starts : numpy.ndarray of int, optional
        Where the rows of each instant begin, for rows to be merged; None where each row is an instant.
    notices : tuple of Notice
        What was mended, spread, merged or dropped.
    rows : numpy.ndarray of int, or slice
        What to take from the table, in order of time.
    first_row : int
        The first of them.
    """

    stamps: Array
    starts: Indices | None = None
    notices: tuple[Notice, ...] = ()
    rows: Indices | slice = field(default_factory=lambda: slice(None))
    first_row: int = 0

    @property
    def seconds(self) -> Array:
        """Time of each instant from the first one, to the microsecond unless that would make two the same."""
        exact = self.stamps - self.stamps[0]
        rounded: Array = np.round(exact, 6)
        return rounded if bool(np.all(rounded[1:] > rounded[:-1])) else exact

    def numbers(self, values: Array) -> Array:
        """Bring a column of numbers there; of the rows of one instant the first that holds one."""
        values = values[self.rows]
        if self.starts is None:
            return values
        rows = np.where(np.isnan(values), values.size, np.arange(values.size))
        first = np.minimum.reduceat(rows, self.starts)
        return np.append(values, np.nan)[first]

    def labels(self, labels: Labels) -> Labels:
        """Bring a column of words there."""
        if self.starts is None:
            return labels.taken(self.rows)
        numbers = self.numbers(np.where(labels.codes < 0, np.nan, labels.codes))
        return Labels(np.where(np.isnan(numbers), -1, numbers).astype(np.int32), labels.words)


def arrange(axis: TimeAxis, columns: Sequence[Array]) -> Timeline:
    """Arrange a table by its times.

    Parameters
    ----------
    axis : TimeAxis
        The time of each row.
    columns : sequence of numpy.ndarray
        What the rows hold.

    Raises
    ------
    LogFileError
        As `order_stamps`.
    """
    seconds = axis.seconds
    notices: tuple[Notice, ...] = ()
    if np.isnan(seconds).any():
        filled = np.zeros(seconds.size, dtype=bool)
        for values in columns:
            filled |= np.isfinite(values)
        seconds, notices = fill_missing(seconds, filled)
    ordered = order_stamps(seconds, axis.kind)
    rows = ordered.selection(seconds.size)
    timeline = settle_repeats(ordered.seconds, (values[rows] for values in columns))
    notices = (*notices, *ordered.notices, *timeline.notices)
    return replace(timeline, notices=notices, rows=rows, first_row=int(ordered.rows[0]))


def settle_repeats(stamps: Array, columns: Iterable[Array]) -> Timeline:
    """Make ordered stamps strictly increasing.

    Rows of one stamp that do not contradict each other are one instant (a sparse table: each sensor on a line of its
    own), and are joined. Rows that do are instants of their own whose stamp is stale, and are spread evenly up to the
    next stamp. Where that is so of many stamps, the clock is coarser than the sampling (whole seconds at 5 Hz), and all
    rows are spread within its ticks.

    Parameters
    ----------
    stamps : numpy.ndarray, shape (rows,)
        Never running backward.
    columns : iterable of numpy.ndarray, each of shape (rows,)
        What the rows hold, NaN where nothing.
    """
    if bool(np.all(stamps[1:] > stamps[:-1])):
        return Timeline(stamps)
    groups = _Groups.of(stamps)
    several = groups.sizes > 1
    rows, sizes = np.flatnonzero(np.repeat(several, groups.sizes)), groups.sizes[several]
    starts = np.cumsum(sizes) - sizes
    contradicting = np.zeros(groups.ticks.size, dtype=bool)
    for values in columns:
        together = values[rows]
        contradicting[several] |= np.fmax.reduceat(together, starts) > np.fmin.reduceat(together, starts)
    if np.mean(contradicting) > SPORADIC_SHARE:
        message = (
            f"the clock ticks every {groups.tick_s:g} s with about {np.median(groups.sizes):g} samples a tick; "
            "they are spread evenly"
        )
        return Timeline(stamps + groups.within_ticks(), None, (Notice("stamps-spread", message),))
    spread = np.repeat(contradicting, groups.sizes)
    own = spread | (groups.place == 0)
    stale, joined = int(np.sum(own & (groups.place > 0))), int(np.sum(~own))
    notices = []
    if joined:
        notices.append(Notice("rows-merged", f"joined {counted(joined, 'row')} to the row of the same time before"))
    if stale:
        message = (
            f"{counted(stale, 'row')} with the time of the row before, but other values, set between their neighbours"
        )
        notices.append(Notice("stamps-repeated", message))
    seconds = stamps + np.where(spread, groups.after_stale_stamps(), 0.0)
    return Timeline(seconds[own], np.flatnonzero(own) if joined else None, tuple(notices))


@dataclass(frozen=True, eq=False)
class _Groups:
    """Rows grouped by their stamp.

    Attributes
    ----------
    starts, sizes, ticks : numpy.ndarray
        First row, number of rows and stamp of each group.
    place : numpy.ndarray
        Place of each row in its group, from 0.
    """

    starts: Indices
    sizes: Indices
    ticks: Array
    place: Indices

    @classmethod
    def of(cls, stamps: Array) -> _Groups:
        starts = np.flatnonzero(np.append(True, stamps[1:] > stamps[:-1]))
        sizes = np.diff(np.append(starts, stamps.size))
        return cls(starts, sizes, stamps[starts], np.arange(stamps.size) - np.repeat(starts, sizes))

    @property
    def tick_s(self) -> float:
        """The usual step from stamp to stamp; a second where there is only one."""
        return float(np.median(np.diff(self.ticks))) if self.ticks.size > 1 else 1.0

    def after_stale_stamps(self) -> Array:
        """Offsets that set rows evenly up to the next stamp, no further apart than samples usually are."""
        gaps = np.append(np.diff(self.ticks), np.inf)
        widths = np.minimum(gaps, self.sizes * self.tick_s)
        offsets: Array = self.place * np.repeat(widths / self.sizes, self.sizes)
        return offsets

    def within_ticks(self) -> Array:
        """Offsets that set rows evenly within each tick; the first and the last tick may be cut short."""
        widths = np.minimum(np.append(np.diff(self.ticks), self.tick_s), self.tick_s)
        whole = self.sizes.astype(np.float64)
        usual = np.median(self.sizes[1:-1]) if self.sizes.size > 2 else self.sizes.max()
        whole[[0, -1]] = np.maximum(whole[[0, -1]], usual)
        missing = np.zeros(self.sizes.size)
        missing[0] = whole[0] - self.sizes[0]  # a log starts somewhere in its first tick, which it ends
        places = self.place + np.repeat(missing, self.sizes)
        offsets: Array = places * np.repeat(widths / whole, self.sizes)
        return offsets
