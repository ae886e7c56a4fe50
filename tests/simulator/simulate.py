"""One call from scenario to log, truth and setup."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from simulator.airframe import textbook_polar
from simulator.flight import STEP_S, Flight
from simulator.scenario import Defects, Scenario
from simulator.sensors import sense
from simulator.truth import Truth, derive_truth


@dataclass(frozen=True)
class SimulatedFlight:
    """A log as sensed, what really happened, the setup, and the noise-free trace."""

    scenario: Scenario
    log: pd.DataFrame
    truth: Truth
    setup: dict[str, Any]
    trace: pd.DataFrame


def simulate(scenario: Scenario, seed: int) -> SimulatedFlight:
    """Fly a scenario; the same scenario and seed give the same flight."""
    rng = np.random.default_rng([seed, 7])
    trace = Flight(scenario, rng).fly()
    trace = _recorded(trace, scenario.defects)
    log = sense(trace, scenario, rng)
    truth = derive_truth(trace, scenario.weather, tell_apart_s=max(0.3, 1.5 / scenario.recorder.rate_hz))
    return SimulatedFlight(scenario, log, truth, setup_of(scenario), trace)


def _recorded(trace: pd.DataFrame, defects: Defects) -> pd.DataFrame:
    """The part of the flight during which the recorder ran; time counts from its first moment."""
    first = round(defects.starts_late_s / STEP_S)
    part = trace.iloc[first : round(len(trace) * (1.0 - defects.stops_early))].reset_index(drop=True)
    return part.assign(time_s=np.arange(len(part)) * STEP_S)


def setup_of(scenario: Scenario) -> dict[str, Any]:
    """The setup a pilot would write down: data-sheet figures, the polar as a plain parabola."""
    frame, pack, drive = scenario.airframe, scenario.pack, scenario.drive
    zero_lift, efficiency = textbook_polar(frame)
    idle_v = pack.cells * 3.7
    return {
        "name": scenario.name,
        "airframe": {
            "mass_kg": round(frame.mass_kg, 3),
            "wing_area_m2": round(frame.wing_area_m2, 4),
            "wingspan_m": round(frame.wingspan_m, 3),
            "zero_lift_drag_coefficient": round(zero_lift, 4),
            "span_efficiency": round(efficiency, 3),
            "max_lift_coefficient": round(frame.max_lift_coefficient, 2),
        },
        "pack": {
            "cells": pack.cells,
            "capacity_ah": pack.capacity_ah,
            "internal_resistance_ohm": round(pack.resistance_ohm, 4),
            "chemistry": "lipo",
            "min_cell_v": 3.3,
        },
        "speed_controller": {
            "continuous_current_a": drive.continuous_current_a,
            "burst_current_a": round(1.3 * drive.continuous_current_a),
            "resistance_ohm": round(drive.controller_ohm, 4),
        },
        "motor": {
            "kv_rpm_per_v": drive.kv_rpm_per_v,
            "resistance_ohm": drive.winding_ohm,
            "no_load_current_a": round(
                drive.drag_current_a + drive.eddy_current_a_per_krpm * drive.kv_rpm_per_v * idle_v / 1000.0,
                2,
            ),
            "no_load_voltage_v": round(idle_v, 1),
            "max_current_a": round(1.4 * drive.continuous_current_a, 1),
            "max_rpm": 60000.0,
        },
        "gearbox": {"ratio": drive.gear_ratio, "efficiency": round(0.99 - drive.gear_friction, 3)},
        "propeller": {
            "diameter_in": drive.diameter_in,
            "pitch_in": drive.pitch_in,
            "blades": drive.blades,
        },
        "receiver_supply": {"nominal_v": 5.2, "min_v": 4.6},
        "air": {
            "elevation_m": round(scenario.weather.elevation_m),
            "temperature_c": round(scenario.weather.temperature_c, 1),
        },
        "telemetry": {"rpm_measured_at": scenario.recorder.rpm_measured_at},
    }
