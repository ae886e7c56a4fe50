"""From operating points to a flight: where the climb is best, how fast level flight can be, what the pack gives.

All propellers and all variants are solved together, three times: over the whole range of airspeeds, closer around
the best climb and the top speed, and at the speeds found. Each variant climbs at its own best airspeed, at each state
of charge. The top speed is found for the prediction as it stands; that of a variant follows from its spare thrust
there, to first order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system import airframe as frames
from analyzer.power_system.operating_point import OperatingPoints, solve
from analyzer.power_system.pack import open_circuit_v

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices, Mask
    from analyzer.power_system.airframe import AirframeModel
    from analyzer.power_system.system import PowerSystem
    from analyzer.power_system.variants import Variants


AIRSPEEDS: Final = 40
REFINED: Final = 6
"""Points solved around a best climb or a top speed; thrust is smooth there, and is interpolated between them."""

BETWEEN: Final = 49
"""Airspeeds that are tried on the interpolated thrust: the best one is found to about 0.1 m/s."""

MID_CHARGE: Final = 0.6
"""State of charge of the main results: the middle of a flight that uses 80 % of the pack."""

CHARGES: Final = (1.0, 0.8, 0.6, 0.4, 0.2)
"""States of charge at which climbs are followed through the pack: the first climb, and so on to the last."""

FULL, MID, LAST = 0, 2, 4


@dataclass(frozen=True, slots=True)
class FlownPoints:
    """Operating points with the flight that they make; fields of shape (variants, propellers, points).

    Attributes
    ----------
    airspeed_m_s : array
        True airspeed.
    running : OperatingPoints
        Of the power system.
    drag_n : array
        In level flight; NaN where the wing cannot carry the model.
    climb_angle_rad, climb_rate_m_s : array
        Of the steady climb; NaN without an airframe, or where the wing cannot carry the model.
    """

    airspeed_m_s: Array
    running: OperatingPoints
    drag_n: Array
    climb_angle_rad: Array
    climb_rate_m_s: Array

    @property
    def climb_per_ah_m(self) -> Array:
        """Height for each ampere-hour out of the pack."""
        return 3600.0 * self.climb_rate_m_s / np.maximum(self.running.current_a, 1e-6)

    @property
    def climb_per_wh_m(self) -> Array:
        """Height for each watt-hour at the pack's terminals."""
        return 3600.0 * self.climb_rate_m_s / np.maximum(self.running.electrical_power_w, 1e-6)

    @property
    def propeller_efficiency(self) -> Array:
        """Thrust power over shaft power; 0 where the propeller takes no power."""
        shaft = self.running.shaft_power_w
        useful = self.running.thrust_n * self.airspeed_m_s / np.where(shaft > 0.0, shaft, 1.0)
        return np.where(shaft > 0.0, useful, 0.0)


@dataclass(frozen=True, slots=True)
class Envelope:
    """Everything solved for some propellers.

    Attributes
    ----------
    points : FlownPoints
        Over the airspeeds, at `MID_CHARGE`.
    static : FlownPoints
        Standing still, full pack; one point.
    worst : FlownPoints
        Where the current in flight is highest, full pack; one point.
    fast : FlownPoints
        At the top level speed, full pack; one point.
    climbs : FlownPoints
        Each at its own best airspeed, through `CHARGES`.
    level : FlownPoints
        At the top level speed; one point.
    top_speed_m_s : array, shape (variants, propellers)
        NaN where the propeller cannot hold level flight.
    climbs_at_all : array of bool, shape (propellers,)
        Whether there is an airspeed at which the model climbs.
    """

    points: FlownPoints
    static: FlownPoints
    worst: FlownPoints
    fast: FlownPoints
    climbs: FlownPoints
    level: FlownPoints
    top_speed_m_s: Array
    climbs_at_all: Mask


def fly(
    system: PowerSystem,
    variants: Variants,
    airspeed_m_s: Array,
    state_of_charge: Array | float,
    throttle: Array | float = 1.0,
) -> FlownPoints:
    """Solve the power system at airspeeds and say how the model climbs there.

    Parameters
    ----------
    system : PowerSystem
        All but the propellers.
    variants : Variants
        The propellers, and what is uncertain.
    airspeed_m_s : array, shape (points,) or (propellers, points)
        True airspeeds.
    state_of_charge : array, shape (points,), or float
        Of the pack.
    throttle : array, shape (variants, propellers, 1), or float
        Duty cycle.
    """
    running = solve(
        system.drive(variants, state_of_charge),
        variants.bank,
        variants.rows,
        airspeed_m_s,
        system.air,
        throttle,
        variants.factor("power"),
        variants.factor("thrust"),
    )
    airspeed = np.broadcast_to(airspeed_m_s, running.thrust_n.shape)
    airframe = system.airframe_of(variants)
    if airframe is None:
        nothing = np.full(airspeed.shape, np.nan)
        return FlownPoints(airspeed, running, nothing, nothing, nothing)
    density = system.air.density_kg_m3
    drag = np.asarray(frames.drag_n(airframe, airspeed, airframe.weight_n, density))
    carried = frames.needed_lift_coefficient(airframe, airspeed, 0.0, density) <= airframe.max_lift_coefficient
    angle = _carried_angle(airframe, airspeed, running.thrust_n, density)
    return FlownPoints(airspeed, running, np.where(carried, drag, np.nan), angle, airspeed * np.sin(angle))


def _carried_angle(airframe: AirframeModel, airspeed: Array, thrust: Array, density: float) -> Array:
    """Climb angle, NaN where the wing would have to lift more than it can."""
    angle = np.asarray(frames.climb_angle_rad(airframe, airspeed, thrust, density))
    needed = np.asarray(frames.needed_lift_coefficient(airframe, airspeed, angle, density))
    return np.where(needed <= airframe.max_lift_coefficient, angle, np.nan)


def envelope(system: PowerSystem, variants: Variants, throttle: float = 1.0) -> Envelope:
    """Solve everything that a prediction needs.

    Parameters
    ----------
    system : PowerSystem
        All but the propellers.
    variants : Variants
        The propellers, and what is uncertain.
    throttle : float
        Duty cycle of the climb.
    """
    airspeeds = _airspeeds(system, variants, throttle)
    points = fly(system, variants, airspeeds, MID_CHARGE, throttle)
    near_top = fly(system, variants.centre(), _around_top(points), MID_CHARGE, throttle)
    top_speed, slope = _crossing(near_top.airspeed_m_s[0], (near_top.running.thrust_n - near_top.drag_n)[0])

    worst_speed = _at_highest(airspeeds, points.running.current_a[0])
    top = np.nan_to_num(top_speed)
    single = np.stack((np.zeros_like(top), worst_speed, top, top), axis=1)
    best_speeds = _best_airspeeds(system, variants, points, throttle)
    speeds = np.concatenate((np.broadcast_to(single, (*best_speeds.shape[:2], single.shape[1])), best_speeds), axis=2)
    final = fly(system, variants, speeds, np.array((1.0, 1.0, 1.0, MID_CHARGE, *CHARGES)), throttle)
    static, worst, fast, level = (_part(final, slice(at, at + 1)) for at in range(4))
    climbs = _part(final, slice(4, None))
    spare = (level.running.thrust_n - level.drag_n)[:, :, 0]
    return Envelope(
        points=points,
        static=static,
        worst=worst,
        fast=fast,
        climbs=climbs,
        level=level,
        top_speed_m_s=top_speed - (spare - spare[0]) / slope,
        climbs_at_all=np.nan_to_num(climbs.climb_rate_m_s[0, :, MID], nan=-1.0) > 0.0,
    )


def _airspeeds(system: PowerSystem, variants: Variants, throttle: float) -> Array:
    """Airspeeds for each propeller, shape (propellers, points): from rest to where its thrust surely ends."""
    drive = system.drive(variants.centre(), MID_CHARGE)
    row = variants.rows[0, :, 0]
    turn = 2.0 * np.pi * drive.gearbox.ratio
    free_speed = np.asarray(drive.motor.speed_constant_rad_s_v * throttle * drive.open_circuit_v / turn)[0, :, 0]
    ends = free_speed * variants.bank.advance_scale[row] * variants.bank.diameter_m[row]
    return ends[:, None] * np.linspace(0.0, 1.0, AIRSPEEDS)


def _best_airspeeds(system: PowerSystem, variants: Variants, points: FlownPoints, throttle: float) -> Array:
    """Airspeed of the best climb at each of `CHARGES`, shape (variants, propellers, charges); 0 without an airframe.

    It lies between the neighbours of the best point at `MID_CHARGE`, or beyond them as far as the rest voltage is
    another, by up to about the third power of its ratio: where the thrust T = n^2 f(V/n) just carries the weight, and
    falls off about as 1/V, dV/V is up to 3 dn/n. The climb has a kink there, where it becomes vertical, so that it is
    the thrust that is interpolated.
    """
    airframe = system.airframe_of(variants)
    if airframe is None:
        return np.zeros((*points.airspeed_m_s.shape[:2], len(CHARGES)))
    best = np.nan_to_num(points.climb_rate_m_s, nan=-np.inf).argmax(axis=-1)
    rest_v = open_circuit_v(system.pack, np.array(CHARGES))
    reach = (rest_v / rest_v[MID]) ** 3
    low, high = (_airspeed_of(points, best + side)[..., None] for side in (-1, 1))
    low, high = low * np.minimum(reach, 1.0), high * np.maximum(reach, 1.0)
    share = np.linspace(0.0, 1.0, REFINED)
    solved = low[..., None] + (high - low)[..., None] * share
    flat = (*solved.shape[:2], -1)
    found = fly(system, variants, solved.reshape(flat), np.repeat(CHARGES, REFINED), throttle)
    finer = np.array([np.interp(np.linspace(0.0, 1.0, BETWEEN), share, unit) for unit in np.eye(REFINED)])
    airspeed, thrust = (values.reshape(solved.shape) @ finer for values in (solved, found.running.thrust_n))
    angle = _carried_angle(airframe, airspeed.reshape(flat), thrust.reshape(flat), system.air.density_kg_m3)
    return _at_highest(airspeed, airspeed * np.sin(angle.reshape(airspeed.shape)))


def _around_top(points: FlownPoints) -> Array:
    """Airspeeds between which the spare thrust ends, as it stands, shape (1, propellers, `REFINED`)."""
    spare = np.nan_to_num((points.running.thrust_n - points.drag_n)[:1], nan=-1.0) >= 0.0
    last = np.where(spare.any(axis=-1), AIRSPEEDS - 1 - spare[..., ::-1].argmax(axis=-1), 0)
    low, high = (_airspeed_of(points, at)[..., None] for at in (last, last + 1))
    return low + (high - low) * np.linspace(0.0, 1.0, REFINED)


def _airspeed_of(points: FlownPoints, at: Indices) -> Array:
    """Airspeed of one point of each row, the nearest where there is none so far out."""
    return np.take_along_axis(points.airspeed_m_s[: len(at)], np.clip(at, 0, AIRSPEEDS - 1)[..., None], axis=-1)[..., 0]


def _at_highest(airspeed: Array, values: Array) -> Array:
    """Airspeed of the highest value along the last axis, NaN left out."""
    best = np.nan_to_num(values, nan=-np.inf).argmax(axis=-1)
    return np.take_along_axis(airspeed, best[..., None], axis=-1)[..., 0]


def _crossing(airspeed: Array, excess: Array) -> tuple[Array, Array]:
    """Airspeed at which spare thrust passes through zero, and its slope there; NaN where it does not."""
    slope = (excess[:, -1] - excess[:, 0]) / np.maximum(airspeed[:, -1] - airspeed[:, 0], 1e-9)
    crosses = (excess[:, 0] >= 0.0) & (excess[:, -1] < 0.0)
    speeds = [
        float(np.interp(0.0, -row, at)) if ok else np.nan for row, at, ok in zip(excess, airspeed, crosses, strict=True)
    ]
    return np.array(speeds), np.where(crosses, slope, np.nan)


def _part(points: FlownPoints, part: slice) -> FlownPoints:
    """Some of the points."""
    running = OperatingPoints(
        **{name: getattr(points.running, name)[:, :, part] for name in OperatingPoints.__dataclass_fields__}
    )
    rest = (points.airspeed_m_s, points.drag_n, points.climb_angle_rad, points.climb_rate_m_s)
    airspeed, drag, angle, rate = (values[:, :, part] for values in rest)
    return FlownPoints(airspeed, running, drag, angle, rate)
