"""The invented club's flights that stand in sample_logs/: scenarios, and how each is written.

The model, its owner, the club and the field are invented. One airframe flies with three propellers, morning and
evening, so that there is something to compare; the other logs each show one thing more.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from simulator.dialects import DIALECTS, write_dialect
from simulator.igc import write_igc
from simulator.power import power_coefficient, thrust_coefficient
from simulator.scenario import (
    Airframe,
    Defects,
    Drive,
    Pack,
    Phase,
    Pilot,
    Recorder,
    Scenario,
    Sensor,
    ThermalSpec,
    Weather,
)
from simulator.simulate import SimulatedFlight, simulate

DUNLIN = Airframe(
    mass_kg=1.74,
    wing_area_m2=0.52,
    wingspan_m=2.7,
    profile_drag=0.017,
    bucket_width=0.009,
    bucket_lift_coefficient=0.42,
    span_efficiency=0.91,
    max_lift_coefficient=1.25,
)
PACK = Pack(cells=3, capacity_ah=2.6, resistance_ohm=0.021, start_charge=0.99, relaxation_ohm=0.008)
DRIVE = Drive(
    kv_rpm_per_v=3100.0,
    winding_ohm=0.032,
    drag_current_a=0.9,
    eddy_current_a_per_krpm=0.02,
    controller_ohm=0.003,
    switching_loss=0.18,
    continuous_current_a=30.0,
    gear_ratio=5.2,
    gear_friction=0.03,
    gear_drag_nm=0.0008,
    diameter_in=14.0,
    pitch_in=8.0,
    blades=2,
)
PILOT = Pilot(speed_gain_rad_s_m=0.05, pitch_time_s=0.7, wobble_deg=1.2, centring=0.3)
MORNING = Weather(
    elevation_m=310.0,
    temperature_c=12.0,
    wind_m_s=1.5,
    wind_from_deg=230.0,
    gust_m_s=0.15,
    gust_length_m=40.0,
    patchiness_m_s=0.05,
    patchiness_s=50.0,
    subsidence_m_s=0.02,
    mixing_height_m=500.0,
)
EVENING = replace(MORNING, temperature_c=23.0, wind_m_s=3.0, gust_m_s=0.25, patchiness_m_s=0.12, subsidence_m_s=0.05)
NOON = replace(MORNING, temperature_c=26.0, wind_m_s=3.5, gust_m_s=0.35, patchiness_m_s=0.1, mixing_height_m=1200.0)
SENSORS = {
    "altitude_m": Sensor(noise=0.08, quantum=0.1, lag_s=0.25),
    "voltage_v": Sensor(noise=0.01, quantum=0.01),
    "current_a": Sensor(noise=0.1, quantum=0.1, gain=1.001, offset=0.15),
    "rpm": Sensor(noise=20.0, quantum=10.0, positive=True),
    "temperature_c": Sensor(noise=0.1, quantum=1.0, rate_hz=1.0),
    "receiver_voltage_v": Sensor(noise=0.01, quantum=0.01),
}
RECORDER = Recorder(
    rate_hz=5.0,
    sensors=SENSORS,
    avionics_a=0.25,
    servo_peak_a=0.4,
    propwash_m=0.8,
    static_error=0.01,
    drift_m_per_k=0.03,
    drift_m=0.2,
    jitter=0.03,
)


def _launch() -> tuple[Phase, ...]:
    return (Phase("wait", 14.0), Phase("hold", 9.0), Phase("hold", 1.0, throttle=1.0, spool_s=0.6))


def _climb(seconds: float, throttle: float = 1.0) -> Phase:
    return Phase("climb", seconds, 1.15, throttle, 0.6, max_angle_deg=35.0, mode="climb")


def _glide(seconds: float, speed: float = 1.0, mode: str = "cruise") -> Phase:
    return Phase("glide", seconds, speed, mode=mode)


def _landing() -> tuple[Phase, ...]:
    return (Phase("land", 600.0, mode="landing"), Phase("roll", 8.0), Phase("wait", 18.0), Phase("carry", 25.0))


def _thermal(seconds: float, core_m_s: float, offset_m: float = 12.0, bank_deg: float = 28.0) -> Phase:
    spec = ThermalSpec(core_m_s, 38.0, offset_m, 0.2, 0.15, 40.0)
    return Phase("thermal", seconds, 0.92, bank_deg=bank_deg, ceiling_m=420.0, thermal=spec, mode="thermal")


def _comparison_plan() -> tuple[Phase, ...]:
    down = Phase("glide", 150.0, 1.6, floor_m=70.0, mode="speed")
    cycle = (_climb(20.0), _glide(60.0), down, _climb(22.0), _glide(65.0, 1.1), down, _climb(20.0), _glide(60.0))
    return (*_launch(), *cycle, down, _climb(18.0), _glide(50.0), *_landing())


FIRST_PLAN = (
    Phase("wait", 12.0),
    Phase("hold", 8.0),
    Phase("hold", 3.5, throttle=0.7),
    *_launch(),
    _climb(25.0),
    _glide(50.0),
    Phase("dive", 4.0, 2.4, mode="speed"),
    _glide(40.0),
    _thermal(95.0, 2.6),
    _glide(40.0),
    Phase("glide", 90.0, 1.6, floor_m=130.0, mode="speed"),
    _climb(22.0, 0.75),
    _glide(70.0),
    Phase("climb", 1.4, throttle=0.8, spool_s=0.3, mode="climb"),
    _glide(40.0),
    *_landing(),
)
THERMAL_PLAN = (
    *_launch(),
    _climb(22.0),
    _glide(25.0),
    _thermal(110.0, 2.4, 10.0),
    _glide(50.0),
    Phase("glide", 90.0, 1.5, floor_m=160.0, mode="speed"),
    _glide(20.0),
    _thermal(120.0, 2.2, 14.0, 20.0),
    _glide(50.0, 1.3),
    Phase("glide", 90.0, 1.5, floor_m=140.0, mode="speed"),
    _thermal(110.0, 3.0, 14.0, 35.0),
    _glide(60.0),
    *_landing(),
)
MESSY_PLAN = (
    *_launch(),
    _climb(20.0),
    _glide(60.0),
    _climb(16.0, 0.75),
    _glide(50.0),
    *_landing(),
    *_launch(),
    _climb(22.0),
    _glide(40.0),
    _thermal(90.0, 2.6),
    _glide(40.0),
    *_landing(),
)


@dataclass(frozen=True)
class Sample:
    """One log of the folder: its name, what it shows, its scenario and seed, its dialect and date."""

    name: str
    shows: str
    scenario: Scenario
    seed: int
    dialect: str
    start: datetime
    coefficients: bool = False
    cut_bytes: int = 0


def _scenario(plan: tuple[Phase, ...], weather: Weather, propeller: tuple[float, float] = (14.0, 8.0)) -> Scenario:
    drive = replace(DRIVE, diameter_in=propeller[0], pitch_in=propeller[1])
    title = f"Dunlin 27, {propeller[0]:g}x{propeller[1]:g}"
    return Scenario(title, "normal", DUNLIN, PACK, drive, weather, PILOT, plan, RECORDER)


def _at(day: int, hour: int, minute: int) -> datetime:
    return datetime(2026, 5, day, hour, minute, 12, tzinfo=UTC)


def _with_sensors(scenario: Scenario, names: tuple[str, ...], **changes: Any) -> Scenario:
    more = {
        "airspeed_m_s": Sensor(noise=0.2, quantum=0.1, lag_s=0.2),
        "throttle": Sensor(quantum=0.01, positive=True),
        "latitude_deg": Sensor(noise=4e-6, quantum=1e-6, lag_s=0.3),
        "longitude_deg": Sensor(noise=4e-6, quantum=1e-6, lag_s=0.3),
        "ground_speed_m_s": Sensor(noise=0.2, quantum=0.1, lag_s=0.3),
    }
    sensors = {**SENSORS, **{name: more[name] for name in names}}
    return replace(scenario, recorder=replace(RECORDER, sensors=sensors, **changes))


def _messy() -> Scenario:
    scenario = _scenario(MESSY_PLAN, EVENING)
    sensors = {
        **SENSORS,
        "altitude_m": Sensor(noise=0.2, quantum=1.0, lag_s=0.6),
        "current_a": Sensor(noise=0.2, quantum=0.1, offset=0.4, gain=1.002),
    }
    sensors.pop("receiver_voltage_v")
    defects = Defects(
        gaps=3,
        gap_s=(3.0, 6.0),
        gap_in_motor_run=True,
        dropouts_per_min=1.5,
        spikes_per_min=1.5,
        repeats_per_min=0.5,
        frozen=2,
        stops_early=0.03,
    )
    return replace(scenario, recorder=replace(RECORDER, sensors=sensors, jitter=0.3), defects=defects)


def _soaring() -> Scenario:
    place = ("latitude_deg", "longitude_deg", "ground_speed_m_s")
    return _with_sensors(_scenario(THERMAL_PLAN, NOON), place)


def samples() -> tuple[Sample, ...]:
    """All samples in the order of the folder's README."""
    plan = _comparison_plan()
    small, middle, large = (12.0, 6.0), (14.0, 8.0), (15.0, 10.0)
    first = _with_sensors(_scenario(FIRST_PLAN, NOON), ("airspeed_m_s", "throttle"), rate_hz=10.0, flight_mode=True)
    soaring = _soaring()
    place = ("altitude_m", "latitude_deg", "longitude_deg")
    position_only = replace(soaring.recorder, sensors={name: soaring.recorder.sensors[name] for name in place})
    late = replace(soaring, recorder=position_only, defects=Defects(starts_late_s=60.0))
    return (
        Sample("first_flight", "one flight with everything logged, airspeed and flight mode too", first, 3, "plain",
               _at(14, 11, 42)),
        Sample("morning_12x6", "four climbs with the small propeller in calm air", _scenario(plan, MORNING, small),
               11, "semicolon", _at(16, 7, 5)),
        Sample("morning_14x8", "four climbs with the middle propeller in calm air",
               _scenario(plan, MORNING, middle), 12, "feet", _at(16, 7, 40), coefficients=True),
        Sample("morning_15x10", "four climbs with the large propeller in calm air: over the controller's limit",
               _scenario(plan, MORNING, large), 13, "units_row", _at(16, 8, 10)),
        Sample("evening_12x6", "the small propeller again, in livelier air", _scenario(plan, EVENING, small), 21,
               "semicolon", _at(16, 18, 20)),
        Sample("evening_14x8", "the middle propeller again, in livelier air", _scenario(plan, EVENING, middle), 22,
               "clock", _at(16, 18, 55), coefficients=True),
        Sample("evening_15x10", "the large propeller again, in livelier air", _scenario(plan, EVENING, large), 23,
               "iso", _at(16, 19, 30)),
        Sample("thermal_day", "three thermals with position, each sensor in rows of its own", soaring, 5,
               "sensor_rows", _at(17, 12, 15)),
        Sample("messy_two_flights", "two flights in one log, with preamble, gaps, spikes, dropouts, a cut last row",
               _messy(), 6, "preamble", _at(17, 16, 3), cut_bytes=19),
        Sample("thermal_recorder", "a position recorder that got its first fix after the climb", late, 7, "igc",
               _at(17, 13, 20)),
    )  # fmt: skip


def write_sample(sample: Sample, folder: Path) -> None:
    """Write a sample's log, its truth and, where the log has electrical channels, its setup."""
    flight = simulate(sample.scenario, sample.seed)
    truth = folder / f"{sample.name}.truth.json"
    truth.write_text(_truth_json(sample, flight), encoding="utf-8", newline="\n")
    if sample.dialect == "igc":
        path = folder / f"{sample.name}.igc"
        write_igc(flight.log, path, sample.scenario.weather.elevation_m, "DUNLIN 27", sample.start)
        return
    path = folder / f"{sample.name}.csv"
    write_dialect(flight.log, path, replace(DIALECTS[sample.dialect], start=sample.start))
    if sample.cut_bytes:
        path.write_bytes(path.read_bytes()[: -sample.cut_bytes])
    setup = flight.setup
    if sample.coefficients:
        setup["propeller"]["coefficients_csv"] = _write_coefficients(sample.scenario.drive, folder)
    text = _toml(setup, f"Invented setup of the invented flight in {path.name}; see README.md.")
    (folder / f"{sample.name}.setup.toml").write_text(text, encoding="utf-8", newline="\n")


def _write_coefficients(drive: Drive, folder: Path) -> str:
    """Write J, CT, CP of the simulated propeller, as a test stand would give them; path beside the setup."""
    name = f"propellers/{drive.diameter_in:g}x{drive.pitch_in:g}.csv"
    ratio = drive.pitch_in / drive.diameter_in
    lines = ["J,CT,CP"]
    for advance in np.arange(0.0, 0.85, 0.05):
        thrust, power = thrust_coefficient(ratio, float(advance)), power_coefficient(ratio, float(advance))
        lines.append(f"{advance:.2f},{thrust:.4f},{power:.4f}")
    (folder / "propellers").mkdir(exist_ok=True)
    (folder / name).write_text("\n".join((*lines, "")), encoding="utf-8", newline="\n")
    return name


def _truth_json(sample: Sample, flight: SimulatedFlight) -> str:
    head = {"about": "what really happened in the invented flight", "log": sample.name, "shows": sample.shows}
    return json.dumps(head | _rounded(asdict(flight.truth)), indent=1) + "\n"


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    return [_rounded(item) for item in value] if isinstance(value, (list, tuple)) else value


def _toml(setup: dict[str, Any], comment: str) -> str:
    lines = [f"# {comment}"]
    lines += [f"{key} = {json.dumps(item)}" for key, item in setup.items() if not isinstance(item, dict)]
    for section, keys in setup.items():
        if isinstance(keys, dict):
            lines += ["", f"[{section}]", *(f"{key} = {json.dumps(item)}" for key, item in keys.items())]
    return "\n".join((*lines, ""))


def write_all(folder: Path, tell: Callable[[str], Any] = print) -> None:
    """Write every sample into a folder."""
    for sample in samples():
        write_sample(sample, folder)
        tell(f"{sample.name}: {sample.shows}")
