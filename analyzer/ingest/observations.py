"""What a text table says, in order of time, its columns still as logged: the meeting point of wide and long tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from analyzer.ingest.text.raw_table import BadCells
from analyzer.records import Notice
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from analyzer.arrays import Array
    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.text.labels import Labels


@dataclass(frozen=True, eq=False)
class Candidate:
    """One column, and the channels it may be.

    Attributes
    ----------
    position : int
        Place in the table; of the longitudes of a column of pairs, its complement.
    header : str
        As written.
    meanings : tuple of Meaning
        What it may be.
    values : numpy.ndarray
        As logged, in order of time, NaN where there is none.
    explicit : bool
        The user's column map says so.
    bad : BadCells
        Cells of it that did not read.
    cell_unit : str
        The unit that its cells write behind their numbers, or "".
    """

    position: int
    header: str
    meanings: tuple[Meaning, ...]
    values: Array
    explicit: bool = False
    bad: BadCells = field(default_factory=BadCells)
    cell_unit: str = ""

    @property
    def meaning(self) -> Meaning:
        """Its only, or first, meaning."""
        return self.meanings[0]

    @cached_property
    def ends(self) -> tuple[float, float]:
        """Its lowest and highest value; NaN where it has none."""
        return float(np.fmin.reduce(self.values)), float(np.fmax.reduce(self.values))

    @property
    def varies(self) -> bool:
        """Whether it holds more than one value."""
        return self.ends[1] > self.ends[0]


@dataclass(frozen=True, eq=False)
class Observations:
    """A table in order of time.

    Attributes
    ----------
    seconds : numpy.ndarray
        Strictly increasing from 0.
    columns : tuple of Candidate
        Columns of numbers.
    labels : dict of str to Labels
        Columns of words, by header, the best named first.
    cells : dict of str to numpy.ndarray
        Voltages of all single cells of the pack, by header; empty where one is not logged.
    time_header : str
        Where the time comes from.
    started_at : datetime, optional
        Wall-clock time of the first sample.
    headers : tuple of str
        All headers of the file.
    notices : tuple of Notice
        What was found and mended so far.
    kind : str
        What kind of file it was.
    place : str
        Where the file says it was recorded.
    """

    seconds: Array
    columns: tuple[Candidate, ...]
    labels: Mapping[str, Labels]
    cells: Mapping[str, Array]
    time_header: str
    started_at: datetime | None
    headers: tuple[str, ...]
    notices: tuple[Notice, ...]
    kind: str = "a text table"
    place: str = ""


def unused(headers: Sequence[str]) -> tuple[Notice, ...]:
    """Name the columns that mean nothing to the channel table."""
    return (Notice("column-ignored", f"not used: {listed(headers)}"),) if headers else ()
