"""A calm day with a perfect recorder, so that single effects can be seen."""

from __future__ import annotations

from dataclasses import replace

from simulator import scenario_for
from simulator.scenario import Defects, Phase, Recorder, Scenario, Sensor, Weather

CALM = Weather(
    elevation_m=0.0,
    temperature_c=15.0,
    wind_m_s=0.0,
    wind_from_deg=270.0,
    gust_m_s=0.0,
    gust_length_m=40.0,
    patchiness_m_s=0.0,
    patchiness_s=40.0,
    subsidence_m_s=0.0,
    mixing_height_m=1000.0,
)
PERFECT = Recorder(
    rate_hz=20.0,
    sensors={name: Sensor() for name in ("altitude_m", "voltage_v", "current_a", "rpm", "airspeed_m_s")},
    avionics_a=0.3,
    jitter=0.0,
    time_quantum_s=0.001,
)
CLIMB = Phase("climb", 20.0, throttle=1.0, max_angle_deg=30.0)
LANDING = (Phase("land", 600.0), Phase("roll", 8.0), Phase("wait", 5.0))


def calm_scenario(*airborne: Phase) -> Scenario:
    """A calm flight of the given phases after a climb, landed and waited out."""
    scenario = scenario_for("normal", 3)
    pilot = replace(scenario.pilot, wobble_deg=0.0, centring=0.0)
    plan = (Phase("wait", 5.0), Phase("hold", 4.0), CLIMB, *airborne, *LANDING)
    return replace(
        scenario, weather=CALM, pilot=pilot, plan=plan, recorder=PERFECT, defects=Defects(), landing_height_m=0.0
    )
