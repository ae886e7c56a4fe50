"""How fast predictions are: one hundred propellers at once, and against the same solve point by point.

    OMP_NUM_THREADS=1 python tests/benchmarks/power_system_speed.py

Prints the medians of several runs on one core. A reduced version runs as tests/power_system/test_speed.py.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from power_points import ScalarSolve

from analyzer.power_system.air import air_state
from analyzer.power_system.coefficients import propeller_curves
from analyzer.power_system.gearbox import GearboxModel
from analyzer.power_system.input_spread import default_calibration
from analyzer.power_system.motor import MotorModel
from analyzer.power_system.operating_point import DriveModel, solve
from analyzer.power_system.prediction import predict
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import variants
from analyzer.setup_file import Setup, parse_setup

SETUP = """
name = "benchmark, invented"
airframe = {mass_kg = 2.0, wing_area_m2 = 0.62, wingspan_m = 3.2, zero_lift_drag_coefficient = 0.018}
pack = {cells = 3, capacity_ah = 3.0, internal_resistance_ohm = 0.03}
speed_controller = {continuous_current_a = 50.0}
motor = {kv_rpm_per_v = 5400.0, resistance_ohm = 0.02, no_load_current_a = 2.5, no_load_voltage_v = 8.0}
gearbox = {ratio = 8.0, efficiency = 0.93}
"""
AIRSPEEDS = 40


def hundred() -> list[Propeller]:
    """12x6 to 17x12: inside and outside the measured range."""
    return [Propeller(float(d), float(p)) for d in np.linspace(12.0, 17.0, 10) for p in np.linspace(6.0, 12.0, 10)]


def timed(work: Callable[[], object], repeats: int) -> float:
    """Median time of some runs, seconds."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return float(np.median(times))


def vectorised_and_scalar(setup: Setup, propellers: list[Propeller], sample: int) -> tuple[float, float, float]:
    """Time of one point, vectorised and one by one, and their largest relative difference in speed."""
    system = power_system(setup)
    layout = variants([propeller_curves(one) for one in propellers], default_calibration(system)).centre()
    drive = system.drive(layout, 0.6)
    airspeeds = np.linspace(0.0, 25.0, AIRSPEEDS)
    air = air_state()

    def at_once() -> np.ndarray:
        return solve(drive, layout.bank, layout.rows, airspeeds, air).speed_rev_s[0]

    scalar = ScalarSolve(_plain(drive), layout.bank, air, 1.0)
    rows = layout.rows[0, :, 0]
    chosen = [(index % len(propellers), index % AIRSPEEDS) for index in range(sample)]
    begin = time.perf_counter()
    one_by_one = [scalar.speed_rev_s(int(rows[at]), float(airspeeds[v])) for at, v in chosen]
    scalar_s = (time.perf_counter() - begin) / sample
    vector_s = timed(at_once, 5) / (len(propellers) * AIRSPEEDS)
    solved = at_once()
    worst = max(abs(solved[at, v] / speed - 1.0) for (at, v), speed in zip(chosen, one_by_one, strict=True))
    return vector_s, scalar_s, worst


def _plain(drive: DriveModel) -> DriveModel:
    """The same drive in plain numbers."""
    motor = MotorModel(*(float(np.squeeze(getattr(drive.motor, name))) for name in MotorModel.__slots__))
    gearbox = GearboxModel(float(np.squeeze(drive.gearbox.ratio)), float(np.squeeze(drive.gearbox.efficiency)))
    volts, ohms = float(np.squeeze(drive.open_circuit_v)), float(np.squeeze(drive.pack_resistance_ohm))
    return DriveModel(volts, ohms, float(np.squeeze(drive.controller_resistance_ohm)), motor, gearbox)


def main() -> None:
    """Print the figures."""
    setup, propellers = parse_setup(SETUP, source="benchmark"), hundred()
    begin = time.perf_counter()
    predict(setup, propellers)
    first_s = time.perf_counter() - begin
    print(f"first prediction in the process, {len(propellers)} propellers x {AIRSPEEDS}: {first_s:.2f} s")
    print(f"whole prediction with intervals, median of 5: {timed(lambda: predict(setup, propellers), 5):.2f} s")
    vector_s, scalar_s, worst = vectorised_and_scalar(setup, propellers, 400)
    print(f"one operating point: {1e6 * vector_s:.2f} us vectorised, {1e6 * scalar_s:.0f} us through scipy's brentq")
    print(f"ratio {scalar_s / vector_s:.0f}, largest relative difference {worst:.1e}")


if __name__ == "__main__":
    main()
