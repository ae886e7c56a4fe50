"""The coupled solve: pack, controller, motor, gearbox and propeller find their common speed.

One unknown for each point, the propeller's speed n. The motor's torque falls with n along a straight line; the
propeller's torque rises with n; where they meet is the operating point. The difference is positive as n nears 0
and negative beyond the no-load speed (or beyond the speed at which the air drives the propeller), so that every
point has a bracket and a solution; whether the solution is any use is for `limits` to say.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system import gearbox as gears
from analyzer.power_system import motor as motors
from analyzer.power_system import propeller as propellers
from analyzer.power_system.roots import bracketed_root
from analyzer.power_system.speed_controller import motor_current_a

if TYPE_CHECKING:
    from analyzer.arrays import Array, Floats, Indices
    from analyzer.power_system.air import AirState
    from analyzer.power_system.gearbox import GearboxModel
    from analyzer.power_system.motor import MotorModel
    from analyzer.power_system.propeller_curves import PropellerBank


LOADED_ADVANCE: Final = 0.8
"""Share of the zero-thrust advance ratio at which every propeller still takes power: closes the bracket above."""

SLOWEST_REV_S: Final = 1e-3


@dataclass(frozen=True, slots=True)
class DriveModel:
    """Everything between the cells and the propeller shaft. Numbers may be arrays that broadcast with the points.

    Attributes
    ----------
    open_circuit_v, pack_resistance_ohm : array
        The pack at its state of charge and temperature.
    controller_resistance_ohm : array
        Controller and leads, on the motor's side.
    motor : MotorModel
        The motor.
    gearbox : GearboxModel
        The gearbox.
    """

    open_circuit_v: Floats
    pack_resistance_ohm: Floats
    controller_resistance_ohm: Floats
    motor: MotorModel
    gearbox: GearboxModel


@dataclass(frozen=True, slots=True)
class OperatingPoints:
    """Solved points; every field has the points' shape.

    Attributes
    ----------
    speed_rev_s : array
        Propeller speed.
    advance_ratio, thrust_n, shaft_power_w : array
        Of the propeller.
    current_a, voltage_v : array
        Of the pack, under load.
    motor_current_a : array
        Of the motor; above the pack's at part throttle.
    motor_heat_w, gearbox_heat_w : array
        Losses.
    """

    speed_rev_s: Array
    advance_ratio: Array
    thrust_n: Array
    shaft_power_w: Array
    current_a: Array
    voltage_v: Array
    motor_current_a: Array
    motor_heat_w: Array
    gearbox_heat_w: Array

    @property
    def electrical_power_w(self) -> Array:
        """Power at the pack's terminals."""
        return self.voltage_v * self.current_a

    @property
    def motor_efficiency(self) -> Array:
        """Power at the motor's shaft over power into the motor; 0 where it draws none."""
        output = self.shaft_power_w + self.gearbox_heat_w
        power = output + self.motor_heat_w
        return np.where(self.motor_current_a > 0.0, output / np.where(power > 0.0, power, 1.0), 0.0)


def solve(
    drive: DriveModel,
    bank: PropellerBank,
    row: Indices,
    airspeed_m_s: Floats,
    air: AirState,
    throttle: Floats = 1.0,
    power_factor: Floats = 1.0,
    thrust_factor: Floats = 1.0,
) -> OperatingPoints:
    """Solve any number of operating points in one call.

    Parameters
    ----------
    drive : DriveModel
        Pack to gearbox.
    bank : PropellerBank
        Propellers.
    row : array of int
        Row of the bank for each point.
    airspeed_m_s : array
        Along the propeller's axis, 0 and above.
    air : AirState
        Density and viscosity.
    throttle : array
        Duty cycle, 0 to 1.
    power_factor, thrust_factor : array
        Calibration: factors on C_P and C_T.

    Returns
    -------
    OperatingPoints
        Of the shape that all arguments, drive included, broadcast to.
    """
    row, airspeed, throttle = np.asarray(row), np.asarray(airspeed_m_s, float), np.asarray(throttle, float)
    load = _Load(bank, row, airspeed, air, power_factor, thrust_factor)
    turn = 2.0 * np.pi * drive.gearbox.ratio

    def surplus(speed_rev_s: Array) -> Array:
        omega = turn * speed_rev_s
        torque = motors.shaft_torque_n_m(drive.motor, _motor_current(drive, omega, throttle), omega)
        return np.asarray(gears.output_torque_n_m(drive.gearbox, torque) - load.torque_n_m(speed_rev_s))

    free = drive.motor.speed_constant_rad_s_v * throttle * drive.open_circuit_v / turn
    high = np.maximum(np.maximum(free, load.windmilling_rev_s()), 2.0 * SLOWEST_REV_S)
    high = np.broadcast_to(high, np.broadcast_shapes(high.shape, np.shape(surplus(high))))
    speed_rev_s = bracketed_root(surplus, np.full(high.shape, SLOWEST_REV_S), high)
    return _operating_points(drive, load, speed_rev_s, _motor_current(drive, turn * speed_rev_s, throttle), throttle)


def solve_for_thrust(
    drive: DriveModel,
    bank: PropellerBank,
    row: Indices,
    airspeed_m_s: Floats,
    air: AirState,
    thrust_n: Array,
    power_factor: Floats = 1.0,
    thrust_factor: Floats = 1.0,
) -> tuple[Array, OperatingPoints]:
    """Find the throttle that gives a thrust.

    Parameters
    ----------
    drive, bank, row, airspeed_m_s, air, power_factor, thrust_factor
        As in `solve`.
    thrust_n : array
        Wanted thrust, above 0.

    Returns
    -------
    (array, OperatingPoints)
        Throttle, and the points. NaN where not even full throttle gives the thrust.
    """
    load = _Load(bank, np.asarray(row), np.asarray(airspeed_m_s, float), air, power_factor, thrust_factor)
    turn = 2.0 * np.pi * drive.gearbox.ratio
    free = drive.motor.speed_constant_rad_s_v * drive.open_circuit_v / turn
    high = np.broadcast_to(free, np.broadcast_shapes(np.shape(free), np.shape(thrust_n), load.row.shape))
    speed_rev_s = bracketed_root(lambda at: load.thrust_n(at) - thrust_n, np.full(high.shape, SLOWEST_REV_S), high)
    omega = turn * speed_rev_s
    torque = load.torque_n_m(speed_rev_s) / (drive.gearbox.ratio * drive.gearbox.efficiency)
    current = torque * drive.motor.speed_constant_rad_s_v + motors.loss_current_a(drive.motor, omega)
    # The motor's voltage u is d E - d^2 R I: the smaller root in d, without cancellation where R is small.
    resistance = drive.motor.resistance_ohm + drive.controller_resistance_ohm
    voltage = omega / drive.motor.speed_constant_rad_s_v + current * resistance
    root = drive.open_circuit_v**2 - 4.0 * drive.pack_resistance_ohm * current * voltage
    throttle = np.where(root >= 0.0, 2.0 * voltage / (drive.open_circuit_v + np.sqrt(np.maximum(root, 0.0))), np.nan)
    reached = load.thrust_n(speed_rev_s) >= thrust_n * (1.0 - 1e-6)
    throttle = np.where(reached & (throttle <= 1.0), throttle, np.nan)
    return throttle, _operating_points(drive, load, speed_rev_s, np.asarray(current), throttle)


@dataclass(frozen=True, slots=True)
class _Load:
    """The propellers' side: what they take and give at a speed."""

    bank: PropellerBank
    row: Indices
    airspeed_m_s: Array
    air: AirState
    power_factor: Floats
    thrust_factor: Floats

    def advance_ratio(self, speed_rev_s: Array) -> Array:
        return self.airspeed_m_s / (speed_rev_s * self.bank.diameter_m[self.row])

    def torque_n_m(self, speed_rev_s: Array) -> Floats:
        return self.shaft_power_w(speed_rev_s) / (2.0 * np.pi * speed_rev_s)

    def shaft_power_w(self, speed_rev_s: Array) -> Floats:
        air, diameter = self.air, self.bank.diameter_m[self.row]
        c_p = self.bank.power(self.row, self.advance_ratio(speed_rev_s), speed_rev_s, air.kinematic_viscosity_m2_s)
        return propellers.shaft_power_w(self.power_factor * c_p, air.density_kg_m3, speed_rev_s, diameter)

    def thrust_n(self, speed_rev_s: Array) -> Array:
        air, diameter = self.air, self.bank.diameter_m[self.row]
        c_t = self.bank.thrust(self.row, self.advance_ratio(speed_rev_s), speed_rev_s, air.kinematic_viscosity_m2_s)
        return np.asarray(propellers.thrust_n(self.thrust_factor * c_t, air.density_kg_m3, speed_rev_s, diameter))

    def windmilling_rev_s(self) -> Array:
        """A speed at which the propeller surely takes power at this airspeed."""
        return self.airspeed_m_s / (LOADED_ADVANCE * self.bank.advance_scale[self.row] * self.bank.diameter_m[self.row])


def _motor_current(drive: DriveModel, omega: Array, throttle: Floats) -> Array:
    return np.asarray(
        motor_current_a(
            omega / drive.motor.speed_constant_rad_s_v,
            throttle,
            drive.open_circuit_v,
            drive.pack_resistance_ohm,
            drive.motor.resistance_ohm + drive.controller_resistance_ohm,
        )
    )


def _operating_points(
    drive: DriveModel, load: _Load, speed_rev_s: Array, motor_current: Array, throttle: Floats
) -> OperatingPoints:
    """Everything else at the solved speed; each part's heat from its own law."""
    omega = 2.0 * np.pi * drive.gearbox.ratio * speed_rev_s
    current = throttle * motor_current
    torque = motors.shaft_torque_n_m(drive.motor, motor_current, omega)
    loss_torque = motors.loss_current_a(drive.motor, omega) / drive.motor.speed_constant_rad_s_v
    passed = gears.output_torque_n_m(drive.gearbox, torque) / drive.gearbox.ratio
    fields = {
        "speed_rev_s": speed_rev_s,
        "advance_ratio": load.advance_ratio(speed_rev_s),
        "thrust_n": load.thrust_n(speed_rev_s),
        "shaft_power_w": load.shaft_power_w(speed_rev_s),
        "current_a": current,
        "voltage_v": drive.open_circuit_v - drive.pack_resistance_ohm * current,
        "motor_current_a": motor_current,
        "motor_heat_w": drive.motor.resistance_ohm * motor_current**2 + loss_torque * omega,
        "gearbox_heat_w": (torque - passed) * omega,
    }
    return OperatingPoints(**{name: np.broadcast_to(value, speed_rev_s.shape) for name, value in fields.items()})
