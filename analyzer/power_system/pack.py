"""The pack: open-circuit voltage over state of charge, and resistance over temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import ZERO_CELSIUS_K

if TYPE_CHECKING:
    from analyzer.arrays import Array, Floats
    from analyzer.setup_file import Pack as PackSection


CHARGE_GRID: Final = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)

REST_CELL_V: Final[dict[str, tuple[float, ...]]] = {
    "lipo": (3.27, 3.61, 3.69, 3.73, 3.77, 3.80, 3.84, 3.87, 3.95, 4.02, 4.11, 4.20),
    "lihv": (3.27, 3.61, 3.69, 3.74, 3.79, 3.84, 3.90, 3.97, 4.05, 4.14, 4.24, 4.35),
    "liion": (2.80, 3.20, 3.35, 3.48, 3.55, 3.61, 3.68, 3.77, 3.86, 3.95, 4.05, 4.18),
    "life": (2.60, 3.05, 3.17, 3.23, 3.26, 3.28, 3.29, 3.30, 3.31, 3.32, 3.34, 3.50),
}
"""Rest voltage of one cell over `CHARGE_GRID`: tables as the trade passes them on (common practice, no source).

Cells of one chemistry differ by some 0.03 V in the middle of the charge; a log's own rest voltage is better.
"""

DEFAULT_LOWEST_CELL_V: Final[dict[str, float]] = {"lipo": 3.3, "lihv": 3.3, "liion": 2.8, "life": 2.6}
"""Lowest cell voltage under load where the setup names none (common practice, no source)."""

USABLE_CHARGE: Final = 0.8
"""Share of the rated capacity that is flown before landing (common practice, no source)."""

DEFAULT_RESISTANCE_OHM_AH_PER_CELL: Final = 0.012
"""Cell resistance times capacity of a sound pack in the warm, leads included (common practice, no source)."""

ACTIVATION_TEMPERATURE_K: Final = 2600.0
"""Of R = R25 exp(Ta (1/T - 1/298 K)): resistance doubles from 25 to about 3 C (common practice, no source)."""

RESISTANCE_REFERENCE_K: Final = ZERO_CELSIUS_K + 25.0


@dataclass(frozen=True, slots=True)
class PackModel:
    """Cells in series, rated capacity, resistance and chemistry. The resistance may be an array that broadcasts."""

    cells: int
    capacity_ah: float | None
    resistance_ohm: Floats
    chemistry: str = "lipo"
    lowest_cell_v: float = DEFAULT_LOWEST_CELL_V["lipo"]

    @property
    def lowest_voltage_v(self) -> float:
        """Lowest pack voltage under load."""
        return self.cells * self.lowest_cell_v


def pack_model(section: PackSection, temperature_c: float | None = None) -> PackModel:
    """The model of a setup's ``[pack]``, whose number of cells must be there, at a temperature where one is given.

    A missing resistance is estimated from the capacity.
    """
    cells = section.cells or 0
    resistance = section.internal_resistance_ohm
    if resistance is None:
        resistance = cells * DEFAULT_RESISTANCE_OHM_AH_PER_CELL / (section.capacity_ah or 2.0)
    if temperature_c is not None:
        resistance = float(np.asarray(resistance_at(resistance, temperature_c)))
    lowest = section.min_cell_v if section.min_cell_v is not None else DEFAULT_LOWEST_CELL_V[section.chemistry]
    return PackModel(cells, section.capacity_ah, resistance, section.chemistry, lowest)


def open_circuit_v(pack: PackModel, state_of_charge: Floats) -> Array:
    """Rest voltage of the pack at a state of charge of 0 to 1 (clipped), linear between the table's points."""
    cell_v = np.asarray(np.interp(state_of_charge, CHARGE_GRID, REST_CELL_V[pack.chemistry]), float)
    return np.asarray(pack.cells * cell_v)


def resistance_at(resistance_25c_ohm: Floats, temperature_c: Floats) -> Floats:
    """Resistance at a cell temperature, R25 exp(Ta (1/T - 1/298.15)); of use from -10 to 60 C."""
    temperature_k = ZERO_CELSIUS_K + temperature_c
    return resistance_25c_ohm * np.exp(ACTIVATION_TEMPERATURE_K * (1.0 / temperature_k - 1.0 / RESISTANCE_REFERENCE_K))
