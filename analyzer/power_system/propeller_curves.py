"""One function for every propeller: C_T and C_P over J and Reynolds number, with their uncertainty.

Whatever it comes from (the user's table, measurement, the family, blade-element theory), a propeller becomes a
`PropellerCurves`: tables on one grid, so that many propellers can be looked up in one step, and a few independent
deviation modes that say how it may differ from the curve as a whole. C_T and C_P move together in a mode, which is
what makes the interval of a current or a climb rate come out right.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from analyzer.power_system.family_basis import LOG_REYNOLDS_RANGE, log_reynolds, reynolds_number

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices
    from analyzer.power_system.propeller import Propeller


Tier = Literal["table", "measured", "family", "blade_element"]

ADVANCE_GRID: Final[Array] = np.linspace(0.0, 2.0, 81)
"""J over the propeller's own zero-thrust scale. Straight lines between the nodes err by 0.4 % of the peak at most, by
1 % together with those in the Reynolds number: less than two copies of one size differ by."""

LOG_REYNOLDS_GRID: Final[Array] = np.linspace(*LOG_REYNOLDS_RANGE, 9)


@dataclass(frozen=True, slots=True)
class PropellerCurves:
    """Coefficients of one propeller on the common grid.

    Attributes
    ----------
    propeller : Propeller
        Its size.
    tier : str
        What the coefficients come from: "table", "measured", "family" or "blade_element".
    basis_note : str
        The same in words, for the pilot.
    advance_scale : float
        J of `ADVANCE_GRID` = 1; about the J of zero thrust.
    thrust, power : array, shape (x, re)
        C_T and C_P.
    thrust_modes, power_modes : array, shape (m, x, re)
        Deviation modes, one standard deviation each.
    degrees_of_freedom : float
        Of Student's distribution that the deviations follow; infinity for a normal one.
    """

    propeller: Propeller
    tier: Tier
    basis_note: str
    advance_scale: float
    thrust: Array
    power: Array
    thrust_modes: Array
    power_modes: Array
    degrees_of_freedom: float = np.inf

    def coefficients(self, advance_ratio: Array | float, log_re: Array | float) -> tuple[Array, Array]:
        """C_T and C_P at advance ratios and ln(Re/1e5), broadcast against each other."""
        x, re = np.asarray(advance_ratio) / self.advance_scale, np.asarray(log_re)
        return interpolate(self.thrust, 0, x, re), interpolate(self.power, 0, x, re)


@dataclass(frozen=True, slots=True)
class PropellerBank:
    """Many propellers, and variants of them, stacked for one look-up.

    Attributes
    ----------
    tables : array, shape (2, rows, x, re)
        C_T and C_P of every row; a row is one propeller, or one propeller moved along one mode.
    advance_scale, diameter_m : array, shape (rows,)
        Of the rows' propellers.
    """

    tables: Array
    advance_scale: Array
    diameter_m: Array

    def thrust(self, row: Indices, advance_ratio: Array, speed_rev_s: Array, viscosity_m2_s: float) -> Array:
        """C_T of the rows at advance ratios and speeds that broadcast with `row`."""
        return self._look_up(0, row, advance_ratio, speed_rev_s, viscosity_m2_s)

    def power(self, row: Indices, advance_ratio: Array, speed_rev_s: Array, viscosity_m2_s: float) -> Array:
        """C_P of the rows at advance ratios and speeds that broadcast with `row`."""
        return self._look_up(1, row, advance_ratio, speed_rev_s, viscosity_m2_s)

    def _look_up(
        self, which: int, row: Indices, advance_ratio: Array, speed_rev_s: Array, viscosity_m2_s: float
    ) -> Array:
        reynolds = reynolds_number(advance_ratio, speed_rev_s, self.diameter_m[row], viscosity_m2_s)
        return interpolate(self.tables[which], row, advance_ratio / self.advance_scale[row], log_reynolds(reynolds))


def interpolate(tables: Array, row: Indices | int, x: Array, log_re: Array) -> Array:
    """Bilinear look-up on the common grid; outside it the edge holds.

    Parameters
    ----------
    tables : array, shape (rows, x, re)
        Tables on `ADVANCE_GRID` and `LOG_REYNOLDS_GRID`.
    row, x, log_re : array
        Broadcast against each other.
    """
    count, columns = LOG_REYNOLDS_GRID.size, ADVANCE_GRID.size
    along = np.clip(x / ADVANCE_GRID[1], 0.0, columns - 1.0)
    left = np.minimum(along.astype(np.intp), columns - 2)
    along = along - left
    across = np.clip((log_re - LOG_REYNOLDS_GRID[0]) / (LOG_REYNOLDS_GRID[1] - LOG_REYNOLDS_GRID[0]), 0.0, count - 1.0)
    below = np.minimum(across.astype(np.intp), count - 2)
    across = across - below
    flat = tables.reshape(-1)
    corner = (np.asarray(row) * columns + left) * count + below
    first, second = flat[corner], flat[corner + count]
    low = first + across * (flat[corner + 1] - first)
    high = second + across * (flat[corner + count + 1] - second)
    values: Array = low + along * (high - low)
    return values
