"""What a text table says, in order of time, its columns still as logged: the meeting point of wide and long tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    import numpy as np
    from numpy.typing import NDArray

    from analyzer.ingest.columns.choice import Candidate
    from analyzer.ingest.text.labels import Labels
    from analyzer.records import Notice


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

    seconds: NDArray[np.float64]
    columns: tuple[Candidate, ...]
    labels: Mapping[str, Labels]
    cells: Mapping[str, NDArray[np.float64]]
    time_header: str
    started_at: datetime | None
    headers: tuple[str, ...]
    notices: tuple[Notice, ...]
    kind: str = "a text table"
    place: str = ""
