"""The rows of a table in order of time, one an instant: how to bring each of its columns there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.ingest.clocks.repeats import Timeline, settle_repeats
from analyzer.ingest.clocks.stamps import order_stamps
from analyzer.ingest.clocks.stray_stamps import fill_missing
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
    rows : numpy.ndarray of int, or slice
        What to take from the table, in order of time.
    first_row : int
        The first of them.
    timeline : Timeline
        Their times, and which of them are one instant.
    notices : tuple of Notice
        What was mended.
    """

    rows: NDArray[np.intp] | slice
    first_row: int
    timeline: Timeline
    notices: tuple[Notice, ...]

    @property
    def seconds(self) -> NDArray[np.float64]:
        """Time of each instant from the first one, to the microsecond unless that would make two the same."""
        exact = self.timeline.seconds - self.timeline.seconds[0]
        rounded: NDArray[np.float64] = np.round(exact, 6)
        return rounded if bool(np.all(rounded[1:] > rounded[:-1])) else exact

    def numbers(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Arrange a column of numbers."""
        return self.timeline.merged(values[self.rows])

    def labels(self, labels: Labels) -> Labels:
        """Arrange a column of words."""
        labels = labels.taken(self.rows)
        if self.timeline.starts is None:
            return labels
        numbers = self.timeline.merged(np.where(labels.codes < 0, np.nan, labels.codes))
        return Labels(np.where(np.isnan(numbers), -1, numbers).astype(np.int32), labels.words)


def arrange(axis: TimeAxis, columns: Sequence[NDArray[np.float64]], source: str) -> Arrangement:
    """Arrange a table by its times.

    Parameters
    ----------
    axis : TimeAxis
        The time of each row.
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
    ordered = order_stamps(seconds, axis.kind, source)
    rows = ordered.selection(seconds.size)
    timeline = settle_repeats(ordered.seconds, (values[rows] for values in columns))
    return Arrangement(rows, int(ordered.rows[0]), timeline, (*notices, *ordered.notices, *timeline.notices))
