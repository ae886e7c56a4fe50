"""Blade-element momentum theory of a propeller, from static running through climb to windmilling.

One annulus of the disc is one equation in the inflow angle phi, in the manner of S.A. Ning, *A simple solution
method for the blade element momentum equations with guaranteed convergence*, Wind Energy 17 (2014) 1327-1345:
with W the local speed, sigma the local solidity, F Prandtl's tip and hub loss,

    V       = W sin(phi) (1 - kappa),    kappa  = sigma c_n/(4 F sin^2(phi))
    Omega r = W cos(phi) (1 + kappa'),   kappa' = sigma c_t/(4 F sin(phi) cos(phi))

so that  Omega r sin(phi) (1 - kappa) - V cos(phi) (1 + kappa') = 0.  The left side runs to minus infinity at
phi = 0 and is positive at phi = 90 degrees for every advance ratio, V = 0 included: a bracket is always there.
Multiplied by sin(phi) it is finite. Stall is delayed near the hub after H. Snel, R. Houwink & J. Bosschers,
*Sectional prediction of lift coefficients on rotating wind turbine blades in stall*, ECN-C--93-052 (1993).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.family_basis import REFERENCE_CHORD
from analyzer.power_system.roots import bracketed_root
from analyzer.power_system.section_polar import section_polar

if TYPE_CHECKING:
    from analyzer.arrays import Array


BLADE_RADIUS: Final = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
BLADE_CHORD: Final = (0.105, 0.142, 0.176, 0.185, 0.180, 0.166, 0.147, 0.123, 0.095, 0.076, 0.030)
"""The blade's plan: stations and chords over the tip radius. A generic folding blade, its width matched once to the
family of measured folding propellers (not to any one of them). Twist follows the pitch: beta = atan(P/(2 pi r))."""

HUB_RADIUS: Final = 0.15
"""Over the tip radius: hub and yoke are cut out."""

STATIONS: Final = 16

SNEL_FACTOR: Final = 3.0
"""Of Snel's correction: lift moves towards the attached flow's by 3 (c/r)^2 of the difference."""

ZERO_LIFT_ANGLE_DEG: Final = -5.5
"""Of the section at the higher Reynolds numbers, for the attached-flow lift of Snel's correction."""

ANGLE_TOLERANCE: Final = 1e-8
"""Of the inflow angle, over a right angle: far below the section table's own step."""


@dataclass(frozen=True, slots=True)
class _Annulus:
    """Everything of the annuli that does not depend on the inflow angle; arrays end in the station axis."""

    radius: Array
    weight: Array
    pitch_rad: Array
    solidity: Array
    chord: Array
    advance: Array
    reynolds: Array
    blades: Array


def coefficients(
    pitch_ratio: Array | float, advance_ratio: Array | float, reynolds: Array | float, blades: Array | int = 2
) -> tuple[Array, Array]:
    """C_T and C_P of a propeller by blade-element momentum theory.

    Parameters
    ----------
    pitch_ratio, advance_ratio, reynolds, blades : array
        Pitch over diameter (above 0), J (0 and above), Reynolds number as in `family_basis.reynolds_number`, number
        of blades; any shapes that broadcast.

    Returns
    -------
    (array, array)
        C_T and C_P, of the broadcast shape, finite throughout.
    """
    annulus = _annulus(*np.broadcast_arrays(pitch_ratio, advance_ratio, reynolds, blades))
    phi = _inflow_angle(annulus)
    normal, tangential = _section_forces(phi, annulus)
    sine, cosine = np.sin(phi), np.cos(phi)
    loss = _loss(sine, annulus)
    through = sine - annulus.solidity * normal / (4.0 * loss * sine)
    around = cosine + annulus.solidity * tangential / (4.0 * loss * sine)
    speed = (annulus.advance * through + annulus.radius * around) / (through**2 + around**2)
    load = 0.5 * speed**2 * annulus.blades * annulus.chord * annulus.weight
    # In units of tip radius, density and angular speed: n = 1/(2 pi), D = 2.
    thrust = (load * normal).sum(axis=-1) * np.pi**2 / 4.0
    power = (load * tangential * annulus.radius).sum(axis=-1) * np.pi**3 / 4.0
    return thrust, power


def _annulus(pitch_ratio: Array, advance_ratio: Array, reynolds: Array, blades: Array) -> _Annulus:
    points, weights = np.polynomial.legendre.leggauss(STATIONS)
    span = 1.0 - HUB_RADIUS
    radius = HUB_RADIUS + span * (points + 1.0) / 2.0
    chord = np.interp(radius, BLADE_RADIUS, BLADE_CHORD)
    advance = (advance_ratio / np.pi)[..., None]
    # Re is proportional to speed times chord; the reference has 75 % radius and REFERENCE_CHORD of the diameter.
    speed = np.sqrt(advance**2 + radius**2) / np.sqrt(advance**2 + 0.75**2)
    count = blades[..., None].astype(float)
    return _Annulus(
        radius=np.broadcast_to(radius, speed.shape),
        weight=weights * span / 2.0,
        pitch_rad=np.arctan(pitch_ratio[..., None] / (np.pi * radius)),
        solidity=count * chord / (2.0 * np.pi * radius),
        chord=chord,
        advance=np.broadcast_to(advance, speed.shape),
        reynolds=reynolds[..., None] * speed * chord / (2.0 * REFERENCE_CHORD),
        blades=count,
    )


def _section_forces(phi: Array, annulus: _Annulus) -> tuple[Array, Array]:
    """Coefficients of the section's force normal to the disc and against its rotation."""
    alpha = annulus.pitch_rad - phi
    lift, drag = section_polar().coefficients(alpha, annulus.reynolds)
    attached = 2.0 * np.pi * np.sin(alpha - np.radians(ZERO_LIFT_ANGLE_DEG))
    stalled = (alpha > np.radians(6.0)) & (alpha < np.radians(40.0)) & (attached > lift)
    delay = np.where(stalled, np.minimum(SNEL_FACTOR * (annulus.chord / annulus.radius) ** 2, 1.0), 0.0)
    lift = lift + delay * (np.minimum(attached, 3.0) - lift)
    sine, cosine = np.sin(phi), np.cos(phi)
    return lift * cosine - drag * sine, lift * sine + drag * cosine


def _loss(sine: Array, annulus: _Annulus) -> Array:
    """Prandtl's factor for the finite number of blades, at the tip and at the hub."""
    half = annulus.blades / 2.0
    tip = half * (1.0 - annulus.radius) / (annulus.radius * sine)
    hub = half * (annulus.radius - HUB_RADIUS) / (HUB_RADIUS * sine)
    factor = np.arccos(np.exp(-np.minimum(tip, 50.0))) * np.arccos(np.exp(-np.minimum(hub, 50.0)))
    return np.maximum(factor * (2.0 / np.pi) ** 2, 1e-4)


def _residual(phi: Array, annulus: _Annulus) -> Array:
    """The annulus equation times sin(phi)."""
    sine, cosine = np.sin(phi), np.cos(phi)
    normal, tangential = _section_forces(phi, annulus)
    induced = annulus.solidity / (4.0 * _loss(sine, annulus))
    return annulus.radius * (sine**2 - induced * normal) - annulus.advance * (sine * cosine + induced * tangential)


def _inflow_angle(annulus: _Annulus) -> Array:
    """Solve every annulus for its inflow angle, by bisection and interpolation inside the bracket."""
    low = np.full(annulus.advance.shape, 1e-5)
    high = np.full(annulus.advance.shape, np.pi / 2 - 1e-9)
    return bracketed_root(lambda phi: _residual(phi, annulus), low, high, ANGLE_TOLERANCE)
