"""A whole prediction again in plain scalars: the same physics written out anew, its roots and maxima by scipy.

From a coefficient table, so that the propeller is no question. Steady climb: T = D + W sin(gamma), L = W cos(gamma).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from made_setup import made_setup
from scipy.optimize import brentq, minimize_scalar

from analyzer.power_system.prediction import predict
from analyzer.setup_file import Setup

TABLE = np.array(
    [(0.0, 0.105, 0.042), (0.2, 0.096, 0.0435), (0.4, 0.0715, 0.0395), (0.6, 0.031, 0.0245), (0.75, -0.008, 0.004)]
)
REST_CELL_V = {1.0: 4.20, 0.8: 3.95, 0.6: 3.87, 0.4: 3.77, 0.2: 3.73}
"""At the states of charge that a pack is followed through; as the package's own table, since every pack is another."""

G = 9.80665


@dataclass(frozen=True)
class Scalar:
    """One model with one propeller at one state of charge, at sea level."""

    setup: Setup
    charge: float

    @property
    def free_rev_s(self) -> float:
        """Speed of a propeller that takes nothing, on a motor without losses."""
        rest_v = self.setup.pack.cells * REST_CELL_V[self.charge]
        return rest_v * self.setup.motor.kv_rpm_per_v / 60.0 / self.setup.gearbox.ratio

    def climb(self, airspeed: float) -> tuple[float, float]:
        """Climb rate and current from the pack at full throttle."""
        frame, current, thrust = self.setup.airframe, *self._running(airspeed)
        weight, wing_n = frame.mass_kg * G, 0.5 * 1.225 * airspeed**2 * frame.wing_area_m2
        induced = frame.wing_area_m2 / (math.pi * frame.span_efficiency * frame.wingspan_m**2)

        def surplus(angle: float) -> float:
            lift = weight * math.cos(angle) / wing_n
            return thrust - wing_n * (frame.zero_lift_drag_coefficient + induced * lift**2) - weight * math.sin(angle)

        up, down = math.pi / 2, -math.pi / 2
        angle = up if surplus(up) > 0.0 else down if surplus(down) < 0.0 else brentq(surplus, down, up)
        carried = weight * math.cos(angle) / wing_n <= frame.max_lift_coefficient
        return (airspeed * math.sin(angle), current) if carried else (-100.0, current)

    def best_climb(self) -> tuple[float, float]:
        """Climb rate and current at the best airspeed."""
        tried = np.linspace(3.0, 0.7 * self.free_rev_s * self.setup.propeller.diameter_in * 0.0254, 200)
        best = int(np.argmax([self.climb(at)[0] for at in tried]))
        ends = tuple(tried[[best - 1, best + 1]])
        found = minimize_scalar(lambda at: -self.climb(at)[0], bounds=ends, method="bounded", options={"xatol": 1e-4})
        return self.climb(found.x)

    def _running(self, airspeed: float) -> tuple[float, float]:
        """Current and thrust: what the motor gives through the gear is what the propeller takes."""
        motor, gear, pack = self.setup.motor, self.setup.gearbox, self.setup.pack
        diameter = self.setup.propeller.diameter_in * 0.0254
        constant, rest_v = motor.kv_rpm_per_v * math.pi / 30.0, pack.cells * REST_CELL_V[self.charge]
        no_load = constant * (motor.no_load_voltage_v - motor.no_load_current_a * motor.resistance_ohm)
        resistance = motor.resistance_ohm + self.setup.speed_controller.resistance_ohm + pack.internal_resistance_ohm

        def current(turns: float) -> float:
            return max((rest_v - 2.0 * math.pi * turns * gear.ratio / constant) / resistance, 0.0)

        def surplus(turns: float) -> float:
            loss = motor.no_load_current_a * (0.5 + 0.5 * 2.0 * math.pi * turns * gear.ratio / no_load)
            torque = (current(turns) - loss) / constant * gear.ratio
            torque *= gear.efficiency if torque > 0.0 else 1.0 / gear.efficiency
            c_p = np.interp(airspeed / (turns * diameter), TABLE[:, 0], TABLE[:, 2])
            return float(torque - c_p * 1.225 * turns**2 * diameter**5 / (2.0 * math.pi))

        turns = brentq(surplus, airspeed / (0.75 * diameter), self.free_rev_s)
        c_t = np.interp(airspeed / (turns * diameter), TABLE[:, 0], TABLE[:, 1])
        return current(turns), float(c_t * 1.225 * turns**2 * diameter**4)


LARGE = (
    "cells = 3", "cells = 6", "kv_rpm_per_v = 1100.0", "kv_rpm_per_v = 1500.0", "mass_kg = 2.1", "mass_kg = 4.6",
    "ratio = 1.0", "ratio = 6.7", "wingspan_m = 3.0", "wingspan_m = 4.0", "diameter_in = 12.0", "diameter_in = 18.0",
)  # fmt: skip
SMALL = (
    "cells = 3", "cells = 2", "mass_kg = 2.1", "mass_kg = 0.7", "wing_area_m2 = 0.60", "wing_area_m2 = 0.24",
    "wingspan_m = 3.0", "wingspan_m = 1.5", "diameter_in = 12.0", "diameter_in = 9.0",
)  # fmt: skip


@pytest.mark.parametrize(
    "changes",
    [("mass_kg = 2.1", "mass_kg = 2.6"), ("mass_kg = 2.1", "mass_kg = 0.9"), LARGE, SMALL],
    ids=["climbs", "climbs vertically", "4 m, 6S, geared", "1.5 m, 2S"],
)
def test_climbs_through_the_pack_and_its_height(tmp_path, changes: tuple[str, ...]) -> None:
    rows = "\n".join(",".join(map(str, row)) for row in TABLE)
    (tmp_path / "own.csv").write_text(f"J,CT,CP\n{rows}\n")
    parts = ("[propeller]", '[gearbox]\nratio = 1.0\nefficiency = 0.96\n[propeller]\ncoefficients_csv = "own.csv"')
    setup = made_setup(*parts, *changes).model_copy(update={"folder": tmp_path})
    one = predict(setup).propellers[0]
    scalar = {charge: Scalar(setup, charge).best_climb() for charge in REST_CELL_V}
    for climb in (one.first_climb, one.best_climb, one.last_climb):
        rate, current = scalar[climb.state_of_charge]
        assert climb.climb_rate_m_s.value == pytest.approx(rate, rel=5e-3)
        assert climb.current_a.value == pytest.approx(current, rel=0.01)
    per_ah = [3600.0 * rate / current for rate, current in scalar.values()]
    usable_ah = 0.8 * setup.pack.capacity_ah
    mean = (0.5 * (per_ah[0] + per_ah[-1]) + sum(per_ah[1:-1])) / 4.0
    assert one.pack.total_height_m.value == pytest.approx(usable_ah * mean, rel=5e-3)
