"""The power system and the airframe in the steady climbs that were flown: one vectorised solve for all of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system import airframe as frames
from analyzer.power_system.operating_point import solve
from analyzer.power_system.variants import PARAMETERS, Calibration, Variants, variants

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices
    from analyzer.match.steady import SteadyRun
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.propeller_curves import PropellerBank, PropellerCurves
    from analyzer.power_system.system import PowerSystem


SPEEDS: Final = 60
"""Airspeeds tried for the speed of the best climb."""


@dataclass(frozen=True)
class Conditions:
    """What the climbs were flown in; every array has shape (runs,).

    Attributes
    ----------
    rest_v, throttle, density_ratio : array
        Rest voltage of the pack, duty cycle, air density over that of the setup's field.
    """

    rest_v: Array
    throttle: Array
    density_ratio: Array


@dataclass(frozen=True)
class Climbs:
    """Predicted steady climbs, shape (variants, runs); climb NaN without an airframe."""

    current_a: Array
    voltage_v: Array
    speed_rev_s: Array
    climb_m_s: Array
    advance_ratio: Array

    @property
    def power_w(self) -> Array:
        """Power at the pack's terminals."""
        return self.current_a * self.voltage_v


def conditions_of(runs: Sequence[SteadyRun]) -> Conditions:
    """Conditions of some runs, whose throttle must be known."""
    return Conditions(
        rest_v=np.array([run.rest_v.value for run in runs]),
        throttle=np.array([run.throttle.value if run.throttle is not None else np.nan for run in runs]),
        density_ratio=np.array([run.density_ratio for run in runs]),
    )


@dataclass(frozen=True)
class ClimbModel:
    """A power system with one propeller under the conditions of some climbs.

    Attributes
    ----------
    system : PowerSystem
        All but the propeller.
    bank : PropellerBank
        Rows of the propeller and of its modes' edges.
    conditions : Conditions
        Of the climbs.
    """

    system: PowerSystem
    bank: PropellerBank
    conditions: Conditions

    def fly(self, steps: Array, rows: Indices, airspeed_m_s: Array, rest_v: Array, throttle: Array) -> Climbs:
        """Solve climbs.

        Density enters the equations only as a product with C_P, with C_T and with the wing's area, so its ratio to the
        field's goes there.

        Parameters
        ----------
        steps : array, shape (variants, p)
            Offsets of `PARAMETERS`.
        rows : array of int, shape (variants,)
            Row of the bank.
        airspeed_m_s, rest_v, throttle : array, shape (variants or 1, runs)
            Of each climb.
        """
        moved = Variants(steps[:, None, :], self.bank, rows[:, None, None])
        density, air = self.conditions.density_ratio, self.system.air
        speed, rest, duty = (values[:, None, :] for values in (airspeed_m_s, rest_v, throttle))
        running = solve(
            self.system.drive_at(moved, rest),
            self.bank,
            moved.rows,
            speed,
            air,
            duty,
            moved.factor("power") * density,
            moved.factor("thrust") * density,
        )
        climb = np.full(running.thrust_n.shape, np.nan)
        airframe = self.system.airframe_of(moved)
        if airframe is not None:
            airframe = replace(airframe, wing_area_m2=airframe.wing_area_m2 * density)
            climb = speed * np.sin(frames.climb_angle_rad(airframe, speed, running.thrust_n, air.density_kg_m3))
        fields = (running.current_a, running.voltage_v, running.speed_rev_s, climb, running.advance_ratio)
        return Climbs(*(values[:, 0, :] for values in fields))

    def airspeeds_m_s(self, runs: Sequence[SteadyRun], offsets: Array, tuning: MatchTuning) -> Array:
        """Airspeed of the climbs, shape (runs,): as logged, else as is usual."""
        logged = [run.airspeed_m_s.value if run.airspeed_m_s is not None else np.nan for run in runs]
        return np.where(np.isfinite(logged), logged, self.usual_airspeed_m_s(offsets, tuning))

    def usual_airspeed_m_s(self, offsets: Array, tuning: MatchTuning) -> Array:
        """Airspeed at which a pilot would fly these climbs, shape (runs,).

        A little faster than the best climb, or where the climb would be steeper than pilots like, at the speed where
        it no longer is.
        """
        if self.system.airframe is None:
            raise AssertionError("only climbs have a usual airspeed")
        slowest = 1.1 * float(np.asarray(frames.stall_speed_m_s(self.system.airframe, self.system.air.density_kg_m3)))
        speeds = np.geomspace(slowest, 6.0 * slowest, SPEEDS)
        shape = (SPEEDS, self.conditions.rest_v.size)
        steps, rows = np.repeat(offsets[None], SPEEDS, axis=0), np.zeros(SPEEDS, dtype=np.intp)
        rest, duty = self.conditions.rest_v[None], self.conditions.throttle[None]
        airspeed = np.broadcast_to(speeds[:, None], shape)
        climb = self.fly(steps, rows, airspeed, rest, duty).climb_m_s
        best = speeds[np.argmax(climb, axis=0)] * tuning.over_best_speed
        steep = climb > airspeed * np.sin(np.radians(tuning.climb_angle_deg))
        last_steep = np.where(steep.any(axis=0), SPEEDS - 1 - np.argmax(steep[::-1], axis=0), 0)
        usual: Array = np.maximum(best, speeds[last_steep])
        return usual


def climb_model(system: PowerSystem, curves: PropellerCurves, conditions: Conditions) -> ClimbModel:
    """The model of some climbs with the propeller as its curves stand (row 0 of the bank), without its modes."""
    still = replace(curves, thrust_modes=curves.thrust_modes[:0], power_modes=curves.power_modes[:0])
    nothing = Calibration(np.zeros(len(PARAMETERS)), np.zeros((0, len(PARAMETERS))))
    return ClimbModel(system, variants([still], nothing).bank, conditions)


def spread_model(
    system: PowerSystem, curves: PropellerCurves, calibration: Calibration, conditions: Conditions
) -> tuple[ClimbModel, Array, Indices]:
    """The model with all that is uncertain: offsets (s, p) and rows (s,) of its variants, as `interval` wants them."""
    laid = variants([curves], calibration)
    return ClimbModel(system, laid.bank, conditions), laid.steps[:, 0, :], laid.rows[:, 0, 0]
