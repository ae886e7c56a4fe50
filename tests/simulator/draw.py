"""Random scenarios: models, packs, weather, pilots, plans, recorders and their defects."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from simulator.scenario import (
    Airframe,
    Defects,
    Difficulty,
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

_PROPELLERS = {  # cells: (diameter, pitch) in inches, for a geared or slow motor of that pack
    2: ((10, 6), (11, 6), (11, 8), (12, 6)),
    3: ((11, 6), (12, 6.5), (13, 7), (13, 8), (14, 8)),
    4: ((13, 8), (14, 8), (14, 9), (15, 8), (15, 10)),
    5: ((14, 8), (15, 8), (15, 10), (16, 8)),
    6: ((15, 10), (16, 8), (16, 10)),
}


def scenario_for(difficulty: Difficulty = "normal", seed: int = 0) -> Scenario:
    """Random scenario of a difficulty; the same seed gives the same scenario.

    normal: 5 to 20 Hz, decent sensors, one flight. hard: 1 to 5 Hz or 1 m steps, gaps, offsets,
    strong gusts, channels missing, bumps, blips, soft starts, part throttle, weak or broken
    thermals, motor in lift, several flights.
    """
    rng = np.random.default_rng([seed, 1 if difficulty == "hard" else 0])
    hard = difficulty == "hard"
    cells = int(rng.choice([2, 3, 3, 3, 4, 4, 6]))
    airframe = _airframe(rng, cells)
    windmill = _windmill(np.random.default_rng([seed, 1 if hard else 0, 2]))
    return Scenario(
        name=f"{difficulty}-{seed}",
        difficulty=difficulty,
        airframe=airframe,
        pack=_pack(rng, cells, airframe.mass_kg),
        drive=replace(_drive(rng, cells, airframe.mass_kg), windmill=windmill),
        weather=_weather(rng, hard),
        pilot=_pilot(rng, hard),
        plan=_plan(rng, hard),
        recorder=_recorder(rng, hard),
        defects=_defects(rng, hard),
        landing_height_m=float(rng.normal(0.0, 2.5 if hard else 0.6)),
    )


def _windmill(rng: np.random.Generator) -> float:
    """One controller in seven does not brake: most friction leaves a third of the free speed, bearings nine tenths."""
    return float(rng.uniform(0.35, 0.9)) if rng.random() < 1 / 7 else 0.0


def _airframe(rng: np.random.Generator, cells: int) -> Airframe:
    span = {2: (1.5, 2.2), 3: (1.8, 3.2), 4: (2.4, 4.0), 5: (2.8, 4.0), 6: (3.0, 4.0)}[cells]
    wingspan = rng.uniform(*span)
    aspect = rng.uniform(11.0, 18.0)
    area = wingspan**2 / aspect
    return Airframe(
        mass_kg=area * rng.uniform(2.6, 4.6),
        wing_area_m2=area,
        wingspan_m=wingspan,
        profile_drag=rng.uniform(0.014, 0.022),
        bucket_width=rng.uniform(0.006, 0.014),
        bucket_lift_coefficient=rng.uniform(0.3, 0.55),
        span_efficiency=rng.uniform(0.86, 0.95),
        max_lift_coefficient=rng.uniform(1.15, 1.35),
    )


def _pack(rng: np.random.Generator, cells: int, mass_kg: float) -> Pack:
    capacity = rng.uniform(1.0, 1.5) * (1.0 + mass_kg * 3.0 / cells / 2.0)
    resistance = cells * rng.uniform(0.010, 0.026) / capacity
    return Pack(
        cells=cells,
        capacity_ah=round(capacity, 1),
        resistance_ohm=resistance,
        start_charge=rng.uniform(0.9, 1.0),
        relaxation_ohm=resistance * rng.uniform(0.2, 0.6),
        relaxation_s=rng.uniform(15.0, 40.0),
    )


def _drive(rng: np.random.Generator, cells: int, mass_kg: float) -> Drive:
    """A drive whose shaft power suits the mass: 60 to 200 W/kg, speed constant to match."""
    options = _PROPELLERS[cells]
    diameter, pitch = options[rng.integers(len(options))]
    watts = mass_kg * rng.uniform(60.0, 200.0)
    metres = diameter * 0.0254
    turns = (watts / (0.042 * 1.15 * metres**5)) ** (1.0 / 3.0)
    gear = float(rng.choice([1.0, 1.0, 4.4, 5.2, 6.7]))
    volts = 3.55 * cells
    current = watts / 0.75 / volts
    resistance = 0.06 * volts / current
    kv = turns * 60.0 * gear / (0.88 * volts)
    return Drive(
        kv_rpm_per_v=round(kv, -1),
        winding_ohm=round(resistance, 4),
        drag_current_a=round(0.02 * current, 2),
        eddy_current_a_per_krpm=0.015 * current / (kv * volts / 1000.0) + 0.005,
        controller_ohm=rng.uniform(0.002, 0.006),
        switching_loss=rng.uniform(0.1, 0.25),
        continuous_current_a=float(10 * math.ceil(current * rng.uniform(1.0, 1.6) / 10)),
        gear_ratio=gear,
        gear_friction=0.0 if gear == 1.0 else rng.uniform(0.02, 0.05),
        gear_drag_nm=0.0 if gear == 1.0 else 0.0008,
        diameter_in=float(diameter),
        pitch_in=float(pitch),
        blades=2,
    )


def _weather(rng: np.random.Generator, hard: bool) -> Weather:
    return Weather(
        elevation_m=rng.uniform(0.0, 900.0),
        temperature_c=rng.uniform(2.0, 32.0),
        wind_m_s=rng.uniform(2.0, 7.0) if hard else rng.uniform(0.0, 5.0),
        wind_from_deg=rng.uniform(0.0, 360.0),
        gust_m_s=rng.uniform(0.3, 1.0) if hard else rng.uniform(0.1, 0.5),
        gust_length_m=rng.uniform(20.0, 70.0),
        patchiness_m_s=rng.uniform(0.08, 0.25) if hard else rng.uniform(0.03, 0.14),
        patchiness_s=rng.uniform(25.0, 80.0),
        subsidence_m_s=rng.uniform(0.0, 0.25),
        mixing_height_m=rng.uniform(400.0, 1500.0),
    )


def _pilot(rng: np.random.Generator, hard: bool) -> Pilot:
    return Pilot(
        speed_gain_rad_s_m=rng.uniform(0.03, 0.08),
        pitch_time_s=rng.uniform(0.5, 1.6) if hard else rng.uniform(0.4, 1.1),
        wobble_deg=rng.uniform(1.0, 4.0) if hard else rng.uniform(0.5, 2.0),
        centring=rng.uniform(0.1, 0.5),
    )


@dataclass
class _Planner:
    """Draws one flight's phases."""

    rng: np.random.Generator
    hard: bool

    def flight(self) -> list[Phase]:
        rng = self.rng
        phases = [Phase("wait", rng.uniform(3, 30)), Phase("hold", rng.uniform(4, 20))]
        if rng.random() < (0.5 if self.hard else 0.3):
            phases += [
                Phase("hold", rng.uniform(1.5, 5), throttle=rng.uniform(0.5, 1.0)),
                Phase("hold", rng.uniform(3, 15)),
            ]
        if rng.random() < 0.7:
            phases.append(Phase("hold", rng.uniform(0.6, 2.0), throttle=1.0))
        for _ in range(int(rng.integers(2, 5 if self.hard else 6))):
            phases += self.cycle()
        phases += [Phase("land", 600.0, mode="landing"), Phase("roll", 8.0)]
        return [
            *phases,
            Phase("wait", rng.uniform(2, 20)),
            Phase("carry", rng.uniform(10, 60)),
            Phase("wait", rng.uniform(2, 60)),
        ]

    def cycle(self) -> list[Phase]:
        rng = self.rng
        phases = [self.climb()]
        for _ in range(int(rng.integers(1, 4))):
            draw = rng.random()
            if draw < 0.45:
                phases += [self.glide(), self.thermal()]
            elif draw < 0.6:
                phases += [self.glide(), self.bump()]
            elif draw < 0.75:
                phases += [self.glide(), self.dive(), self.glide()]
            else:
                phases.append(self.glide())
            if self.hard and rng.random() < 0.25:
                phases.append(self.blip())
        phases.append(self.glide())
        if rng.random() < 0.4:
            phases.append(Phase("glide", 60.0, speed=1.6, floor_m=rng.uniform(60, 150), mode="speed"))
        return phases

    def climb(self) -> Phase:
        rng = self.rng
        part = rng.random() < (0.4 if self.hard else 0.2)
        soft = rng.random() < (0.4 if self.hard else 0.15)
        in_lift = rng.random() < (0.2 if self.hard else 0.05)
        thermal = self._spec(1.0) if in_lift else None
        return Phase(
            "climb",
            rng.uniform(10, 40) * (1.6 if part else 1.0),
            speed=rng.uniform(0.95, 1.35),
            throttle=rng.uniform(0.5 if self.hard else 0.6, 0.88) if part else 1.0,
            spool_s=rng.uniform(1.5, 4.0) if soft else rng.uniform(0.2, 0.8),
            bank_deg=30.0 if in_lift else 0.0,
            max_angle_deg=rng.uniform(20, 60),
            ceiling_m=rng.uniform(150, 350),
            thermal=thermal,
            mode="climb",
        )

    def blip(self) -> Phase:
        rng = self.rng
        return Phase("climb", rng.uniform(0.6, 2.5), throttle=rng.uniform(0.4, 1), spool_s=0.3)

    def glide(self) -> Phase:
        rng = self.rng
        return Phase("glide", rng.uniform(12, 80), speed=rng.uniform(0.85, 1.2), mode="cruise")

    def dive(self) -> Phase:
        rng = self.rng
        return Phase("dive", rng.uniform(3, 7), speed=rng.uniform(1.8, 2.8), mode="speed")

    def bump(self) -> Phase:
        rng = self.rng
        spec = ThermalSpec(rng.uniform(1.0, 3.0), rng.uniform(12, 25), rng.uniform(0, 10))
        return Phase("bump", rng.uniform(8, 16), thermal=spec, mode="cruise")

    def thermal(self) -> Phase:
        rng = self.rng
        strength = rng.uniform(0.4, 0.8) if self.hard and rng.random() < 0.3 else 1.0
        patient = rng.random() < (0.15 if self.hard else 0.05)
        return Phase(
            "thermal",
            rng.uniform(25, 200),
            speed=rng.uniform(0.8, 1.0),
            bank_deg=rng.uniform(12, 45),
            ceiling_m=rng.uniform(250, 500),
            thermal=self._spec(strength),
            leave_below_m_s=-9.0 if patient else 0.15,
            mode="thermal",
        )

    def _spec(self, strength: float) -> ThermalSpec:
        rng = self.rng
        return ThermalSpec(
            core_m_s=rng.uniform(1.6, 4.5) * strength,
            radius_m=rng.uniform(25, 60),
            offset_m=rng.uniform(0, 25),
            ring=rng.uniform(0.1, 0.35),
            breathing=rng.uniform(0.1, 0.4) if self.hard else rng.uniform(0.0, 0.25),
            breathing_s=rng.uniform(20, 60),
        )


def _plan(rng: np.random.Generator, hard: bool) -> tuple[Phase, ...]:
    planner = _Planner(rng, hard)
    flights = int(rng.choice([1, 1, 1, 2, 3])) if hard else int(rng.choice([1, 1, 1, 1, 2]))
    return tuple(phase for _ in range(flights) for phase in planner.flight())


def _recorder(rng: np.random.Generator, hard: bool) -> Recorder:
    rate = float(rng.choice([1, 2, 2, 4, 5])) if hard else float(rng.choice([5, 10, 10, 20]))
    coarse = hard and rng.random() < 0.35
    if coarse:
        rate = float(rng.choice([2, 4, 5, 10]))
    sensors = _sensors(rng, hard, 1.0 if coarse else 0.1)
    for name in _missing(rng, hard):
        sensors.pop(name, None)
    apart = rng.spawn(1)[0]
    sensors["altitude_m"] = _altimeter_manner(sensors["altitude_m"], apart)
    return Recorder(
        rate_hz=rate,
        sensors=sensors,
        avionics_a=rng.uniform(0.1, 0.5),
        servo_peak_a=rng.uniform(0.0, 1.6 if hard else 0.8),
        avionics_on_pack=bool(rng.random() < 0.8),
        rpm_measured_at="motor" if rng.random() < 0.6 else "propeller",
        propwash_m=rng.normal(0.0, 1.5 if hard else 0.7),
        wash_at_once=bool(apart.random() < 0.3),
        static_error=rng.normal(0.0, 0.02),
        drift_m_per_k=rng.normal(0.0, 0.06),
        drift_m=rng.uniform(0.0, 3.0 if hard else 0.8),
        time_quantum_s=float(rng.choice([0.001, 0.01])),
        jitter=rng.uniform(0.0, 0.3) if hard else rng.uniform(0.0, 0.1),
    )


def _sensors(rng: np.random.Generator, hard: bool, altitude_quantum_m: float) -> dict[str, Sensor]:
    """A sensor for every channel."""
    baro_rate = None if rng.random() < 0.6 else float(rng.choice([2, 4, 5]))
    gain = rng.normal(1.0, 0.004 if hard else 0.0015)
    return {
        "altitude_m": Sensor(
            noise=rng.uniform(0.1, 0.4) if hard else rng.uniform(0.04, 0.2),
            quantum=altitude_quantum_m,
            lag_s=rng.uniform(0.0, 1.0) if hard else rng.uniform(0.0, 0.5),
            rate_hz=baro_rate,
        ),
        "voltage_v": Sensor(noise=0.015, quantum=float(rng.choice([0.01, 0.1]))),
        "current_a": Sensor(
            noise=rng.uniform(0.05, 0.2),
            quantum=0.1,
            lag_s=rng.uniform(0.0, 0.3) if hard else 0.0,
            gain=gain,
            offset=rng.uniform(-0.1, 0.7) if hard else rng.uniform(-0.1, 0.3),
        ),
        "rpm": Sensor(noise=20.0, quantum=float(rng.choice([1, 10, 60])), positive=True),
        "throttle": Sensor(quantum=0.01, positive=True),
        "temperature_c": Sensor(quantum=1.0, rate_hz=1.0, noise=0.2),
        "receiver_voltage_v": Sensor(noise=0.01, quantum=0.01),
        "airspeed_m_s": Sensor(noise=0.3, quantum=0.1, lag_s=0.2),
        "latitude_deg": Sensor(noise=1e-5, quantum=1e-6, rate_hz=5.0, lag_s=0.3),
        "longitude_deg": Sensor(noise=1e-5, quantum=1e-6, rate_hz=5.0, lag_s=0.3),
        "ground_speed_m_s": Sensor(noise=0.2, quantum=0.1, rate_hz=5.0, lag_s=0.3),
        "charge_ah": Sensor(quantum=0.001),
        "vertical_speed_m_s": Sensor(noise=0.1, quantum=0.1, lag_s=rng.uniform(0.4, 1.5)),
    }


def _altimeter_manner(sensor: Sensor, rng: np.random.Generator) -> Sensor:
    """Half of the altimeters filter their noise; a quarter are asked in turn with others: late instead of lagging."""
    filtered, late = rng.random() < 0.5, rng.random() < 0.25
    return replace(
        sensor,
        noise_s=rng.uniform(0.1, 0.6) if filtered else 0.0,
        lag_s=0.0 if late else sensor.lag_s,
        late_s=sensor.lag_s if late else 0.0,
    )


def _missing(rng: np.random.Generator, hard: bool) -> list[str]:
    gone = []
    for name, share in (("airspeed_m_s", 0.6), ("charge_ah", 0.6), ("receiver_voltage_v", 0.5),
                        ("temperature_c", 0.4), ("throttle", 0.6), ("vertical_speed_m_s", 0.7)):  # fmt: skip
        if rng.random() < share:
            gone.append(name)
    if rng.random() < 0.5:
        gone += ["latitude_deg", "longitude_deg", "ground_speed_m_s"]
    draw = rng.random()
    if hard and draw < 0.25:
        gone.append("rpm")
    elif hard and draw < 0.45:
        gone += ["current_a", "charge_ah"]
    elif hard and draw < 0.5:
        gone.append("voltage_v")
    return gone


def _defects(rng: np.random.Generator, hard: bool) -> Defects:
    if not hard:
        return Defects(
            spikes_per_min=rng.uniform(0, 0.2),
            dropouts_per_min=rng.uniform(0, 0.5),
            repeats_per_min=rng.uniform(0, 0.2),
        )
    return Defects(
        gaps=int(rng.integers(0, 5)),
        gap_s=(2.0, 7.0),
        gap_in_motor_run=bool(rng.random() < 0.4),
        spikes_per_min=rng.uniform(0, 1.0),
        dropouts_per_min=rng.uniform(0, 2.0),
        repeats_per_min=rng.uniform(0, 0.5),
        frozen=int(rng.integers(0, 3)),
        sparse=bool(rng.random() < 0.3),
        stops_early=rng.uniform(0.05, 0.4) if rng.random() < 0.05 else 0.0,
    )
