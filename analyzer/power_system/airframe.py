"""The airframe: a parabolic drag polar, in glide, in level flight and in steady climb at any angle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from analyzer.arrays import Floats
    from analyzer.setup_file import Airframe as AirframeSection


@dataclass(frozen=True, slots=True)
class AirframeModel:
    """Mass, wing and drag polar CD = CD0 + k CL^2. Each may be an array that broadcasts with the airspeeds."""

    mass_kg: Floats
    wing_area_m2: Floats
    zero_lift_drag_coefficient: Floats
    induced_drag_factor: Floats
    max_lift_coefficient: Floats

    @property
    def weight_n(self) -> Floats:
        """Weight under standard gravity."""
        return self.mass_kg * STANDARD_GRAVITY_M_S2


def airframe_model(section: AirframeSection) -> AirframeModel:
    """The model of a setup's ``[airframe]``, whose mass, area, span and zero-lift drag must be there.

    k = 1/(pi e A) with the aspect ratio A = b^2/S (Anderson, *Introduction to Flight*).
    """
    area, span = section.wing_area_m2 or np.nan, section.wingspan_m or np.nan
    return AirframeModel(
        mass_kg=section.mass_kg or np.nan,
        wing_area_m2=area,
        zero_lift_drag_coefficient=section.zero_lift_drag_coefficient or np.nan,
        induced_drag_factor=area / (np.pi * section.span_efficiency * span * span),
        max_lift_coefficient=section.max_lift_coefficient,
    )


def best_glide_lift_coefficient(airframe: AirframeModel) -> Floats:
    """CL of the best glide ratio, sqrt(CD0/k)."""
    coefficient: Floats = np.sqrt(airframe.zero_lift_drag_coefficient / airframe.induced_drag_factor)
    return coefficient


def least_sink_lift_coefficient(airframe: AirframeModel) -> Floats:
    """CL of the least sink rate: sqrt(3) times that of the best glide, or the wing's limit where that is lower."""
    least: Floats = np.minimum(np.sqrt(3.0) * best_glide_lift_coefficient(airframe), airframe.max_lift_coefficient)
    return least


def speed_for_lift_m_s(airframe: AirframeModel, lift_coefficient: Floats, density_kg_m3: float) -> Floats:
    """Airspeed at which the wing carries the weight at a lift coefficient: V = sqrt(2 W/(rho S CL))."""
    speed: Floats = np.sqrt(2.0 * airframe.weight_n / (density_kg_m3 * airframe.wing_area_m2 * lift_coefficient))
    return speed


def stall_speed_m_s(airframe: AirframeModel, density_kg_m3: float) -> Floats:
    """Airspeed in straight flight at the highest usable lift coefficient."""
    return speed_for_lift_m_s(airframe, airframe.max_lift_coefficient, density_kg_m3)


def drag_n(airframe: AirframeModel, airspeed_m_s: Floats, lift_n: Floats, density_kg_m3: Floats) -> Floats:
    """Drag of the parabolic polar: D = q S CD0 + k L^2/(q S). Any lift is accepted, also beyond the stall."""
    pressure_area = 0.5 * density_kg_m3 * airspeed_m_s**2 * airframe.wing_area_m2
    parasite = pressure_area * airframe.zero_lift_drag_coefficient
    return parasite + airframe.induced_drag_factor * lift_n**2 / np.maximum(pressure_area, 1e-9)


def sink_rate_m_s(airframe: AirframeModel, airspeed_m_s: Floats, density_kg_m3: Floats) -> Floats:
    """Sink rate in a steady, straight glide, small glide angles: V D/W."""
    return airspeed_m_s * drag_n(airframe, airspeed_m_s, airframe.weight_n, density_kg_m3) / airframe.weight_n


def climb_angle_rad(airframe: AirframeModel, airspeed_m_s: Floats, thrust_n: Floats, density_kg_m3: float) -> Floats:
    """Angle of a steady climb (or glide, negative) along the thrust line, steep angles included.

    Along the path T = D + W sin(gamma), across it L = W cos(gamma). With a = k W^2/(q S) this is a quadratic in
    s = sin(gamma): a s^2 - W s + (T - q S CD0 - a) = 0, whose smaller root is the flight. Where the thrust is more
    than a vertical climb can use, the model would accelerate and s is 1.

    Returns
    -------
    array
        -pi/2 to pi/2.
    """
    weight = airframe.weight_n
    pressure_area = np.maximum(0.5 * density_kg_m3 * airspeed_m_s**2 * airframe.wing_area_m2, 1e-9)
    a = airframe.induced_drag_factor * weight**2 / pressure_area
    rest = thrust_n - pressure_area * airframe.zero_lift_drag_coefficient - a
    root = np.sqrt(np.maximum(weight**2 - 4.0 * a * rest, 0.0))
    # 2c/(b + root) is the smaller root without the cancellation of (b - root)/2a when induced drag is small.
    angle: Floats = np.arcsin(np.clip(2.0 * rest / (weight + root), -1.0, 1.0))
    return angle


def needed_lift_coefficient(
    airframe: AirframeModel, airspeed_m_s: Floats, angle_rad: Floats, density_kg_m3: float
) -> Floats:
    """CL that a steady climb needs, W cos(gamma)/(q S); the wing can give `max_lift_coefficient`."""
    pressure_area = np.maximum(0.5 * density_kg_m3 * airspeed_m_s**2 * airframe.wing_area_m2, 1e-9)
    return airframe.weight_n * np.cos(angle_rad) / pressure_area
