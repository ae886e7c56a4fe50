"""The records of a prediction, each from the solved envelope of all propellers."""

from __future__ import annotations

from dataclasses import astuple, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from analyzer.power_system import airframe as frames
from analyzer.power_system.envelope import CHARGES
from analyzer.power_system.glide_drag import glide_drag
from analyzer.power_system.pack import USABLE_CHARGE
from analyzer.power_system.prediction_records import (
    Climb,
    Cruise,
    Estimate,
    GlideWithPropeller,
    LevelFlight,
    PackYield,
    PredictedPoint,
    StaticRun,
)
from analyzer.power_system.variants import interval

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.power_system.airframe import AirframeModel
    from analyzer.power_system.cruise import CruisePoints
    from analyzer.power_system.envelope import Envelope, FlownPoints
    from analyzer.power_system.propeller import Propeller
    from analyzer.power_system.system import PowerSystem


_CLIMB_RESULTS: Final = (
    "climb_rate_m_s", "climb_angle_deg", "climb_per_ah_m", "climb_per_wh_m", "current_a", "voltage_v", "rpm",
    "thrust_n", "shaft_power_w", "electrical_power_w", "propeller_efficiency", "motor_efficiency", "motor_heat_w",
)  # fmt: skip
_STATIC_RESULTS: Final = (
    "rpm", "current_a", "voltage_v", "thrust_n", "shaft_power_w", "electrical_power_w", "motor_efficiency",
    "motor_heat_w",
)  # fmt: skip


class Intervals:
    """Results of solved points with their intervals, computed once for all propellers.

    Parameters
    ----------
    flown : FlownPoints
        Of all variants.
    """

    def __init__(self, flown: FlownPoints) -> None:
        self.flown = flown
        self._found: dict[str, tuple[Array, Array, Array]] = {}

    def at(self, name: str, index: int, point: int) -> Estimate:
        """One result of one propeller at one point."""
        if name not in self._found:
            self._found[name] = interval(_result(self.flown, name))
        value, low, high = (float(part[index, point]) for part in self._found[name])
        return Estimate(value, max(low, 0.0) if name in _NEVER_NEGATIVE else low, high)

    def some(self, names: tuple[str, ...], index: int, point: int) -> dict[str, Any]:
        """Several results of one propeller at one point, by name."""
        return {name: self.at(name, index, point) for name in names}


def _result(flown: FlownPoints, name: str) -> Array:
    if name == "rpm":
        return flown.running.speed_rev_s * 60.0
    if name == "climb_angle_deg":
        return np.degrees(flown.climb_angle_rad)
    holder = flown if name in _OF_FLIGHT else flown.running
    values: Array = getattr(holder, name)
    return values


_NEVER_NEGATIVE: Final = ("current_a", "electrical_power_w", "motor_efficiency", "motor_heat_w")

_OF_FLIGHT: Final = ("climb_rate_m_s", "climb_per_ah_m", "climb_per_wh_m", "propeller_efficiency")


def estimate(values: Array) -> Estimate:
    """Estimate from one result in all variants, shape (s,)."""
    value, low, high = interval(values)
    return Estimate(float(value), float(low), float(high))


def static_run(static: Intervals, propeller: Propeller, index: int) -> StaticRun:
    """Full throttle on the ground."""
    found = static.some(_STATIC_RESULTS, index, 0)
    rpm = found["rpm"]
    pitch = propeller.pitch_m / 60.0
    return StaticRun(**found, pitch_speed_m_s=Estimate(rpm.value * pitch, rpm.low * pitch, rpm.high * pitch))


def climb(climbs: Intervals, index: int, at: int) -> Climb:
    """The climb at one of the states of charge."""
    airspeed = climbs.flown.airspeed_m_s[:, index, at]
    found = climbs.some(_CLIMB_RESULTS, index, at)
    found["climb_angle_deg"] = _at_most(found["climb_angle_deg"], 90.0)
    return Climb(state_of_charge=CHARGES[at], airspeed_m_s=estimate(airspeed), **found)


def level_flight(solved: Envelope, level: Intervals, index: int) -> LevelFlight | None:
    """Top speed; None where the propeller cannot hold level flight, or without an airframe."""
    if not np.isfinite(solved.top_speed_m_s[0, index]):
        return None
    return LevelFlight(
        top_speed_m_s=estimate(solved.top_speed_m_s[:, index]), **level.some(("current_a", "rpm"), index, 0)
    )


def cruise(cruising: CruisePoints | None, index: int) -> Cruise | None:
    """Cruise; None where full throttle is not enough, or without an airframe."""
    if cruising is None or not np.isfinite(cruising.throttle[0, index, 0]):
        return None
    return Cruise(
        airspeed_m_s=cruising.airspeed_m_s,
        throttle=_at_most(estimate(cruising.throttle[:, index, 0]), 1.0),
        current_a=estimate(cruising.running.current_a[:, index, 0]),
        rpm=estimate(cruising.running.speed_rev_s[:, index, 0] * 60.0),
    )


def pack_yield(system: PowerSystem, solved: Envelope, index: int, height_m: float) -> PackYield | None:
    """Height that one pack's usable charge gives, climbing all the time; None where the capacity is not given.

    The mean over the states of charge from full down to `USABLE_CHARGE` used, by the trapezoidal rule.
    """
    if system.pack.capacity_ah is None:
        return None
    usable = USABLE_CHARGE * system.pack.capacity_ah
    per_ah = np.maximum(solved.climbs.climb_per_ah_m[:, index], 0.0)
    mean = np.trapezoid(per_ah, -np.array(CHARGES), axis=1) / (CHARGES[0] - CHARGES[-1])
    return PackYield(usable, height_m, estimate(usable * mean), estimate(usable * mean / height_m))


def glide_with_propeller(system: PowerSystem, propeller: Propeller) -> GlideWithPropeller | None:
    """Least sink rate in the three states of the propeller; None without an airframe."""
    if system.airframe is None:
        return None
    sinks = (_least_sink_m_s(system, system.airframe, area) for area in astuple(glide_drag(propeller)))
    return GlideWithPropeller(*sinks)


def _least_sink_m_s(system: PowerSystem, airframe: AirframeModel, drag_area_m2: float) -> float:
    """Of the airframe with a further drag area, at the airspeed that is then the best one."""
    drag = airframe.zero_lift_drag_coefficient + drag_area_m2 / airframe.wing_area_m2
    dragged, density = replace(airframe, zero_lift_drag_coefficient=drag), system.air.density_kg_m3
    speed = frames.speed_for_lift_m_s(dragged, frames.least_sink_lift_coefficient(dragged), density)
    return float(np.asarray(frames.sink_rate_m_s(dragged, speed, density)))


def points(flown: Intervals, index: int) -> tuple[PredictedPoint, ...]:
    """One record for each airspeed."""
    return tuple(_point(flown, index, at) for at in range(flown.flown.airspeed_m_s.shape[2]))


def _point(intervals: Intervals, index: int, at: int) -> PredictedPoint:
    flown = intervals.flown
    drag, climbs = flown.drag_n[0, index, at], bool(np.isfinite(flown.climb_rate_m_s[0, index, at]))
    return PredictedPoint(
        airspeed_m_s=float(flown.airspeed_m_s[0, index, at]),
        rpm=float(flown.running.speed_rev_s[0, index, at] * 60.0),
        current_a=intervals.at("current_a", index, at),
        thrust_n=intervals.at("thrust_n", index, at),
        drag_n=float(drag) if np.isfinite(drag) else None,
        shaft_power_w=float(flown.running.shaft_power_w[0, index, at]),
        propeller_efficiency=intervals.at("propeller_efficiency", index, at).value,
        climb_rate_m_s=intervals.at("climb_rate_m_s", index, at) if climbs else None,
    )


def _at_most(found: Estimate, ceiling: float) -> Estimate:
    return Estimate(min(found.value, ceiling), min(found.low, ceiling), min(found.high, ceiling))
