"""Headers inside the data, as a logger writes that is switched on again: whether they name the same columns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.errors import LogFileError
from analyzer.ingest.columns.meaning import meanings
from analyzer.wording import listed

if TYPE_CHECKING:
    import pandas as pd

    from analyzer.ingest.text.layout import Layout
    from analyzer.units import Unit

MOST_ROWS: Final = 100
"""Rows without data that are looked at in a piece; a logger is not switched on oftener."""

MIN_TERMS: Final = 2
"""A line of text that holds one trade term is a remark."""


def check_headers(rows: pd.DataFrame, layout: Layout) -> None:
    """Look for headers under which a column holds another channel, or another unit, than under the first one.

    Parameters
    ----------
    rows : pandas.DataFrame
        Rows without data, as read; the index counts from the first line of data.
    layout : Layout
        The table.

    Raises
    ------
    LogFileError
        When there is one: what follows it would be read as something else.
    """
    for line, row in rows.head(MOST_ROWS).iterrows():
        cells = [str(cell).strip(" #%*/") if there else "" for cell, there in zip(row, row.notna(), strict=True)]
        if (other := _other_channel(cells, layout)) is not None:
            header, name = cells[other], f"{layout.names[other]} {layout.units[other]}".strip()
            raise LogFileError(
                f"another header ({listed([cell for cell in cells if cell][:4])}) stands inside the data: "
                f"'{header}' where the first has '{name}'",
                where=f"line {layout.data_line + int(str(line))}",
                remedy="cut the file before this line",
            )


def _other_channel(cells: list[str], layout: Layout) -> int | None:
    """Position of the first column that a header calls something else; None where it is no header, or the same."""
    named = [_units(cell) for cell in cells]
    filled = sum(bool(cell) for cell in cells)
    terms = sum(bool(names) for names in named)
    if terms < MIN_TERMS or 2 * terms <= filled:
        return None
    first = [_units(*heading) for heading in zip(layout.names, layout.units, strict=True)]
    pairs = enumerate(zip(named, first, strict=False))
    return next((i for i, (one, other) in pairs if one and other and not _agree(one, other)), None)


def _units(text: str, unit_text: str = "") -> dict[str, Unit | None]:
    """The channels that a header may mean, and the unit it names for each."""
    return {one.channel.name: one.unit for one in meanings(text, unit_text)} if text else {}


def _agree(one: dict[str, Unit | None], other: dict[str, Unit | None]) -> bool:
    """Whether two headers may mean one channel, in one unit where both name one."""
    return any(None in (one[name], other[name]) or one[name] == other[name] for name in one.keys() & other.keys())
