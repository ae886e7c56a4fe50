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
    from numpy.typing import NDArray

    from analyzer.power_system.air import AirState
    from analyzer.power_system.gearbox import GearboxModel
    from analyzer.power_system.motor import MotorModel
    from analyzer.power_system.propeller_curves import PropellerBank

    Array = NDArray[np.float64]
    Floats = Array | float

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
    """Solved points; every field has the points' shape. Heat is where the pack's power goes besides the shaft.

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
    pack_heat_w, controller_heat_w, motor_heat_w, gearbox_heat_w : array
        Losses.
    """

    speed_rev_s: Array
    advance_ratio: Array
    thrust_n: Array
    shaft_power_w: Array
    current_a: Array
    voltage_v: Array
    motor_current_a: Array
    pack_heat_w: Array
    controller_heat_w: Array
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
    row: NDArray[np.intp],
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
    diameter, scale = bank.diameter_m[row], bank.advance_scale[row]
    turn = 2.0 * np.pi * drive.gearbox.ratio

    def motor_state(speed: Array) -> tuple[Array, Floats]:
        omega = turn * speed
        current = _motor_current(drive, omega, throttle)
        torque = motors.shaft_torque_n_m(drive.motor, current, omega)
        return current, gears.output_torque_n_m(drive.gearbox, torque)

    def coefficients(speed: Array) -> Array:
        return bank.coefficients(row, airspeed / (speed * diameter), speed, air.kinematic_viscosity_m2_s)

    def surplus(speed: Array) -> Array:
        load = propellers.torque_n_m(power_factor * coefficients(speed)[1], air.density_kg_m3, speed, diameter)
        return np.asarray(motor_state(speed)[1] - load)

    free = drive.motor.speed_constant_rad_s_v * throttle * drive.open_circuit_v / turn
    windmilling = airspeed / (LOADED_ADVANCE * scale * diameter)
    high = np.maximum(np.maximum(free, windmilling), 2.0 * SLOWEST_REV_S)
    high = np.broadcast_to(high, np.broadcast_shapes(high.shape, np.shape(surplus(high))))
    speed = bracketed_root(surplus, np.full(high.shape, SLOWEST_REV_S), high)
    current, _ = motor_state(speed)
    thrust_coefficient, power_coefficient = coefficients(speed)
    shaft = propellers.shaft_power_w(power_factor * power_coefficient, air.density_kg_m3, speed, diameter)
    thrust = propellers.thrust_n(thrust_factor * thrust_coefficient, air.density_kg_m3, speed, diameter)
    return _with_losses(drive, speed, airspeed / (speed * diameter), thrust, shaft, current, throttle)


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


def _with_losses(
    drive: DriveModel, speed: Array, advance: Array, thrust: Floats, shaft: Floats, current: Array, throttle: Floats
) -> OperatingPoints:
    """Add what each part turns into heat, from its own law."""
    omega = 2.0 * np.pi * drive.gearbox.ratio * speed
    pack_current = throttle * current
    torque = motors.shaft_torque_n_m(drive.motor, current, omega)
    loss_torque = motors.loss_current_a(drive.motor, omega) / drive.motor.speed_constant_rad_s_v
    return OperatingPoints(
        speed_rev_s=speed,
        advance_ratio=np.broadcast_to(advance, speed.shape),
        thrust_n=np.broadcast_to(thrust, speed.shape),
        shaft_power_w=np.broadcast_to(shaft, speed.shape),
        current_a=np.broadcast_to(pack_current, speed.shape),
        voltage_v=np.broadcast_to(drive.open_circuit_v - drive.pack_resistance_ohm * pack_current, speed.shape),
        motor_current_a=np.broadcast_to(current, speed.shape),
        pack_heat_w=np.broadcast_to(drive.pack_resistance_ohm * pack_current**2, speed.shape),
        controller_heat_w=np.broadcast_to(drive.controller_resistance_ohm * current**2, speed.shape),
        motor_heat_w=np.broadcast_to(drive.motor.resistance_ohm * current**2 + loss_torque * omega, speed.shape),
        gearbox_heat_w=np.broadcast_to(
            (torque - gears.output_torque_n_m(drive.gearbox, torque) / drive.gearbox.ratio) * omega, speed.shape
        ),
    )
