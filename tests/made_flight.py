"""A hand-made flight of an invented model, for the tests of outputs: plain numbers, without the analysis."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analyzer.records import (
    Flight,
    FlightSummary,
    Glide,
    LimitCheck,
    Log,
    LogFacts,
    MatchItem,
    MotorRun,
    Notice,
    PowerSystemMeasures,
    Segment,
    Segmentation,
    ThermalClimb,
    Totals,
)

if TYPE_CHECKING:
    from analyzer.analysis import Analysis

SEGMENTS = (
    Segment("ground", 0.0, 12.0, 0.0, 1.0),
    Segment("motor_run", 12.0, 40.0, 1.0, 172.0),
    Segment("glide", 40.0, 160.0, 172.0, 128.0),
    Segment("thermal_climb", 160.0, 280.0, 128.0, 304.0),
    Segment("glide", 280.0, 500.0, 304.0, 180.0),
    Segment("motor_run", 500.0, 515.0, 180.0, 268.0),
    Segment("glide", 515.0, 890.0, 268.0, 2.0),
    Segment("ground", 890.0, 900.0, 2.0, 0.0),
)
FLIGHTS = (Flight(11.0, 890.0),)


def made_run(start_s: float = 12.0, end_s: float = 40.0, **changes: object) -> MotorRun:
    run = MotorRun(
        start_s=start_s,
        end_s=end_s,
        height_gain_m=171.2,
        height_gain_m_se=0.8,
        zoom_gain_m=6.1,
        zoom_gain_m_se=0.7,
        climb_rate_m_s=6.33,
        climb_rate_m_s_se=0.04,
        energy_wh=2.61,
        energy_wh_se=0.012,
        charge_ah=0.2236,
        charge_ah_se=0.001,
        climb_per_ah_m=793.0,
        climb_per_ah_m_se=5.1,
        climb_per_wh_m=67.9,
        climb_per_wh_m_se=0.45,
        mean_power_w=336.0,
        max_current_a=34.2,
        mean_current_a=28.7,
        min_voltage_v=11.02,
        mean_rpm=7420.0,
        climb_efficiency=0.44,
        climb_efficiency_se=0.004,
    )
    return replace(run, **changes)


def made_summary(**changes: object) -> FlightSummary:
    summary = FlightSummary(
        log=LogFacts(
            name="made_flight.csv",
            sha256="0" * 64,
            samples=9001,
            duration_s=900.0,
            sample_rate_hz=10.0,
            channels=("time_s", "altitude_m", "voltage_v", "current_a", "rpm"),
            notices=(Notice("converted", "read 'Hgt (ft)' as altitude, converted from ft"),),
            started_at="2026-05-02T14:31:00",
        ),
        flights=FLIGHTS,
        segments=SEGMENTS,
        motor_runs=(made_run(), made_run(500.0, 515.0, height_gain_m=88.4, climb_per_ah_m=771.0, mean_rpm=None)),
        glides=(
            Glide(46.0, 160.0, 44.1, 0.387, 0.011, "cruise"),
            Glide(280.0, 500.0, 124.0, 0.564, 0.02, "speed"),
            Glide(520.0, 890.0, 266.0, None, None, None),
        ),
        thermal_climbs=(ThermalClimb(160.0, 280.0, 176.0, 1.47, 2.3, 128.0, 304.0, 14.2, 3.1, 247.0, 1.1, 0.02),),
        totals=Totals(879.0, 43.0, 4.9, 0.41, 306.0, 259.6, 176.0, 0.404),
        power_system=PowerSystemMeasures(
            pack_resistance_ohm=0.0243,
            pack_resistance_ohm_se=0.0009,
            pack_rest_voltage_v=12.31,
            pack_rest_voltage_v_se=0.02,
            limits=(
                LimitCheck("controller current, continuous", 30.0, 34.2, -4.2, ok=False, unit="A", at_s=14.0),
                LimitCheck("cell voltage under load", 3.3, 3.67, 0.37, ok=True, unit="V", at_s=39.0),
                LimitCheck("motor temperature", 80.0, None, None, ok=None, unit="°C"),
            ),
        ),
        match=(
            MatchItem("motor current", 31.0, 28.7, "A", -7.4, False, 12.0, 29.5, 32.5, 0.1),
            MatchItem("climb rate", 6.2, 6.33, "m/s", 2.1, True, 12.0, 5.6, 6.8, 0.04),
        ),
    )
    return replace(summary, **changes)


def made_frame(rate_hz: float = 10.0) -> pd.DataFrame:
    time_s = np.arange(0.0, 900.0 + 0.5 / rate_hz, 1.0 / rate_hz)
    edges = [SEGMENTS[0].start_s, *(segment.end_s for segment in SEGMENTS)]
    heights = [SEGMENTS[0].start_altitude_m, *(segment.end_altitude_m for segment in SEGMENTS)]
    height_m = np.interp(time_s, edges, heights)
    is_motor = np.zeros(time_s.size, dtype=bool)
    for segment in SEGMENTS:
        if segment.kind == "motor_run":
            is_motor |= (time_s >= segment.start_s) & (time_s < segment.end_s)
    current_a = np.where(is_motor, 28.7, 0.3)
    frame = pd.DataFrame(
        {
            "time_s": time_s,
            "altitude_m": height_m + 0.4 * np.sin(time_s),
            "height_m": height_m,
            "climb_m_s": np.gradient(height_m, time_s),
            "voltage_v": 12.3 - 0.0243 * current_a,
            "current_a": current_a,
            "rpm": np.where(is_motor, 7420.0, 0.0),
        }
    )
    frame["power_w"] = frame["voltage_v"] * frame["current_a"]
    frame.loc[(time_s > 300.0) & (time_s < 310.0), frame.columns[1:]] = np.nan
    return frame


def made_analysis(summary: FlightSummary | None = None) -> Analysis:
    from analyzer.analysis import Analysis

    log = Log(name="made_flight.csv", sha256="0" * 64, frame=made_frame())
    return Analysis(
        log=log,
        segmentation=Segmentation(FLIGHTS, SEGMENTS),
        summary=summary or made_summary(),
    )
