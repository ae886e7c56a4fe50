"""The coupled solve: energy balance, limit cases, and the same answers as scipy's brentq point by point."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from power_points import ScalarSolve

from analyzer.power_system.air import air_state
from analyzer.power_system.coefficients import propeller_curves
from analyzer.power_system.gearbox import GearboxModel
from analyzer.power_system.motor import RAD_S_PER_RPM, MotorModel
from analyzer.power_system.operating_point import DriveModel, OperatingPoints, solve, solve_for_thrust
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.propeller_curves import PropellerBank

AIR = air_state()
PROPELLERS = [Propeller(10.0, 6.0), Propeller(12.0, 6.0), Propeller(16.0, 10.0)]


def bank_of(propellers: list[Propeller]) -> PropellerBank:
    curves = [propeller_curves(one) for one in propellers]
    return PropellerBank(
        np.stack(([one.thrust for one in curves], [one.power for one in curves])),
        np.array([one.advance_scale for one in curves]),
        np.array([one.diameter_m for one in propellers]),
    )


BANK = bank_of(PROPELLERS)
ROWS = np.arange(len(PROPELLERS))[:, None]


def drive(kv: float = 1100.0, ratio: float = 1.0, open_circuit_v: float = 12.0, pack_ohm: float = 0.03) -> DriveModel:
    motor = MotorModel(kv * RAD_S_PER_RPM, 0.025, 1.6, kv * RAD_S_PER_RPM * 10.0)
    return DriveModel(open_circuit_v, pack_ohm, 0.003, motor, GearboxModel(ratio, 0.95 if ratio != 1.0 else 1.0))


def imbalance(points: OperatingPoints, flown: DriveModel) -> np.ndarray:
    outside = flown.pack_resistance_ohm * points.current_a**2
    outside += flown.controller_resistance_ohm * points.motor_current_a**2
    heat = outside + points.motor_heat_w + points.gearbox_heat_w
    return np.abs(flown.open_circuit_v * points.current_a - heat - points.shaft_power_w)


@given(
    kv=st.floats(200.0, 6000.0),
    ratio=st.floats(1.0, 12.0),
    volts=st.floats(3.5, 25.0),
    throttle=st.floats(0.2, 1.0),
    airspeed=st.floats(0.0, 25.0),
)
def test_the_energy_balance_closes(kv: float, ratio: float, volts: float, throttle: float, airspeed: float) -> None:
    """Power of the cells is heat plus shaft power, to 1e-9, wherever the motor drives the propeller."""
    flown = drive(kv, ratio, volts)
    points = solve(flown, BANK, ROWS, np.array([0.0, airspeed]), AIR, throttle)
    driven = points.motor_current_a > 0.0
    scale = np.maximum(volts * points.current_a, 1.0)
    assert (imbalance(points, flown)[driven] <= 1e-9 * scale[driven]).all()
    for field in OperatingPoints.__dataclass_fields__:
        assert np.isfinite(getattr(points, field)).all()


def test_scipy_finds_the_same_points_one_by_one() -> None:
    airspeeds = np.linspace(0.0, 24.0, 7)
    points = solve(drive(ratio=2.0), BANK, ROWS, airspeeds, AIR, 0.8)
    scalar = ScalarSolve(drive(ratio=2.0), BANK, AIR, 0.8)
    for row in range(len(PROPELLERS)):
        for at, airspeed in enumerate(airspeeds):
            assert points.speed_rev_s[row, at] == pytest.approx(scalar.speed_rev_s(row, float(airspeed)), rel=1e-10)


def test_a_motor_without_losses_on_a_stiff_pack_turns_at_kv_times_volts() -> None:
    ideal = DriveModel(10.0, 0.0, 0.0, MotorModel(1000.0 * RAD_S_PER_RPM, 1e-9, 0.0), GearboxModel())
    points = solve(ideal, BANK, ROWS, np.array([0.0]), AIR)
    np.testing.assert_allclose(points.speed_rev_s * 60.0, 10_000.0, rtol=1e-6)
    np.testing.assert_allclose(points.motor_efficiency, 1.0, rtol=1e-6)


def test_efficiency_peaks_at_the_first_order_motors_current() -> None:
    """Loads from light to heavy: 0.889344 is met at 21.0713 A (Drela 2007, see test_motor_model)."""
    motor = MotorModel(890.0 * RAD_S_PER_RPM, 0.030, 1.2)
    supply = DriveModel(11.1, 0.0, 0.0, motor, GearboxModel())
    loads = np.geomspace(0.02, 4.0, 4000)
    points = solve(supply, BANK, np.array([0]), np.array([0.0]), AIR, 1.0, loads)
    best = points.motor_efficiency.argmax()
    assert points.motor_current_a[best] == pytest.approx(21.0713, rel=0.02)
    assert points.motor_efficiency[best] == pytest.approx(0.889344, rel=1e-6)


def test_thin_air_unloads_the_propeller() -> None:
    from analyzer.setup_file import Air

    high = air_state(Air(elevation_m=2500.0, temperature_c=25.0))
    low, thin = (solve(drive(), BANK, ROWS, np.array([8.0]), air) for air in (AIR, high))
    assert (thin.current_a < low.current_a).all()
    assert (thin.speed_rev_s > low.speed_rev_s).all()


def test_a_weak_pack_costs_speed_and_current() -> None:
    stiff, weak = (solve(drive(pack_ohm=ohm), BANK, ROWS, np.array([8.0]), AIR) for ohm in (0.01, 0.08))
    assert (weak.voltage_v < stiff.voltage_v).all()
    assert (weak.current_a < stiff.current_a).all()
    assert (weak.thrust_n < stiff.thrust_n).all()


def test_less_throttle_is_less_of_everything_and_less_from_the_pack_than_in_the_motor() -> None:
    points = solve(drive(), BANK, np.array([1]), np.array([8.0]), AIR, np.array([1.0, 0.7, 0.4]))
    for field in ("speed_rev_s", "thrust_n", "current_a", "shaft_power_w"):
        assert (np.diff(getattr(points, field)) < 0.0).all()
    np.testing.assert_allclose(points.current_a, np.array([1.0, 0.7, 0.4]) * points.motor_current_a)


def test_faster_than_the_propeller_can_follow_it_windmills_without_current() -> None:
    points = solve(drive(), BANK, np.array([1]), np.array([60.0]), AIR, 0.3)
    assert points.current_a[0] == 0.0
    assert points.thrust_n[0] < 0.0
    assert points.shaft_power_w[0] < 0.0


def test_calibration_factors_act_on_the_coefficients() -> None:
    base = solve(drive(), BANK, ROWS, np.array([8.0]), AIR)
    heavier = solve(drive(), BANK, ROWS, np.array([8.0]), AIR, power_factor=1.1)
    stronger = solve(drive(), BANK, ROWS, np.array([8.0]), AIR, thrust_factor=1.1)
    assert (heavier.current_a > base.current_a).all()
    np.testing.assert_allclose(stronger.thrust_n, 1.1 * base.thrust_n)


def test_the_throttle_for_a_thrust_gives_that_thrust() -> None:
    thrust = np.array([1.0, 3.0, 6.0])
    throttle, points = solve_for_thrust(drive(), BANK, ROWS, np.array([10.0]), AIR, thrust)
    np.testing.assert_allclose(points.thrust_n, np.broadcast_to(thrust, points.thrust_n.shape), rtol=1e-9)
    again = solve(drive(), BANK, ROWS, np.array([10.0]), AIR, throttle)
    np.testing.assert_allclose(again.thrust_n, points.thrust_n, rtol=1e-9)
    np.testing.assert_allclose(again.current_a, points.current_a, rtol=1e-9)
    np.testing.assert_allclose(imbalance(points, drive()), 0.0, atol=1e-8)


def test_a_thrust_beyond_full_throttle_has_none() -> None:
    throttle, _ = solve_for_thrust(drive(), BANK, ROWS, np.array([10.0]), AIR, np.array([500.0]))
    assert np.isnan(throttle).all()
