"""The speed polar: sink over airspeed, least sink, best glide, and how the air moves it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array
    from analyzer.power_system.airframe import AirframeModel


@dataclass(frozen=True, slots=True)
class Polar:
    """Speed polar of a parabolic drag polar, ``sink = p V^3 + i n^2 / V`` at load factor n.

    Attributes
    ----------
    parasite_s2_m2 : float
        ``p = rho S CD0 / (2 W)``.
    induced_m2_s2 : float
        ``i = 2 k W / (rho S)``.

    Notes
    -----
    The small-angle form of CD = CD0 + k CL^2 with lift equal to weight times load factor: below a glide angle of
    8 degrees (glide ratio 7) sink is right within 1 %. It does not know the stall (Anderson, *Introduction to Flight*,
    gliding flight; Thomas, *Fundamentals of Sailplane Design*).
    """

    parasite_s2_m2: float
    induced_m2_s2: float

    def sink_m_s(self, airspeed_m_s: ArrayLike, load_factor: ArrayLike = 1.0) -> Array:
        """Sink rate [m/s, positive down] at an airspeed [m/s] and load factor."""
        speed = np.asarray(airspeed_m_s, dtype=float)
        induced = self.induced_m2_s2 * np.square(np.asarray(load_factor, dtype=float)) / speed
        return np.asarray(self.parasite_s2_m2 * speed**3 + induced)

    @property
    def least_sink_speed_m_s(self) -> float:
        """Airspeed of the least sink, ``(i / 3p)^(1/4)``."""
        return math.sqrt(math.sqrt(self.induced_m2_s2 / (3.0 * self.parasite_s2_m2)))

    @property
    def best_glide_speed_m_s(self) -> float:
        """Airspeed of the best glide ratio in still air, ``(i / p)^(1/4)``: 3^(1/4) times that of the least sink."""
        return math.sqrt(math.sqrt(self.induced_m2_s2 / self.parasite_s2_m2))

    def in_air(self, density_ratio: float) -> Polar:
        """The polar in air of another density, new over old.

        At an equal lift coefficient both speed and sink change by ``1 / sqrt(density ratio)`` (Reichmann,
        *Cross-Country Soaring*), so that the best glide ratio stays. Reynolds number effects are neglected.
        """
        stretch = 1.0 / density_ratio
        return Polar(self.parasite_s2_m2 / stretch, self.induced_m2_s2 * stretch)


def polar_of_airframe(airframe: AirframeModel, density_kg_m3: float) -> Polar:
    """The speed polar that a setup's airframe predicts in air of a density [kg/m3]."""
    loading_n_m2 = airframe.mass_kg * STANDARD_GRAVITY_M_S2 / airframe.wing_area_m2
    return Polar(
        parasite_s2_m2=float(0.5 * density_kg_m3 * airframe.zero_lift_drag_coefficient / loading_n_m2),
        induced_m2_s2=float(2.0 * airframe.induced_drag_factor * loading_n_m2 / density_kg_m3),
    )
