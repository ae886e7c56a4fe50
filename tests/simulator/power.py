"""Pack, speed controller, motor, gearbox and propeller as one quasi-steady system.

The loss models are not the first-order textbook ones: iron losses have a constant and an
eddy-current part, the controller loses in switching at part throttle, the gearbox has a drag
torque beside its friction, the pack relaxes, and the propeller's blades stall at low advance
ratio and suffer at low Reynolds number.
"""

from __future__ import annotations

import math

from simulator.scenario import Drive, Pack

INCH_M = 0.0254
STALLED_M_S = 5.0
"""Slower air does not turn a propeller against the cogging of its motor."""
RUN_DOWN_S = 0.5
_CHARGE = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
_CELL_V = (3.27, 3.61, 3.69, 3.74, 3.77, 3.80, 3.84, 3.88, 3.95, 4.02, 4.10, 4.19)


def open_circuit_cell_v(charge: float) -> float:
    """Rest voltage of one cell over its state of charge (invented, typical of lithium polymer)."""
    charge = min(max(charge, 0.0), 1.0)
    for index in range(len(_CHARGE) - 2, -1, -1):
        if charge >= _CHARGE[index]:
            share = (charge - _CHARGE[index]) / (_CHARGE[index + 1] - _CHARGE[index])
            return _CELL_V[index] + share * (_CELL_V[index + 1] - _CELL_V[index])
    return _CELL_V[0]


def thrust_coefficient(pitch_ratio: float, advance: float) -> float:
    """Thrust coefficient of a two-blade folding propeller; static blade stall at high pitch."""
    zero = 0.15 + 1.1 * pitch_ratio
    linear = 0.175 * (zero - advance)
    stalled = 0.06 + 0.07 * pitch_ratio - 0.012 * advance
    return _soft_minimum(linear, stalled, 0.006) - 0.02 * max(0.0, advance - zero)


def power_coefficient(pitch_ratio: float, advance: float) -> float:
    """Power coefficient at an advance ratio: induced, useful and profile power, blade by blade."""
    thrust = thrust_coefficient(pitch_ratio, advance)
    # axial momentum theory for the induced part, 6 % above the ideal
    inflow = -advance / 2 + math.sqrt(advance**2 / 4 + max(thrust, 0.0) * 8 / math.pi / 4)
    zero = 0.15 + 1.1 * pitch_ratio
    stalled = 0.12 * max(0.0, pitch_ratio - 0.4) * max(0.0, 0.45 * zero - advance)
    profile = 0.0035 + 0.006 * pitch_ratio + stalled
    return thrust * (advance + 1.06 * inflow) + profile


def _soft_minimum(first: float, second: float, width: float) -> float:
    return 0.5 * (first + second - math.sqrt((first - second) ** 2 + 4 * width**2))


class PowerSystem:
    """State of the power system: state of charge, relaxation voltage, winding temperature, speed."""

    def __init__(self, pack: Pack, drive: Drive, air_temperature_c: float):
        self.pack = pack
        self.drive = drive
        self.charge = pack.start_charge
        self.relaxation_v = 0.0
        self.air_c = air_temperature_c
        self.winding_c = air_temperature_c
        self.motor_rad_s = 0.0
        self.thrust_n = 0.0
        self.motor_a = 0.0
        self.voltage_v = pack.cells * open_circuit_cell_v(self.charge)
        self._diameter_m = drive.diameter_in * INCH_M
        self._pitch_ratio = drive.pitch_in / drive.diameter_in
        self._blade_factor = (drive.blades / 2.0) ** 0.85

    def propeller(self, rad_s: float, speed_m_s: float, density: float) -> tuple[float, float]:
        """Thrust in N and torque in N m of the propeller."""
        turns = max(rad_s, 1.0) / (2 * math.pi)
        diameter = self._diameter_m
        advance = speed_m_s / (turns * diameter)
        reynolds = max(turns * diameter * diameter * 30.0, 5.0) / 100.0
        quality = reynolds**0.04
        thrust = thrust_coefficient(self._pitch_ratio, min(advance, 2.0)) * quality
        power = max(power_coefficient(self._pitch_ratio, min(advance, 2.0)), 0.004)
        power *= reynolds**-0.06
        scale = density * turns * turns * diameter**4 * self._blade_factor
        thrust *= 1.0 - self.drive.spinner_loss
        return thrust * scale, power * scale * diameter / (2 * math.pi)

    def _imbalance(
        self, rad_s: float, duty: float, rest_v: float, speed_m_s: float, density: float
    ) -> tuple[float, float, float]:
        drive = self.drive
        torque_per_a = 60.0 / (2 * math.pi * drive.kv_rpm_per_v)
        winding = drive.winding_ohm * (1 + 0.0039 * (self.winding_c - 20.0))
        resistance = winding + drive.controller_ohm + duty * duty * self.pack.resistance_ohm
        current = (duty * rest_v - rad_s * torque_per_a) / resistance
        iron = drive.drag_current_a + drive.eddy_current_a_per_krpm * rad_s * 0.00955
        shaft = torque_per_a * (current - iron)
        thrust, load = self.propeller(rad_s / drive.gear_ratio, speed_m_s, density)
        load = load * (1 + drive.gear_friction) / drive.gear_ratio + drive.gear_drag_nm
        return shaft - load, current, thrust

    def _settle(self, duty: float, rest_v: float, speed_m_s: float, density: float) -> None:
        """Find the speed at which motor and propeller torque balance (secant steps)."""
        torque_per_a = 60.0 / (2 * math.pi * self.drive.kv_rpm_per_v)
        free = duty * rest_v / torque_per_a
        speed = self.motor_rad_s if self.motor_rad_s > 0.2 * free else 0.7 * free
        speed = min(speed, free)
        for _ in range(3 if self.motor_rad_s > 0.2 * free else 12):
            value, _, _ = self._imbalance(speed, duty, rest_v, speed_m_s, density)
            nudge = max(0.01 * free, 0.1)
            slope = (self._imbalance(speed + nudge, duty, rest_v, speed_m_s, density)[0] - value) / nudge
            speed = min(max(speed - value / slope, 0.02 * free), free)
        _, current, self.thrust_n = self._imbalance(speed, duty, rest_v, speed_m_s, density)
        self.motor_rad_s = speed
        current = max(current, 0.0)
        switching = self.drive.switching_loss * duty * (1.0 - duty) * current
        self.motor_a = duty * current + switching

    def advance(self, duty: float, avionics_a: float, speed_m_s: float, density: float, step_s: float) -> None:
        """One time step at a duty from 0 to 1; updates current, voltage, thrust and states."""
        pack = self.pack
        rest_v = pack.cells * open_circuit_cell_v(self.charge) - self.relaxation_v
        if duty > 0.0:
            self._settle(duty, rest_v - pack.resistance_ohm * avionics_a, speed_m_s, density)
        else:
            self.motor_a = self.thrust_n = 0.0
            self._coast(speed_m_s, step_s)
        total_a = self.motor_a + avionics_a
        self.voltage_v = rest_v - pack.resistance_ohm * total_a
        self.charge -= total_a * step_s / 3600.0 / pack.capacity_ah
        settle = step_s / pack.relaxation_s
        self.relaxation_v += settle * (pack.relaxation_ohm * total_a - self.relaxation_v)
        heat_w = self.drive.winding_ohm * self.motor_a**2 + 2.0 * (self.motor_a > 0)
        cooling_w_k = 0.35 + 0.03 * speed_m_s
        self.winding_c += step_s * (heat_w - cooling_w_k * (self.winding_c - self.air_c)) / 60.0

    def _coast(self, speed_m_s: float, step_s: float) -> None:
        """The shaft with the motor off: braked at once, or turned by the air, which slow air does not."""
        if self.drive.windmill == 0.0:
            self.motor_rad_s = 0.0
            return
        turns = self.drive.windmill * speed_m_s / (self.drive.pitch_in * INCH_M) if speed_m_s > STALLED_M_S else 0.0
        self.motor_rad_s += (2 * math.pi * turns * self.drive.gear_ratio - self.motor_rad_s) * step_s / RUN_DOWN_S
