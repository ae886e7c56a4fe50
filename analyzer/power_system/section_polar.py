"""Lift and drag of a blade section at any angle of attack and low Reynolds number.

Near and just past the stall: wind-tunnel measurements of the NACA 6409 (thin, well cambered: the kind of section
that folding blades have) at Re 61,000, 101,000 and 201,500. Beyond them: the flat-plate-like extension of
L.A. Viterna & R.D. Corrigan, *Fixed Pitch Rotor Performance of Large Horizontal Axis Wind Turbines*, NASA CP-2230
(1982), so that a solver meets a value from -180 to 180 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array


STEP_DEG: Final = 0.5
ASPECT_RATIO: Final = 8.0
"""Of the blade, in Viterna's largest drag 1.11 + 0.018 A; a folding blade has 7 to 9."""

STALLED_DRAG: Final = 0.08
"""Added to the flat plate's drag where the measured lift ends (judgement: keeps drag smooth through stall)."""

NEGATIVE_LIFT_SHARE: Final = 0.7
"""A cambered section stalled upside down lifts less than upright (common practice in rotor analysis)."""

DRAG_EXPONENT_BELOW: Final = -0.5
"""Drag over Reynolds number below the measured range: laminar, Re^-0.5."""
DRAG_EXPONENT_ABOVE: Final = -0.2
"""Above it: turbulent, Re^-0.2."""

LOWEST_REYNOLDS: Final = 1.0e4


@dataclass(frozen=True, slots=True)
class SectionPolar:
    """Tables over angle of attack (-180 to 180 degrees in steps of `STEP_DEG`) and Reynolds number.

    Attributes
    ----------
    log_reynolds : array, shape (r,)
        Natural logarithm of the measured Reynolds numbers, rising.
    lift, drag : array, shape (r, 721)
        Section coefficients.
    """

    log_reynolds: Array
    lift: Array
    drag: Array

    def coefficients(self, alpha_rad: Array, reynolds: Array) -> tuple[Array, Array]:
        """Lift and drag coefficients.

        Parameters
        ----------
        alpha_rad : array
            Angle of attack from the chord line, -pi to pi.
        reynolds : array
            Chord Reynolds number, same shape. Lift is held beyond the measured range, drag follows power laws.
        """
        position = (np.degrees(alpha_rad) + 180.0) / STEP_DEG
        left = np.clip(position.astype(np.intp), 0, self.lift.shape[1] - 2)
        along = np.clip(position - left, 0.0, 1.0)
        log_re = np.log(np.maximum(reynolds, LOWEST_REYNOLDS))
        lower = np.clip(np.searchsorted(self.log_reynolds, log_re) - 1, 0, self.log_reynolds.size - 2)
        first, second = self.log_reynolds[lower], self.log_reynolds[lower + 1]
        across = np.clip((log_re - first) / (second - first), 0.0, 1.0)

        def between(table: Array) -> Array:
            low = table[lower, left] + along * (table[lower, left + 1] - table[lower, left])
            high = table[lower + 1, left] + along * (table[lower + 1, left + 1] - table[lower + 1, left])
            return low + across * (high - low)

        below = np.minimum(log_re - self.log_reynolds[0], 0.0)
        above = np.maximum(log_re - self.log_reynolds[-1], 0.0)
        scale = np.exp(DRAG_EXPONENT_BELOW * below + DRAG_EXPONENT_ABOVE * above)
        return between(self.lift), between(self.drag) * scale


@cache
def section_polar() -> SectionPolar:
    """The shipped section, extended to all angles."""
    lines = files("analyzer").joinpath("data/section_naca6409.csv").read_text(encoding="utf-8").splitlines()
    rows = [line.split(",") for line in lines if not line.startswith("#")][1:]
    reynolds = sorted({float(row[1]) for row in rows})

    def measured(quantity: str, at: float) -> Array:
        return np.array([(float(r[2]), float(r[3])) for r in rows if r[0] == quantity and float(r[1]) == at])

    extended = [_all_angles(measured("lift", at), measured("drag", at)) for at in reynolds]
    return SectionPolar(
        np.log(reynolds), np.array([lift for lift, _ in extended]), np.array([drag for _, drag in extended])
    )


def _all_angles(lift_points: Array, drag_points: Array) -> tuple[Array, Array]:
    """Extend measured lift and drag over angle of attack (degrees) to the full circle."""
    alpha = np.arange(-180.0, 180.0 + STEP_DEG / 2, STEP_DEG)
    stall_lift, stall_deg = lift_points[-1, 1], lift_points[-1, 0]
    stall_drag = _largest_drag() * np.sin(np.radians(stall_deg)) ** 2 + STALLED_DRAG
    # Measured drag, then a rise through stall to the stalled value at both ends of the measured lift.
    low_deg = lift_points[0, 0]
    drag = np.interp(alpha, drag_points[:, 0], drag_points[:, 1])
    rise = np.clip((alpha - drag_points[-1, 0]) / (stall_deg - drag_points[-1, 0]), 0.0, 1.0) ** 1.5
    fall = np.clip((drag_points[0, 0] - alpha) / (drag_points[0, 0] - low_deg), 0.0, 1.0)
    drag = drag + rise * (stall_drag - drag) + fall * (STALLED_DRAG - drag)
    lift = np.interp(alpha, lift_points[:, 0], lift_points[:, 1])

    upright = _viterna(np.clip(np.abs(alpha), stall_deg, 180.0), stall_deg, stall_lift, stall_drag)
    past = alpha > stall_deg
    lift[past], drag[past] = upright[0][past], upright[1][past]
    # Upside down: over to the mirrored, weaker stall within as many degrees as the upright stall has.
    share = np.clip((low_deg - alpha) / stall_deg, 0.0, 1.0)
    lift = np.where(alpha < low_deg, (1 - share) * lift_points[0, 1] - share * NEGATIVE_LIFT_SHARE * upright[0], lift)
    drag = np.where(alpha < low_deg, (1 - share) * STALLED_DRAG + share * upright[1], drag)
    return lift, drag


def _largest_drag() -> float:
    return 1.11 + 0.018 * ASPECT_RATIO


def _viterna(alpha_deg: Array, stall_deg: float, stall_lift: float, stall_drag: float) -> tuple[Array, Array]:
    """Lift and drag past the stall, alpha from the stall to 180 degrees (Viterna & Corrigan 1982, eqs 1 to 6).

    Past 90 degrees the plate is met from behind: lift changes sign, and both fade towards 180 degrees.
    """
    folded = np.radians(np.where(alpha_deg > 90.0, 180.0 - alpha_deg, alpha_deg))
    sine, cosine = np.sin(folded), np.cos(folded)
    at_sine, at_cosine = np.sin(np.radians(stall_deg)), np.cos(np.radians(stall_deg))
    largest = _largest_drag()
    lift_share = (stall_lift - largest * at_sine * at_cosine) * at_sine / at_cosine**2
    drag_share = (stall_drag - largest * at_sine**2) / at_cosine
    # Between 180 degrees and the mirrored stall angle the formula's pole is replaced by a straight line to zero.
    safe = np.maximum(sine, at_sine)
    lift = largest * safe * cosine + lift_share * cosine**2 / safe
    lift = np.where(alpha_deg > 90.0, -NEGATIVE_LIFT_SHARE * lift * np.minimum(sine / at_sine, 1.0), lift)
    return lift, largest * sine**2 + drag_share * cosine
