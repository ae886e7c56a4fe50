"""Single cells of a pack, to be summed where the pack's own voltage is not logged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.ingest.columns import words
from analyzer.ingest.columns.headers import readings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

MAX_CELLS: Final = 24

MILLIVOLTS_FROM: Final = 100.0
"""No cell has a hundred volts."""


@dataclass(frozen=True, slots=True)
class CellColumn:
    """A column that holds the voltage of one cell of the pack."""

    position: int
    number: int


def find_cells(headers: Sequence[str], units: Sequence[str]) -> tuple[CellColumn, ...]:
    """Find the columns of single cells, numbered from 1 without a gap; empty where a cell is missing."""
    found: dict[int, CellColumn] = {}
    for position, (header, unit) in enumerate(zip(headers, units, strict=True)):
        for reading in readings(header, unit):
            numbers = [int(word) for word in reading.words if word.isdigit() and len(word) <= 2]
            dimensions = {one.dimension for one in reading.units}
            named = len(reading.words) == 2 and not words.CELL.isdisjoint(reading.words)
            if named and len(numbers) == 1 and (not dimensions or "voltage" in dimensions):
                found.setdefault(numbers[0], CellColumn(position, numbers[0]))
    complete = len(found) > 1 and sorted(found) == list(range(1, len(found) + 1)) and len(found) <= MAX_CELLS
    return tuple(found[number] for number in sorted(found)) if complete else ()


def cells_there(cells: Mapping[str, NDArray[np.float64]]) -> dict[str, NDArray[np.float64]]:
    """Columns of the cells that the pack has; none where one before the last has no value, as its wire is off."""
    filled = [header for header, values in cells.items() if np.isfinite(values).any()]
    return {header: cells[header] for header in filled} if filled == list(cells)[: len(filled)] else {}


def cell_volts(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Voltage of one cell in volts; lithium cells are between 2 and 4.5 V, so thousands are millivolts."""
    typical = float(np.nanmedian(values)) if np.isfinite(values).any() else np.nan
    return values / 1000.0 if typical > MILLIVOLTS_FROM else values
