"""The coupled solve again, one point at a time in plain scalars through scipy: a second opinion, and a yardstick."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from analyzer.power_system.air import AirState
from analyzer.power_system.operating_point import DriveModel
from analyzer.power_system.propeller_curves import ADVANCE_GRID, LOG_REYNOLDS_GRID, PropellerBank

REFERENCE_CHORD = 0.08
SPEED_SHARE = 0.5


@dataclass(frozen=True)
class ScalarSolve:
    """Pack, motor, gear and propeller at one throttle; equations written out independently of the package's."""

    drive: DriveModel
    bank: PropellerBank
    air: AirState
    throttle: float

    def power_coefficient(self, row: int, advance: float, speed: float) -> float:
        diameter = float(self.bank.diameter_m[row])
        wet = math.hypot(0.75 * math.pi, advance)
        reynolds = REFERENCE_CHORD * speed * diameter**2 * wet / self.air.kinematic_viscosity_m2_s
        log_re = min(max(math.log(reynolds / 1e5), LOG_REYNOLDS_GRID[0]), LOG_REYNOLDS_GRID[-1])
        columns = [
            float(np.interp(advance / self.bank.advance_scale[row], ADVANCE_GRID, self.bank.tables[1, row, :, column]))
            for column in range(LOG_REYNOLDS_GRID.size)
        ]
        return float(np.interp(log_re, LOG_REYNOLDS_GRID, columns))

    def surplus_n_m(self, speed: float, row: int, airspeed: float) -> float:
        motor, gear = self.drive.motor, self.drive.gearbox
        omega = 2.0 * math.pi * speed * gear.ratio
        resistance = motor.resistance_ohm + self.drive.controller_resistance_ohm
        resistance += self.throttle**2 * self.drive.pack_resistance_ohm
        current = (self.throttle * self.drive.open_circuit_v - omega / motor.speed_constant_rad_s_v) / resistance
        loss = motor.no_load_current_a * (1 - SPEED_SHARE + SPEED_SHARE * omega / motor.no_load_speed_rad_s)
        torque = (max(current, 0.0) - loss) / motor.speed_constant_rad_s_v
        out = torque * gear.ratio * (gear.efficiency if torque >= 0 else 1 / gear.efficiency)
        diameter = float(self.bank.diameter_m[row])
        c_p = self.power_coefficient(row, airspeed / (speed * diameter), speed)
        return out - c_p * self.air.density_kg_m3 * speed**2 * diameter**5 / (2 * math.pi)

    def speed_rev_s(self, row: int, airspeed: float) -> float:
        """Propeller speed of one point."""
        free = self.drive.motor.speed_constant_rad_s_v * self.throttle * self.drive.open_circuit_v
        free /= 2 * math.pi * self.drive.gearbox.ratio
        windmilling = airspeed / (0.8 * self.bank.advance_scale[row] * self.bank.diameter_m[row])
        return float(brentq(self.surplus_n_m, 1e-3, max(free, windmilling), args=(row, airspeed), xtol=1e-13))
