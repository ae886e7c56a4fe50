"""A text table as read: what is wanted of it, and what came out, before anything is named or converted."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, Literal

from analyzer.errors import printable
from analyzer.records import Notice
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from analyzer.arrays import Array, Mask
    from analyzer.ingest.clocks.time_text import TimeKind, TimeText
    from analyzer.ingest.text.labels import Labels

MAX_SHOWN: Final = 40
"""Characters of a bad cell that a message shows."""

MOST_MARKS: Final = 2
"""So many words for "no reading" has one sensor."""

Role = Literal["number", "time", "label", "mixed", "coordinate", "pair"]
"""What a column is read as; "mixed" keeps number, unit and text of each cell (values of a long table)."""


@dataclass(frozen=True)
class Plan:
    """What to read: the role of each wanted column, and the kind of each time column that is text."""

    roles: Mapping[int, Role]
    time_kinds: Mapping[int, TimeKind]

    def text_types(self) -> dict[int, str]:
        """Columns that are read as text whatever they hold: as categories where few different words are looked at."""
        kinds = {"label": "category", "mixed": "category", "pair": "str"}
        types = {position: kinds[role] for position, role in self.roles.items() if role in kinds}
        return types | dict.fromkeys(self.time_kinds, "str")


@dataclass
class BadCells:
    """Cells of one column that hold something else than they should; `texts` are some of those that differ."""

    count: int = 0
    filled: int = 0
    first_line: int = 0
    first_text: str = ""
    texts: set[str] = field(default_factory=set)

    def note(self, bad: Mask, cells: pd.Series[Any], data_line: int) -> None:
        """Count the bad cells of a piece of the column; its index counts rows from the first line of data."""
        self.filled += int(cells.notna().sum())
        if not bad.any():
            return
        texts = [printable(str(text).strip()[:MAX_SHOWN]) for text in cells[bad].unique()[: MOST_MARKS + 1]]
        if not self.count:
            self.first_line, self.first_text = data_line + int(cells.index[int(bad.argmax())]), texts[0]
        if len(self.texts) <= MOST_MARKS:
            self.texts.update(texts)
        self.count += int(bad.sum())

    @property
    def are_marks(self) -> bool:
        """Whether they are a word or two again and again, by which a logger says that there is no reading."""
        return len(self.texts) <= MOST_MARKS and self.count > MOST_MARKS * len(self.texts)


@dataclass
class RawTable:
    """A table as read: columns by position, before anything is named or converted.

    Attributes
    ----------
    numbers : dict of int to numpy.ndarray
        Columns of numbers; NaN where there is none. A column of pairs holds latitudes, and longitudes at ``~position``.
    labels : dict of int to Labels
        Columns of words; at ``~position`` the units that the cells of a mixed column write behind their numbers.
    times : dict of int to TimeText
        Columns of times that are text.
    unit_texts : dict of int to str
        Units written behind the numbers themselves.
    bad : dict of int to BadCells
        What did not read, by column.
    rows : int
        Rows kept.
    lines : int
        Lines seen.
    repeated_headers : int
        How often the header stood again.
    no_data : BadCells
        Lines that hold no data: other text where the time should be, more cells than columns.
    cut_off : bool
        The last line ended in the middle, and was dropped.
    """

    numbers: dict[int, Array] = field(default_factory=dict)
    labels: dict[int, Labels] = field(default_factory=dict)
    times: dict[int, TimeText] = field(default_factory=dict)
    unit_texts: dict[int, str] = field(default_factory=dict)
    bad: dict[int, BadCells] = field(default_factory=dict)
    rows: int = 0
    lines: int = 0
    repeated_headers: int = 0
    no_data: BadCells = field(default_factory=BadCells)
    cut_off: bool = False

    def drop_last_row(self) -> None:
        """Drop the last row, which was cut off."""
        self.rows = max(0, self.rows - 1)
        self.numbers = {position: values[: self.rows] for position, values in self.numbers.items()}
        self.labels = {position: labels.taken(slice(self.rows)) for position, labels in self.labels.items()}
        for times in self.times.values():
            times.truncate(self.rows)
        self.cut_off = True

    def notices(self) -> tuple[Notice, ...]:
        """What was found between the rows."""
        notices = []
        if self.repeated_headers:
            message = f"the header stands again {self.repeated_headers}x inside the data"
            notices.append(Notice("header-repeated", message))
        if self.no_data.count:
            lost = self.no_data
            first = f" (first: line {lost.first_line}, '{lost.first_text}')" if lost.first_line else ""
            notices.append(
                Notice("rows-dropped", f"dropped {counted(lost.count, 'line')} not fitting the table{first}")
            )
        if self.cut_off:
            notices.append(Notice("log-cut-off", "the log stops in the middle of a row; the row was dropped"))
        return tuple(notices)
