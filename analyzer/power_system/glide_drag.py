"""What the propeller costs in a glide: folded along the fuselage, windmilling, or stopped by the brake."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system import blade_element
from analyzer.power_system.blade_element import BLADE_CHORD, BLADE_RADIUS
from analyzer.power_system.family_basis import nominal_zero_thrust_advance

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.power_system.propeller import Propeller


FOLDED_DRAG_COEFFICIENT: Final = 0.03
"""Drag of folded blades over their plan area: edge-on, in the fuselage's wake (common practice, no source)."""

GLIDE_REYNOLDS: Final = 5.0e4
"""Of the reference chord in a slow glide; the drag of stalled blades hardly depends on it."""

STOPPED_ADVANCE: Final = 1.0e3
"""An advance ratio so high that the propeller stands still."""

PITCH_RATIOS: Final = np.linspace(0.25, 1.75, 16)
"""Theory is computed at these pitch/diameter ratios, and interpolated."""


@dataclass(frozen=True, slots=True)
class GlideDrag:
    """Drag of the propeller over dynamic pressure, in square metres, in its three states."""

    folded_m2: float
    windmilling_m2: float
    braked_m2: float


def glide_drag(propeller: Propeller) -> GlideDrag:
    """Drag areas of a propeller in the glide.

    Windmilling means turning freely (no power taken): the motor's friction lies between that and the brake. From
    blade-element theory, which for stalled blades is good to about 30 %.
    """
    windmilling, braked = _over_diameter_squared(propeller.blades)
    plan_area = propeller.blades * float(np.trapezoid(BLADE_CHORD, BLADE_RADIUS)) / 4.0
    area = propeller.diameter_m**2
    return GlideDrag(
        folded_m2=FOLDED_DRAG_COEFFICIENT * plan_area * area,
        windmilling_m2=float(np.interp(propeller.pitch_ratio, PITCH_RATIOS, windmilling)) * area,
        braked_m2=float(np.interp(propeller.pitch_ratio, PITCH_RATIOS, braked)) * area,
    )


@cache
def _over_diameter_squared(blades: int) -> tuple[Array, Array]:
    """Drag areas, windmilling and stopped, over the diameter squared, at `PITCH_RATIOS`."""
    # Drag/q = -T/(rho V^2/2) = -2 C_T D^2/J^2.
    advance = np.asarray(nominal_zero_thrust_advance(PITCH_RATIOS))[:, None] * np.linspace(0.8, 2.5, 35)
    thrust, power = blade_element.coefficients(PITCH_RATIOS[:, None], advance, GLIDE_REYNOLDS, blades)
    free = [float(np.interp(0.0, -row, at)) for row, at in zip(power, advance, strict=True)]
    at_free = [float(np.interp(turn, at, row)) for turn, at, row in zip(free, advance, thrust, strict=True)]
    stopped, _ = blade_element.coefficients(PITCH_RATIOS, STOPPED_ADVANCE, GLIDE_REYNOLDS, blades)
    return -2.0 * np.array(at_free) / np.array(free) ** 2, -2.0 * stopped / STOPPED_ADVANCE**2
