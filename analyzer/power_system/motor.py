"""The motor: a first-order model of a brushed or brushless DC motor.

M. Drela, *First-Order DC Electric Motor Model*, MIT, 2007, with one refinement: the no-load current grows with
speed (his second-order model), because friction and hysteresis hold it up at rest while eddy currents and
windage grow with speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Floats
    from analyzer.setup_file import Motor as MotorSection


RAD_S_PER_RPM: Final = 2.0 * np.pi / 60.0

SPEED_SHARE: Final = 0.5
"""Share of the no-load current that is proportional to speed (common practice, no source; 0 is the plain model)."""


@dataclass(frozen=True, slots=True)
class MotorModel:
    """The motor's constants. Each may be an array that broadcasts with the operating points.

    Attributes
    ----------
    speed_constant_rad_s_v : float
        Speed per volt of back-EMF; its inverse is the torque constant in N m/A.
    resistance_ohm : float
        Winding resistance, terminal to terminal.
    no_load_current_a : float
        No-load current at `no_load_speed_rad_s`.
    no_load_speed_rad_s : float
        Speed at which it was measured; infinity makes the speed share vanish.
    """

    speed_constant_rad_s_v: Floats
    resistance_ohm: Floats
    no_load_current_a: Floats
    no_load_speed_rad_s: Floats = np.inf


def motor_model(section: MotorSection) -> MotorModel:
    """The model of a setup's ``[motor]``, whose speed constant and resistance must be there.

    Without a no-load voltage the no-load current is taken as constant.
    """
    constant = (section.kv_rpm_per_v or np.nan) * RAD_S_PER_RPM
    resistance = section.resistance_ohm if section.resistance_ohm is not None else np.nan
    no_load = section.no_load_current_a or 0.0
    if section.no_load_voltage_v is None:
        return MotorModel(constant, resistance, no_load)
    back_emf = max(section.no_load_voltage_v - no_load * resistance, 0.1 * section.no_load_voltage_v)
    return MotorModel(constant, resistance, no_load, constant * back_emf)


def loss_current_a(motor: MotorModel, speed_rad_s: Floats) -> Floats:
    """Current whose torque the motor's own friction, hysteresis and eddy currents take.

    I0(w) = I0 (1 - s + s w/w0) with the share s of `SPEED_SHARE`; constant where w0 is unknown.
    """
    share = np.where(np.isfinite(motor.no_load_speed_rad_s), SPEED_SHARE, 0.0)
    return motor.no_load_current_a * (1.0 - share + share * speed_rad_s / motor.no_load_speed_rad_s)


def shaft_torque_n_m(motor: MotorModel, current_a: Floats, speed_rad_s: Floats) -> Floats:
    """Torque at the motor's shaft, Q = (I - I0)/Kv in SI units (Drela 2007, eq. 2)."""
    return (current_a - loss_current_a(motor, speed_rad_s)) / motor.speed_constant_rad_s_v


def speed_rad_s(motor: MotorModel, voltage_v: Floats, current_a: Floats) -> Floats:
    """Shaft speed, w = Kv (V - I R) (Drela 2007, eq. 1)."""
    return motor.speed_constant_rad_s_v * (voltage_v - current_a * motor.resistance_ohm)
