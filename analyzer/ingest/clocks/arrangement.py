"""The rows of a table in order of time, one an instant: how to bring each of its columns there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from analyzer.ingest.clocks.repeats import Timeline, settle_repeats
from analyzer.ingest.clocks.stamps import fill_missing, order_stamps
from analyzer.ingest.text.labels import Labels

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.ingest.clocks.time_axis import TimeAxis
    from analyzer.records import Notice


@dataclass(frozen=True, eq=False)
class Arrangement:
    """How rows of a table become instants of a log.

    Attributes
    ----------
    rows : numpy.ndarray of int
        Rows of the table in order of time.
    timeline : Timeline
        Their times, and which of them are one instant.
    notices : tuple of Notice
        What was mended.
    table_rows : int
        Rows of the whole table.
    """

    rows: NDArray[np.intp]
    timeline: Timeline
    notices: tuple[Notice, ...]
    table_rows: int

    @property
    def seconds(self) -> NDArray[np.float64]:
        """Time of each instant from the first one, to the microsecond unless that would make two the same."""
        exact = self.timeline.seconds - self.timeline.seconds[0]
        rounded: NDArray[np.float64] = np.round(exact, 6)
        return rounded if bool(np.all(rounded[1:] > rounded[:-1])) else exact

    def numbers(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Arrange a column of numbers."""
        return self.timeline.merged(values if self._in_place else values[self.rows])

    def labels(self, labels: Labels) -> Labels:
        """Arrange a column of words."""
        if self.timeline.starts is None and self._in_place:
            return labels
        numbers = self.numbers(np.where(labels.codes < 0, np.nan, labels.codes))
        return Labels(np.where(np.isnan(numbers), -1, numbers).astype(np.int32), labels.words)

    @cached_property
    def _in_place(self) -> bool:
        """Whether all rows of the table stand in order already."""
        return self.rows.size == self.table_rows and bool(np.all(self.rows == np.arange(self.rows.size)))


def arrange(
    axis: TimeAxis, restarts: Sequence[int], columns: Sequence[NDArray[np.float64]], source: str
) -> Arrangement:
    """Arrange a table by its times.

    Parameters
    ----------
    axis : TimeAxis
        The time of each row.
    restarts : sequence of int
        Rows before which the file says that the logger started again.
    columns : sequence of numpy.ndarray
        What the rows hold.
    source : str
        What an error calls the log.

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
    ordered = order_stamps(seconds, axis.kind, restarts, source=source)
    in_order = ordered.rows.size == seconds.size and bool(np.all(np.diff(ordered.rows) == 1))
    timeline = settle_repeats(ordered.seconds, (values if in_order else values[ordered.rows] for values in columns))
    notices = (*notices, *ordered.notices, *timeline.notices)
    return Arrangement(ordered.rows, timeline, notices, seconds.size)
