"""Propellers outside the measured family: blade-element theory carries the difference, measurement the level.

The nearest propeller inside the family (two blades, diameter and pitch ratio moved to the edge of the measured
range) is the anchor. The family's departure from theory there is added to theory for the propeller asked for, at
the same fraction of the zero-thrust advance ratio and in proportion to the peaks:

    C(x) = C_bem(x) + [C_family,anchor(x) - C_bem,anchor(x)] peak_bem/peak_bem,anchor

At the edge of the measured range this is the family itself, so nothing jumps there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system import blade_element
from analyzer.power_system.family_basis import REFERENCE_REYNOLDS, nominal_zero_thrust_advance
from analyzer.power_system.family_model import PropellerFamily, folding_family, mean_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.propeller_curves import ADVANCE_GRID, LOG_REYNOLDS_GRID, PropellerCurves

if TYPE_CHECKING:
    from analyzer.arrays import Array


WIDER_PER_LOG_DIAMETER: Final = 1.0
WIDER_PER_PITCH_RATIO: Final = 1.5
"""Factors that the interval gains per unit of |ln(D/D_edge)| and of |pitch/diameter - edge| outside the measured range.
From leaving out whole ranges: the family fitted on 10 to 13 inch and asked for 14 to 16, and so on (see
tests/accuracy/propeller_extrapolation.py)."""

WIDER_FOR_OTHER_BLADES: Final = 1.5
"""Factor where the number of blades is not two: no measurement of this family stands behind it."""

_THEORY_STEP: Final = 2
"""Theory is computed at every second node of the advance grid and at three Reynolds numbers."""


def tied_curves(propeller: Propeller, family: PropellerFamily | None = None) -> PropellerCurves:
    """Curves of any propeller from blade-element theory tied to the measured family.

    Parameters
    ----------
    propeller : Propeller
        Any size and number of blades.
    family : PropellerFamily, optional
        The shipped one by default.
    """
    family = family or folding_family()
    anchor_size = anchor(propeller, family)
    known = mean_curves(anchor_size, family)
    tables, ratio, scale = _moved(known, propeller)
    factor = ratio * _widening(propeller, anchor_size)
    return replace(
        known,
        propeller=propeller,
        tier="blade_element",
        basis_note="blade-element theory tied to the measured family at "
        f"{anchor_size.diameter_in:.3g}x{anchor_size.pitch_in:.3g}",
        advance_scale=known.advance_scale * scale,
        thrust=tables[0],
        power=tables[1],
        thrust_modes=known.thrust_modes * factor[0],
        power_modes=known.power_modes * factor[1],
    )


def _moved(known: PropellerCurves, propeller: Propeller) -> tuple[Array, Array, float]:
    """The anchor's tables moved by theory to a propeller; ratios of the peaks, and of the zero-thrust advances."""
    measured = np.stack((known.thrust, known.power))
    start = known.propeller
    if propeller.blades == start.blades and math.isclose(propeller.pitch_ratio, start.pitch_ratio):
        # Only the diameter differs, which theory in coefficients over J and Re does not see.
        return measured, np.ones(2), 1.0
    theory, scale = _theory(propeller.pitch_ratio, propeller.blades)
    at_anchor, anchor_scale = _theory(start.pitch_ratio, start.blades)
    ratio = theory.max(axis=(1, 2)) / at_anchor.max(axis=(1, 2))
    return theory + (measured - at_anchor) * ratio[:, None, None], ratio, scale / anchor_scale


def anchor(propeller: Propeller, family: PropellerFamily) -> Propeller:
    """The nearest two-bladed size inside the measured ranges of diameter and pitch/diameter."""
    diameter = float(np.clip(propeller.diameter_in, *family.diameter_range_in))
    ratio = float(np.clip(propeller.pitch_ratio, *family.pitch_ratio_range))
    return Propeller(diameter, diameter * ratio)


def _widening(propeller: Propeller, nearest: Propeller) -> float:
    """How much wider the interval is than that of the nearest size inside the measured range."""
    diameter = abs(np.log(propeller.diameter_in / nearest.diameter_in))
    pitch = abs(propeller.pitch_ratio - nearest.pitch_ratio)
    factor = 1.0 + WIDER_PER_LOG_DIAMETER * diameter + WIDER_PER_PITCH_RATIO * pitch
    return float(factor * (WIDER_FOR_OTHER_BLADES if propeller.blades != 2 else 1.0))


@lru_cache(maxsize=512)
def _theory(pitch_ratio: float, blades: int) -> tuple[Array, float]:
    """Theory on the common grid, shape (2, x, re), over the J of its own zero thrust, which is the second result."""
    scale = _zero_thrust_advance(pitch_ratio, blades)
    nodes = ADVANCE_GRID[::_THEORY_STEP]
    log_re = LOG_REYNOLDS_GRID[:: (LOG_REYNOLDS_GRID.size - 1) // 2]
    reynolds = REFERENCE_REYNOLDS * np.exp(log_re)
    coarse = np.stack(blade_element.coefficients(pitch_ratio, nodes[:, None] * scale, reynolds, blades))
    return _refined(coarse, nodes, log_re), scale


def _zero_thrust_advance(pitch_ratio: float, blades: int) -> float:
    guess = float(nominal_zero_thrust_advance(pitch_ratio))
    advance = guess * np.linspace(0.5, 1.6, 23)
    thrust, _ = blade_element.coefficients(pitch_ratio, advance, REFERENCE_REYNOLDS, blades)
    return float(np.interp(0.0, -thrust, advance))


def _refined(coarse: Array, nodes: Array, log_re: Array) -> Array:
    """Straight lines from theory's grid to the common one."""
    along = np.array([np.interp(ADVANCE_GRID, nodes, unit) for unit in np.eye(nodes.size)])
    across = np.array([np.interp(LOG_REYNOLDS_GRID, log_re, unit) for unit in np.eye(log_re.size)])
    tables: Array = np.einsum("nx,cnr,re->cxe", along, coarse, across)
    return tables
