"""What is not logged itself but follows plainly from what is: height from pressure, a pack's voltage from its cells."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import (
    AIR_GAS_CONSTANT_J_KG_K,
    ISA_LAPSE_RATE_K_M,
    ISA_SEA_LEVEL_PRESSURE_PA,
    ISA_SEA_LEVEL_TEMPERATURE_K,
    STANDARD_GRAVITY_M_S2,
)
from analyzer.ingest.columns import words
from analyzer.ingest.columns.headers import readings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from analyzer.arrays import Array

MAX_CELLS: Final = 24

MILLIVOLTS_FROM: Final = 100.0
"""No cell has a hundred volts."""


def pressure_altitude_m(pressure_pa: Array) -> Array:
    """Pressure altitude of the ISO 2533 standard atmosphere.

    Parameters
    ----------
    pressure_pa : numpy.ndarray
        Static pressure, above 22 632 Pa (below 11 km, where the temperature gradient holds).

    Returns
    -------
    numpy.ndarray
        Geopotential height in metres above the level of 101 325 Pa.

    Notes
    -----
    ``H = T0 / L (1 - (p / p0)^(R L / g))`` with T0 = 288.15 K, L = 0.0065 K/m, p0 = 101 325 Pa, R = 287.05287 J/(kg K)
    and g = 9.80665 m/s2: ISO 2533:1975, clauses 2.1 to 2.7, solved for the height.

    Examples
    --------
    >>> import numpy as np
    >>> round(float(pressure_altitude_m(np.array(89_874.56))), 2)
    1000.0
    """
    exponent = AIR_GAS_CONSTANT_J_KG_K * ISA_LAPSE_RATE_K_M / STANDARD_GRAVITY_M_S2
    ratio = (pressure_pa / ISA_SEA_LEVEL_PRESSURE_PA) ** exponent
    return ISA_SEA_LEVEL_TEMPERATURE_K / ISA_LAPSE_RATE_K_M * (1.0 - ratio)


def find_cells(headers: Sequence[str], units: Sequence[str]) -> tuple[int, ...]:
    """Find the columns of a pack's single cells, numbered from 1 without a gap; none where a cell is missing."""
    found: dict[int, int] = {}
    for position, (header, unit) in enumerate(zip(headers, units, strict=True)):
        for reading in readings(header, unit):
            numbers = [int(word) for word in reading.words if word.isdigit() and len(word) <= 2]
            dimensions = {one.dimension for one in reading.units}
            named = len(reading.words) == 2 and not words.CELL.isdisjoint(reading.words)
            if named and len(numbers) == 1 and (not dimensions or "voltage" in dimensions):
                found.setdefault(numbers[0], position)
    complete = len(found) > 1 and sorted(found) == list(range(1, len(found) + 1)) and len(found) <= MAX_CELLS
    return tuple(found[number] for number in sorted(found)) if complete else ()


def cells_there(cells: Mapping[str, Array]) -> dict[str, Array]:
    """Columns of the cells that the pack has; none where one before the last has no value, as its wire is off."""
    filled = [header for header, values in cells.items() if np.isfinite(values).any()]
    return {header: cells[header] for header in filled} if filled == list(cells)[: len(filled)] else {}


def cell_volts(values: Array) -> Array:
    """Voltage of one cell in volts; lithium cells are between 2 and 4.5 V, so thousands are millivolts."""
    typical = float(np.nanmedian(values)) if np.isfinite(values).any() else np.nan
    return values / 1000.0 if typical > MILLIVOLTS_FROM else values
