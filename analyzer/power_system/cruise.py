"""Level flight at part throttle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system import airframe as frames
from analyzer.power_system.envelope import MID_CHARGE
from analyzer.power_system.operating_point import OperatingPoints, solve_for_thrust

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.power_system.system import PowerSystem
    from analyzer.power_system.variants import Variants


CRUISE_OVER_BEST_GLIDE: Final = 1.2
"""Airspeed of an unhurried cruise over that of the best glide: faster for little more current (common practice)."""


@dataclass(frozen=True, slots=True)
class CruisePoints:
    """Level flight of every variant and propeller, shape (variants, propellers, 1); throttle NaN where out of reach."""

    airspeed_m_s: float
    throttle: Array
    running: OperatingPoints


def cruise_points(system: PowerSystem, variants: Variants) -> CruisePoints | None:
    """Level flight at an economical airspeed; None without an airframe."""
    airframe, density = system.airframe_of(variants), system.air.density_kg_m3
    if system.airframe is None or airframe is None:
        return None
    lift = np.minimum(frames.best_glide_lift_coefficient(system.airframe), system.airframe.max_lift_coefficient)
    airspeed = CRUISE_OVER_BEST_GLIDE * float(np.asarray(frames.speed_for_lift_m_s(system.airframe, lift, density)))
    thrust = np.broadcast_to(frames.drag_n(airframe, airspeed, airframe.weight_n, density), variants.rows.shape)
    drive = system.drive(variants, MID_CHARGE)
    power, force = variants.factor("power"), variants.factor("thrust")
    throttle, running = solve_for_thrust(
        drive, variants.bank, variants.rows, airspeed, system.air, thrust, power, force
    )
    return CruisePoints(airspeed, throttle, running)
