"""Variants of a prediction: what is uncertain is moved to the edges of its 95 % interval, one thing at a time.

The prediction is solved once as it stands and twice for every uncertain direction (to either edge), all in one
call. For independent directions the half-widths of a result add in squares; upward and downward ones are kept
apart, so that an interval may be lopsided.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import NORMAL_95
from analyzer.power_system.propeller_curves import PropellerBank

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices
    from analyzer.power_system.propeller_curves import PropellerCurves


PARAMETERS: Final = (
    "power",
    "thrust",
    "speed_constant",
    "motor_resistance",
    "pack_resistance",
    "gearbox_efficiency",
    "zero_lift_drag",
    "rest_cell_v",
)
"""What a direction can move: factors, as natural logarithms; the rest voltage of a cell, as volts."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """What measurement says of the parameters.

    Attributes
    ----------
    offsets : array, shape (p,), or (propellers, p) where each propeller has its own
        Best values of `PARAMETERS`, relative to the setup.
    directions : array, shape (d, p) or (d, propellers, p)
        Independent directions of what is still uncertain, one standard deviation each.
    """

    offsets: Array
    directions: Array


@dataclass(frozen=True, slots=True)
class Variants:
    """The prediction as it stands (index 0), then both edges of each direction in turn.

    Attributes
    ----------
    steps : array, shape (s, 1 or propellers, p)
        Offsets of `PARAMETERS` in every variant.
    bank : PropellerBank
        Rows of every propeller and every mode's edges.
    rows : array of int, shape (s, propellers, 1)
        Row of the bank for each variant and propeller.
    """

    steps: Array
    bank: PropellerBank
    rows: Indices

    def factor(self, parameter: str) -> Array:
        """Factor on a parameter, shape (s, 1 or propellers, 1)."""
        factor: Array = np.exp(self.offset(parameter))
        return factor

    def offset(self, parameter: str) -> Array:
        """Offset of a parameter, shape (s, 1 or propellers, 1)."""
        return self.steps[:, :, PARAMETERS.index(parameter), None]

    def centre(self) -> Variants:
        """The prediction as it stands, alone."""
        return Variants(self.steps[:1], self.bank, self.rows[:1])


def variants(curves: Sequence[PropellerCurves], calibration: Calibration) -> Variants:
    """Lay out all variants of some propellers.

    Parameters
    ----------
    curves : sequence of PropellerCurves
        At least one.
    calibration : Calibration
        Of everything but the propellers' own modes.
    """
    modes = max(len(one.thrust_modes) for one in curves)
    tables = np.stack([_edges(one, modes) for one in curves], axis=1)
    each = 1 + 2 * modes
    bank = PropellerBank(
        tables=tables.reshape(2, -1, *tables.shape[3:]),
        advance_scale=np.repeat([one.advance_scale for one in curves], each),
        diameter_m=np.repeat([one.propeller.diameter_m for one in curves], each),
    )
    steps = _steps(calibration, modes)
    moved = len(steps) - each
    inside = np.concatenate((np.zeros(1 + moved, dtype=np.intp), np.arange(1, each)))
    rows = inside[:, None] + each * np.arange(len(curves))
    return Variants(steps, bank, rows[:, :, None])


def _steps(calibration: Calibration, modes: int) -> Array:
    """Offsets of the parameters: as they stand, at both edges of each direction, then still for the modes' edges."""
    directions = calibration.directions
    edges = NORMAL_95 * (directions if directions.ndim == 3 else directions[:, None, :])
    moved = np.stack((edges, -edges), axis=1).reshape(-1, *edges.shape[1:])
    still = np.zeros((1, *edges.shape[1:]))
    steps: Array = np.concatenate((still, moved, np.repeat(still, 2 * modes, axis=0)))
    return np.atleast_2d(calibration.offsets) + steps


def _edges(curves: PropellerCurves, modes: int) -> Array:
    """C_T and C_P as they stand, then at both edges of each mode; missing modes stand still. (2, 1 + 2m, x, re)."""
    centre = np.stack((curves.thrust, curves.power))
    own = np.stack((curves.thrust_modes, curves.power_modes)) * student_95(curves.degrees_of_freedom)
    padded = np.zeros((2, modes, *centre.shape[1:]))
    padded[:, : own.shape[1]] = own
    moved = np.stack((padded, -padded), axis=2).reshape(2, 2 * modes, *centre.shape[1:])
    edges: Array = centre[:, None] + np.concatenate((np.zeros_like(centre)[:, None], moved), axis=1)
    return edges


def student_95(degrees_of_freedom: float) -> float:
    """Half-width of the 95 % interval of Student's distribution, in its scale units.

    Expansion of Abramowitz & Stegun (1964), 26.7.5, three terms: off by less than 0.1 % from 8 degrees of freedom up.
    """
    z, nu = NORMAL_95, degrees_of_freedom
    first = (z**3 + z) / 4.0
    second = (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    third = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    return z + first / nu + second / nu**2 + third / nu**3


def interval(values: Array) -> tuple[Array, Array, Array]:
    """Value and 95 % interval from a result of every variant.

    Parameters
    ----------
    values : array, shape (s, ...)
        As `Variants` orders them. A variant without a result (NaN: it would stall there) widens nothing.

    Returns
    -------
    (array, array, array)
        Value, low and high, without the first axis.
    """
    away = np.nan_to_num(values[1:] - values[0])
    pairs = away.reshape(-1, 2, *values.shape[1:])
    up = np.sqrt(np.sum(np.maximum(pairs.max(axis=1), 0.0) ** 2, axis=0))
    down = np.sqrt(np.sum(np.maximum(-pairs.min(axis=1), 0.0) ** 2, axis=0))
    return values[0], values[0] - down, values[0] + up
