"""Motor, gearbox and controller against the first-order equations and published examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.power_system.gearbox import GearboxModel, gearbox_model, output_torque_n_m
from analyzer.power_system.motor import (
    RAD_S_PER_RPM,
    MotorModel,
    loss_current_a,
    motor_model,
    shaft_torque_n_m,
    speed_rad_s,
)
from analyzer.power_system.speed_controller import motor_current_a
from analyzer.setup_file import Motor

# Relations of M. Drela, "First-Order DC Electric Motor Model", MIT, 2007 (from memory), worked for an invented motor.
INVENTED = MotorModel(890.0 * RAD_S_PER_RPM, 0.030, 1.2)


def test_speed_torque_and_efficiency_at_30_a_and_11_1_v() -> None:
    speed = speed_rad_s(INVENTED, 11.1, 30.0)
    torque = shaft_torque_n_m(INVENTED, 30.0, speed)
    assert speed / RAD_S_PER_RPM == pytest.approx(9078.0, abs=0.05)
    assert torque == pytest.approx(0.309011, abs=5e-7)
    assert torque * speed == pytest.approx(293.76, abs=5e-3)
    assert torque * speed / (11.1 * 30.0) == pytest.approx(0.882162, abs=5e-7)


def test_the_efficiency_peaks_at_the_published_current() -> None:
    """Same source: I = sqrt(I0 V/R) and (1 - sqrt(I0 R/V))^2, here 21.0713 A and 0.889344 (computed)."""
    currents = np.linspace(2.0, 60.0, 58_001)
    speeds = speed_rad_s(INVENTED, 11.1, currents)
    curve = shaft_torque_n_m(INVENTED, currents, speeds) * speeds / (11.1 * currents)
    assert currents[curve.argmax()] == pytest.approx(21.0713, abs=2e-3)
    assert curve.max() == pytest.approx(0.889344, abs=5e-7)


def test_a_viscous_loss_gives_the_published_best_efficiency() -> None:
    """A. Ruina, course file Motor2.m (2010): k 0.0173 SI, R 1.3 ohm, T = k I - c w with c 3e-6 SI (read in a copy).

    His closed form: (sqrt(1 + a) - 1)/(sqrt(1 + a) + 1) with a = k^2/(R c), here 0.796274 (computed). A no-load
    current that is all proportional to speed is the same loss: I0 at w0 with I0/w0 = c/k.
    """
    k, resistance, c = 0.0173, 1.3, 3e-6
    speeds = np.linspace(1.0, 1500.0, 150_001)
    currents = (24.0 - k * speeds) / resistance
    viscous = MotorModel(1.0 / k, resistance, c / k * speeds, np.inf)
    torque = shaft_torque_n_m(viscous, currents, speeds)
    running = torque > 0
    assert (torque * speeds / (24.0 * currents))[running].max() == pytest.approx(0.796274, abs=2e-6)


def test_the_no_load_current_is_met_at_its_own_voltage() -> None:
    motor = motor_model(Motor(kv_rpm_per_v=1000.0, resistance_ohm=0.05, no_load_current_a=1.5, no_load_voltage_v=10.0))
    speed = speed_rad_s(motor, 10.0, 1.5)
    assert loss_current_a(motor, speed) == pytest.approx(1.5)
    assert shaft_torque_n_m(motor, 1.5, speed) == pytest.approx(0.0, abs=1e-12)
    assert loss_current_a(motor, 2.0 * speed) > loss_current_a(motor, speed) > loss_current_a(motor, 0.0) > 0.0


def test_without_its_voltage_the_no_load_current_is_constant() -> None:
    motor = motor_model(Motor(kv_rpm_per_v=1000.0, resistance_ohm=0.05, no_load_current_a=1.5))
    assert loss_current_a(motor, 10.0) == loss_current_a(motor, 1000.0) == pytest.approx(1.5)


def test_a_gear_loses_power_in_both_directions() -> None:
    assert output_torque_n_m(gearbox_model(None), 1.0) == 1.0
    gear = GearboxModel(5.0, 0.9)
    assert output_torque_n_m(gear, 1.0) == pytest.approx(4.5)
    assert output_torque_n_m(gear, -1.0) == pytest.approx(-5.0 / 0.9)


@given(throttle=st.floats(0.05, 1.0), emf=st.floats(0.0, 12.0), pack=st.floats(0.0, 0.2), motor=st.floats(0.005, 1.0))
def test_the_controller_conserves_power(throttle: float, emf: float, pack: float, motor: float) -> None:
    """Power from the cells is what the resistances and the back-EMF take; no current flows back."""
    current = float(motor_current_a(emf, throttle, 12.0, pack, motor))
    assert current >= 0.0
    if current > 0.0:
        taken = emf * current + motor * current**2 + pack * (throttle * current) ** 2
        assert 12.0 * throttle * current == pytest.approx(taken, rel=1e-9)
