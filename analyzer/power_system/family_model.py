"""The measured family of folding propellers: curves of a measured size, and of sizes between.

The shipped table (`data/folding_propellers.json`, which tests/accuracy/propeller_family_fit.py makes) holds the family
mean, the modes in which single propellers depart from it, and every measured propeller's own coefficients.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.family_basis import (
    ADVANCE_END,
    TUNNEL_VISCOSITY_M2_S,
    basis,
    log_reynolds,
    nominal_peaks,
    nominal_zero_thrust_advance,
    reynolds_number,
    trend_terms,
)
from analyzer.power_system.propeller_curves import ADVANCE_GRID, LOG_REYNOLDS_GRID, PropellerCurves

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.power_system.propeller import Propeller
    from analyzer.power_system.propeller_curves import Tier


COPY_SHARE: Final = 0.25
"""Spread between two copies of one measured size, as a share of the spread between sizes (judgement, no source:
moulds and blanks repeat far better than labels do; it comes to about 2 % in C_T and 3 % in C_P)."""

OTHER_MAKE_PROBABILITY: Final = 0.5
"""Probability, before any flight, that a pilot's propeller is of another make than the measured one: as likely as not
(judgement, no source)."""

MEASURED_SPEED_RPM: Final = (2000.0, 7500.0)
"""Speeds that the measurements cover. A propeller's Reynolds number is held where these ended: its quadratic would
otherwise promise more than momentum theory allows to a small propeller turning much faster than was measured."""

SIZE_TOLERANCE_IN: Final = 0.05
"""A size within this of a measured one is that propeller."""

MEASURED_NOTE: Final = "wind-tunnel measurement of this size"


@dataclass(frozen=True, slots=True)
class PropellerFamily:
    """The shipped table. Coefficient rows hold those of C_T, then those of C_P.

    Attributes
    ----------
    sizes_in : array, shape (n, 2)
        Diameter and pitch of the measured propellers.
    coefficients : array, shape (n, 2k)
        Their own coefficients.
    trend : array, shape (q, 2k)
        Coefficients of the family mean.
    inverse_gram : array, shape (q, q)
        For the uncertainty of the mean at a size.
    modes : array, shape (m, 2k)
        Departures of a propeller from the mean, one standard deviation each.
    degrees_of_freedom : float
        Of their distribution.
    """

    sizes_in: Array
    coefficients: Array
    trend: Array
    inverse_gram: Array
    modes: Array
    degrees_of_freedom: float

    @property
    def diameter_range_in(self) -> tuple[float, float]:
        """Smallest and largest diameter measured."""
        return float(self.sizes_in[:, 0].min()), float(self.sizes_in[:, 0].max())

    @property
    def pitch_ratio_range(self) -> tuple[float, float]:
        """Smallest and largest pitch/diameter measured."""
        ratio = self.sizes_in[:, 1] / self.sizes_in[:, 0]
        return float(ratio.min()), float(ratio.max())

    def measured_row(self, propeller: Propeller) -> int | None:
        """Row of the propeller if it is one of the measured ones."""
        if propeller.blades != 2:
            return None
        off = np.abs(self.sizes_in - (propeller.diameter_in, propeller.pitch_in)).max(axis=1)
        row = int(np.argmin(off))
        return row if off[row] <= SIZE_TOLERANCE_IN else None

    def covers(self, propeller: Propeller) -> bool:
        """Whether a two-bladed size lies in the measured range of diameter and of pitch/diameter."""
        smallest, largest = self.diameter_range_in
        shallow, steep = self.pitch_ratio_range
        ratio = propeller.pitch_ratio
        return propeller.blades == 2 and smallest <= propeller.diameter_in <= largest and shallow <= ratio <= steep


@cache
def folding_family() -> PropellerFamily:
    """The shipped family."""
    document = json.loads(files("analyzer").joinpath("data/folding_propellers.json").read_text(encoding="utf-8"))
    measured = document["propellers"]
    return PropellerFamily(
        sizes_in=np.array([(row["diameter_in"], row["pitch_in"]) for row in measured]),
        coefficients=np.array([row["coefficients"] for row in measured]),
        trend=np.array(document["trend"]),
        inverse_gram=np.array(document["inverse_gram"]),
        modes=np.array(document["modes"]),
        degrees_of_freedom=float(document["degrees_of_freedom"]),
    )


def family_curves(propeller: Propeller, family: PropellerFamily | None = None) -> PropellerCurves:
    """Curves of a propeller of the family.

    Parameters
    ----------
    propeller : Propeller
        Two blades, in the family's range (see `PropellerFamily.covers`).
    family : PropellerFamily, optional
        The shipped one by default.

    Returns
    -------
    PropellerCurves
        A measured size by its own measurement (tier "measured"), any other by the family's mean.
    """
    return _own_or_mean(propeller, family or folding_family(), COPY_SHARE, MEASURED_NOTE)


def any_make_curves(propeller: Propeller) -> PropellerCurves:
    """Curves of a size of the family's range whose make nobody knows.

    A measured size has its measurement as the best guess (tier "measured"). With `OTHER_MAKE_PROBABILITY` the pilot's
    propeller departs from the trend by itself, as the measured one does: two variances between sizes, times that
    probability.
    """
    share = float(np.sqrt(2.0 * OTHER_MAKE_PROBABILITY))
    return _own_or_mean(
        propeller, folding_family(), share, "wind-tunnel measurement of this size; yours may be of another make"
    )


def _own_or_mean(propeller: Propeller, family: PropellerFamily, share: float, note: str) -> PropellerCurves:
    """Own coefficients of a measured size, with a share of the spread between sizes; else the family's mean."""
    row = family.measured_row(propeller)
    if row is None:
        return mean_curves(propeller, family)
    rows = np.vstack((family.coefficients[row], share * family.modes))
    return _curves(propeller, rows, "measured", note, family.degrees_of_freedom)


def mean_curves(propeller: Propeller, family: PropellerFamily | None = None) -> PropellerCurves:
    """The family's mean at a size, with the spread between propellers, wider where sizes around it are rare."""
    family = family or folding_family()
    terms = trend_terms(propeller.diameter_in, propeller.pitch_in)
    widening = np.sqrt(1.0 + terms @ family.inverse_gram @ terms)
    rows = np.vstack((terms @ family.trend, widening * family.modes))
    note = f"mean of {len(family.sizes_in)} measured folding propellers at this diameter and pitch"
    return _curves(propeller, rows, "family", note, family.degrees_of_freedom)


def _curves(propeller: Propeller, rows: Array, tier: Tier, note: str, degrees_of_freedom: float) -> PropellerCurves:
    values = _on_grid(rows, propeller)
    return PropellerCurves(
        propeller=propeller,
        tier=tier,
        basis_note=note,
        advance_scale=float(nominal_zero_thrust_advance(propeller.pitch_ratio)),
        thrust=values[0, 0],
        power=values[1, 0],
        thrust_modes=values[0, 1:],
        power_modes=values[1, 1:],
        degrees_of_freedom=degrees_of_freedom,
    )


def _on_grid(coefficients: Array, propeller: Propeller) -> Array:
    """C_T and C_P on the common grid for rows of coefficients, shape (2, rows, x, re).

    Past the measured windmilling the curves go on as straight lines: enough to bracket a solution there, and a
    solution there is reported as windmilling, not as a result.
    """
    grid = _grid_basis(propeller.diameter_m)
    halves = coefficients.reshape(len(coefficients), 2, -1)
    values = np.einsum("xrk,mck->cmxr", grid, halves)
    last = int(np.searchsorted(ADVANCE_GRID, ADVANCE_END, side="right")) - 1
    slope = np.minimum(values[:, :, last] - values[:, :, last - 2], 0.0)
    beyond = np.arange(1, ADVANCE_GRID.size - last)[:, None] / 2.0
    values[:, :, last + 1 :] = values[:, :, last, None] + beyond * slope[:, :, None]
    scaled: Array = values * np.array(nominal_peaks(propeller.pitch_ratio))[:, None, None, None]
    return scaled


@lru_cache(maxsize=128)
def _grid_basis(diameter_m: float) -> Array:
    speeds = np.array(MEASURED_SPEED_RPM) / 60.0
    slowest, fastest = log_reynolds(reynolds_number(0.0, speeds, diameter_m, TUNNEL_VISCOSITY_M2_S))
    x, log_re = np.meshgrid(ADVANCE_GRID, np.clip(LOG_REYNOLDS_GRID, slowest, fastest), indexing="ij")
    return basis(x.ravel(), log_re.ravel()).reshape(*x.shape, -1)
