"""From the noise-free trace to the log: lag, noise, quanta, own rates, holds, defects."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.signal import lfilter, lfilter_zi

from simulator.air import coloured_noise, density_at_field
from simulator.flight import STEP_S
from simulator.scenario import Defects, Recorder, Scenario, Sensor
from simulator.truth import runs_of

Array = NDArray[np.float64]
EARTH_M_PER_DEG = 111_320.0
FIELD_LATITUDE_DEG, FIELD_LONGITUDE_DEG = 45.0, -28.0
"""An invented field: the place is open sea, so that no real one is meant."""
SPIKED = ("altitude_m", "current_a", "voltage_v", "rpm", "temperature_c")


def sense(trace: pd.DataFrame, scenario: Scenario, rng: np.random.Generator) -> pd.DataFrame:
    """The log, in canonical channels, as the recorder wrote it."""
    recorder = scenario.recorder
    stamps = _stamps(float(trace["time_s"].iloc[-1]), recorder, rng)
    physical = _physical(trace, scenario, rng)
    log = pd.DataFrame({"time_s": stamps})
    for name, sensor in recorder.sensors.items():
        shown = _responding(physical[name], sensor)
        if name == "altitude_m" and recorder.wash_at_once:
            shown = shown + physical["wash_m"]
        log[name] = _measure(shown, sensor, stamps, recorder.rate_hz, scenario.defects.sparse, rng)
    if recorder.flight_mode:
        nearest = np.minimum((stamps / STEP_S).astype(int), len(trace) - 1)
        log["flight_mode"] = physical["flight_mode"][nearest]
    motor_on = np.interp(stamps, trace["time_s"], trace["motor_a"] > 0.0) > 0.5
    log = _break(log, scenario.defects, recorder.rate_hz, motor_on, rng)
    log["time_s"] = np.round(log["time_s"] / recorder.time_quantum_s) * recorder.time_quantum_s
    log["time_s"] = (log["time_s"] - log["time_s"].iloc[0]).round(6)
    return log


def _stamps(duration_s: float, recorder: Recorder, rng: np.random.Generator) -> Array:
    count = int(duration_s * recorder.rate_hz)
    late = rng.uniform(0.0, recorder.jitter, count)
    late[0] = 0.0
    return (np.arange(count) + late) / recorder.rate_hz


def _physical(trace: pd.DataFrame, scenario: Scenario, rng: np.random.Generator) -> dict[str, NDArray]:  # type: ignore[type-arg]
    """What each sensor is exposed to, at every step of the trace."""
    recorder, count = scenario.recorder, len(trace)
    time, motor = trace["time_s"].to_numpy(), trace["motor_a"].to_numpy()
    rpm = trace["motor_rpm"].to_numpy()
    rpm = rpm if recorder.rpm_measured_at == "motor" else rpm / scenario.drive.gear_ratio
    avionics = trace["avionics_a"].to_numpy()
    current = motor + avionics * recorder.avionics_on_pack
    speed = trace["airspeed_m_s"].to_numpy()
    height = trace["altitude_m"].to_numpy()
    east, north = trace["east_m"].to_numpy(), trace["north_m"].to_numpy()
    wash = recorder.propwash_m * (rpm / max(rpm.max(), 1.0)) ** 2
    warming = trace["winding_c"].to_numpy() - scenario.weather.temperature_c
    drift = recorder.drift_m_per_k * warming * 0.3
    drift += recorder.drift_m * coloured_noise(rng, count, STEP_S, recorder.drift_s)
    drift -= drift[0]
    pressure_height = (
        height + (0.0 if recorder.wash_at_once else wash) + recorder.static_error * speed**2 / 19.6 + drift
    )
    scale = EARTH_M_PER_DEG * math.cos(math.radians(FIELD_LATITUDE_DEG))
    density = density_at_field(scenario.weather.elevation_m, scenario.weather.temperature_c)
    modes = np.array([phase.mode for phase in scenario.plan], dtype=object)
    return {
        "altitude_m": pressure_height,
        "wash_m": wash,
        "pressure_pa": _field_pressure(scenario) - 9.81 * density * pressure_height,
        "vertical_speed_m_s": np.gradient(pressure_height, STEP_S),
        "voltage_v": trace["voltage_v"].to_numpy(),
        "current_a": current,
        "rpm": rpm,
        "throttle": trace["throttle"].to_numpy(),
        "charge_ah": np.cumsum(current) * STEP_S / 3600.0,
        "temperature_c": trace["winding_c"].to_numpy(),
        "receiver_voltage_v": 5.2 - 0.25 * avionics,
        "airspeed_m_s": speed,
        "latitude_deg": FIELD_LATITUDE_DEG + north / EARTH_M_PER_DEG,
        "longitude_deg": FIELD_LONGITUDE_DEG + east / scale,
        "ground_speed_m_s": np.hypot(np.gradient(east, time), np.gradient(north, time)),
        "flight_mode": modes[trace["phase"].to_numpy(int)],
    }


def _field_pressure(scenario: Scenario) -> float:
    return float(101325.0 * (1.0 - scenario.weather.elevation_m / 44330.8) ** 5.2559)


def _responding(truth: Array, sensor: Sensor) -> Array:
    """What a sensor makes of its channel, noise and rounding apart."""
    if sensor.lag_s > 0.0:
        decay = math.exp(-STEP_S / sensor.lag_s)
        start = lfilter_zi([1.0 - decay], [1.0, -decay]) * truth[0]
        truth = lfilter([1.0 - decay], [1.0, -decay], truth, zi=start)[0]
    return truth


def _measure(
    truth: Array,
    sensor: Sensor,
    stamps: Array,
    log_rate_hz: float,
    sparse: bool,
    rng: np.random.Generator,
) -> Array:
    """Readings of what a sensor shows, held (or left empty) between its own readings."""
    rate = min(sensor.rate_hz or log_rate_hz, log_rate_hz)
    own = stamps
    if rate < log_rate_hz:
        own = np.arange(0.0, stamps[-1] + 1.0 / rate, 1.0 / rate)
        own[1:] -= rng.uniform(0.0, 1.0 / rate)
    steps = np.clip(np.round((own - sensor.late_s) / STEP_S).astype(int), 0, len(truth) - 1)
    reading = truth[steps] * sensor.gain + sensor.offset
    reading = reading + sensor.noise * _filtered(rng.standard_normal(len(own)), sensor.noise_s * rate)
    if sensor.positive:
        reading = np.where(truth[steps] > 0.0, np.maximum(reading, 0.0), 0.0)
    if sensor.quantum > 0.0:
        reading = np.round(np.round(reading / sensor.quantum) * sensor.quantum, 6)
    latest = np.maximum(np.searchsorted(own, stamps, side="right") - 1, 0)
    held = reading[latest]
    if sparse:
        held[1:][latest[1:] == latest[:-1]] = np.nan
    return held


def _filtered(noise: Array, readings: float) -> Array:
    """White noise through a first-order filter of so many readings, of the same variance."""
    if readings <= 0.0:
        return noise
    decay = math.exp(-1.0 / readings)
    return np.asarray(lfilter([math.sqrt(1.0 - decay**2)], [1.0, -decay], noise))


def _break(
    log: pd.DataFrame,
    defects: Defects,
    rate_hz: float,
    motor_on: NDArray[np.bool_],
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Spikes, dropouts, frozen values, repeated stamps and gaps."""
    minutes = len(log) / rate_hz / 60.0
    channels = [name for name in log.columns if name not in ("time_s", "flight_mode")]
    for name in channels:
        values = log[name].to_numpy(copy=True)
        if name in SPIKED:
            for at in rng.integers(1, len(log), rng.poisson(defects.spikes_per_min * minutes / 3)):
                values[at] = _spike(name, values, rng)
        for at in rng.integers(1, len(log), rng.poisson(defects.dropouts_per_min * minutes)):
            values[at : at + rng.integers(1, 4)] = np.nan
        log[name] = values
    for _ in range(defects.frozen):
        name = channels[rng.integers(len(channels))]
        at, length = int(rng.integers(1, len(log))), int(rng.uniform(1.0, 4.0) * rate_hz)
        log.loc[at : at + length, name] = log[name].iloc[at]
    keep = np.ones(len(log), dtype=bool)
    for start, stop in _gaps(log["time_s"].to_numpy(), defects, motor_on, rng):
        keep[start:stop] = False
    log = log[keep].reset_index(drop=True)
    for at in rng.integers(1, len(log), rng.poisson(defects.repeats_per_min * minutes)):
        log.loc[at, "time_s"] = log.loc[at - 1, "time_s"]
    return log


def _spike(name: str, values: Array, rng: np.random.Generator) -> float:
    spread = {"altitude_m": 80.0, "current_a": 60.0, "voltage_v": 8.0, "rpm": 9000.0}
    scale = spread.get(name, 40.0)
    return float(np.nanmedian(values) + scale * rng.choice([-1.0, 1.0]) * rng.uniform(0.6, 3.0))


def _gaps(
    time: Array, defects: Defects, motor_on: NDArray[np.bool_], rng: np.random.Generator
) -> list[tuple[int, int]]:
    """Index ranges of lost rows; the first one in a motor run where that is asked for."""
    ranges = []
    runs = [run for run in runs_of(motor_on) if time[run[1] - 1] - time[run[0]] > 8.0]
    for number in range(defects.gaps):
        length = rng.uniform(*defects.gap_s)
        low, high = 5.0, time[-1] - 10.0
        if number == 0 and defects.gap_in_motor_run and runs:
            first, last = runs[rng.integers(len(runs))]
            low, high = time[first] + 1.0, time[last - 1] - 1.0
            length = min(length, 0.6 * (high - low))
            high -= length
        begin = rng.uniform(low, high)
        first, last = np.searchsorted(time, [begin, begin + length])
        ranges.append((int(first), int(last)))
    return ranges
