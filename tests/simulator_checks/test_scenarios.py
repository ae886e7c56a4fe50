"""Drawn scenarios: repeatable, plausible, as hard as they say; and the simulator stands alone."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
import simulator
from simulator import scenario_for, simulate
from simulator.airframe import best_glide_speed, sink_at


def test_same_seed_gives_the_same_flight() -> None:
    first, second = (simulate(scenario_for("hard", 11), 11) for _ in range(2))
    assert first.log.equals(second.log)
    assert first.truth == second.truth


def test_another_seed_gives_another_flight() -> None:
    assert not simulate(scenario_for("normal", 1), 1).log.equals(simulate(scenario_for("normal", 1), 2).log)


@pytest.mark.parametrize("difficulty", ["normal", "hard"])
def test_models_are_sailplanes(difficulty: simulator.Difficulty) -> None:
    for seed in range(60):
        frame = scenario_for(difficulty, seed).airframe
        speed = best_glide_speed(frame, 1.2)
        assert 1.5 <= frame.wingspan_m <= 4.0
        assert 6.0 < speed < 14.0
        assert 12.0 < speed / sink_at(frame, speed, 1.2) < 32.0


def test_hard_logs_hold_what_makes_logs_hard() -> None:
    scenarios = [scenario_for("hard", seed) for seed in range(80)]
    channels = [set(s.recorder.sensors) for s in scenarios]
    assert any("current_a" not in c for c in channels)
    assert any("rpm" not in c for c in channels)
    assert any(s.recorder.sensors["altitude_m"].quantum == 1.0 for s in scenarios)
    assert any(s.defects.gap_in_motor_run for s in scenarios)
    assert any(sum(p.kind == "land" for p in s.plan) > 1 for s in scenarios)
    assert any(p.kind == "climb" and p.thermal is not None for s in scenarios for p in s.plan)
    assert all(1.0 <= s.recorder.rate_hz <= 10.0 for s in scenarios)


def test_normal_logs_are_decent() -> None:
    for seed in range(60):
        scenario = scenario_for("normal", seed)
        assert 5.0 <= scenario.recorder.rate_hz <= 20.0
        assert {"altitude_m", "voltage_v", "current_a", "rpm"} <= set(scenario.recorder.sensors)
        assert scenario.defects.gaps == 0


def test_flights_take_off_and_land() -> None:
    for seed in (0, 2, 6):
        flight = simulate(scenario_for("normal", seed), seed)
        assert 60.0 < flight.truth.totals.max_altitude_m < 800.0
        assert np.isfinite(flight.trace.select_dtypes(float)).all().all()
        assert abs(flight.trace["altitude_m"].iloc[-1]) < 5.0


def test_simulator_and_analyzer_do_not_know_each_other() -> None:
    for path in Path(simulator.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not any(name.split(".")[0] in ("analyzer", "dashboard") for name in names)
