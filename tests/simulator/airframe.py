"""Lift and drag of the airframe, and the textbook parabola that is nearest to them."""

from __future__ import annotations

import math

import numpy as np

from simulator.air import GRAVITY_M_S2
from simulator.scenario import Airframe

REFERENCE_SPEED_M_S = 10.0


def drag_coefficient(airframe: Airframe, lift: float, speed_m_s: float, brake: float = 0.0) -> float:
    """Drag coefficient at a lift coefficient and airspeed.

    Profile drag follows Reynolds number to the power -0.25 around 10 m/s; separation adds
    the square of what exceeds the stall onset.
    """
    away = lift - airframe.bucket_lift_coefficient
    profile = airframe.profile_drag + airframe.bucket_width * away * away
    profile *= (REFERENCE_SPEED_M_S / max(speed_m_s, 3.0)) ** 0.25
    induced = lift * lift / (math.pi * airframe.span_efficiency * airframe.aspect_ratio)
    excess = max(0.0, abs(lift) - airframe.stall_onset * airframe.max_lift_coefficient)
    return profile + induced + 1.5 * excess * excess + brake * airframe.brake_drag


def sink_at(airframe: Airframe, speed_m_s: float, density_kg_m3: float) -> float:
    """Sink rate in still air in straight flight at an airspeed (small angles)."""
    pressure_area = 0.5 * density_kg_m3 * speed_m_s**2 * airframe.wing_area_m2
    lift = airframe.mass_kg * GRAVITY_M_S2 / pressure_area
    return speed_m_s * drag_coefficient(airframe, lift, speed_m_s) / lift


def best_glide_speed(airframe: Airframe, density_kg_m3: float) -> float:
    """Airspeed of the best ratio of distance to height, found on a grid of 0.1 m/s."""
    weight = airframe.mass_kg * GRAVITY_M_S2
    slowest = math.sqrt(2 * weight / (density_kg_m3 * airframe.wing_area_m2 * airframe.max_lift_coefficient))
    speeds = np.arange(1.08 * slowest, 3.0 * slowest, 0.1)
    ratio = [speed / sink_at(airframe, speed, density_kg_m3) for speed in speeds]
    return float(speeds[int(np.argmax(ratio))])


def textbook_polar(airframe: Airframe) -> tuple[float, float]:
    """Zero-lift drag and span efficiency of CD = CD0 + CL^2/(pi e A), fitted over CL 0.2 to 1.0."""
    lift = np.linspace(0.2, 1.0, 17)
    speed = REFERENCE_SPEED_M_S * np.sqrt(0.6 / lift)
    drag = [drag_coefficient(airframe, c, v) for c, v in zip(lift, speed, strict=True)]
    slope, zero_lift = np.polyfit(lift**2, drag, 1)
    return float(zero_lift), float(1.0 / (math.pi * airframe.aspect_ratio * slope))
