"""Invented test days with a known truth: propellers flown in turn, in air that lifts and sinks.

The physics is exact where the comparison's correction is first order (the motor's equation is solved, not
differentiated), so that a correction which is wrong shows as a missed truth.

- **Propellers**: each with a load coefficient and an efficiency of its own; the efficiency is set so that its climb
  per amp-hour at the day's middle conditions is what the day wants to be true.
- **Air**: a slow swing over the day that all flights share, a random part for each flight and for each run, each the
  mean over a climb of 30 s. On a test day, calm to breezy: 0.05 to 0.25 m/s (standard deviation) between runs, 0 to
  0.15 m/s between flights; on a lively one 0.25 to 0.40 and 0.10 to 0.30 m/s. These are assumptions, and how often a
  difference is decided hangs on them; how often an interval holds the truth does not.
- **Pack**: unloaded voltage falls by 3 to 8 % from the first run of a flight to the last.
- **Trouble**: one run in twenty-five goes wrong: a gust of 1 to 2 m/s, half throttle, a gap in the log, or a thermal.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field, replace

import numpy as np

from analyzer.comparison.flights import LoggedFlight
from analyzer.power_system.air import air_state
from analyzer.records import (
    Flight,
    FlightSummary,
    Glide,
    LogFacts,
    MotorRun,
    PowerSystemMeasures,
    Segment,
    ThermalClimb,
    Totals,
)
from analyzer.setup_file import Air, Airframe, Motor, Pack, Setup, SpeedController

G_M_S2 = 9.80665
RUN_S = 30.0
GLIDE_S = 90.0


@dataclass(frozen=True)
class Drive:
    """Motor with all resistances, and a propeller."""

    load: float
    """Current over rho n^2, in 1e-4 A / (kg/m^3) / (rev/s)^2."""
    efficiency: float
    volts_per_rev_s: float = 0.066
    resistance_ohm: float = 0.045

    def speed_and_current(self, voltage_v: float, density_kg_m3: float) -> tuple[float, float]:
        """Revolutions per second and amps: n = (V - I R) / k, I = load rho n^2, solved exactly."""
        c = self.load * 1e-4 * density_kg_m3
        a, b = self.resistance_ohm * c, self.volts_per_rev_s
        n = (-b + math.sqrt(b * b + 4.0 * a * voltage_v)) / (2.0 * a)
        return n, c * n * n

    def climb_m_s(self, voltage_v: float, density_kg_m3: float, mass_kg: float) -> float:
        """Climb rate in still air."""
        n, current = self.speed_and_current(voltage_v, density_kg_m3)
        shaft_w = current * self.volts_per_rev_s * n
        return self.efficiency * shaft_w / (mass_kg * G_M_S2) - sink_m_s(mass_kg, density_kg_m3)

    def climb_per_ah_m(self, voltage_v: float, density_kg_m3: float, mass_kg: float) -> float:
        """Metres per amp-hour in still air: the truth."""
        _, current = self.speed_and_current(voltage_v, density_kg_m3)
        return 3600.0 * self.climb_m_s(voltage_v, density_kg_m3, mass_kg) / current


def sink_m_s(mass_kg: float, density_kg_m3: float) -> float:
    """Sink in the glide."""
    return 0.45 * math.sqrt(mass_kg / 1.6 * 1.225 / density_kg_m3)


def drive_with(load: float, climb_per_ah_m: float, voltage_v: float, density_kg_m3: float, mass_kg: float) -> Drive:
    """A drive whose climb per amp-hour under the given conditions is the given one."""
    plain = Drive(load, 1.0)
    n, current = plain.speed_and_current(voltage_v, density_kg_m3)
    climb = climb_per_ah_m * current / 3600.0
    wanted_w = (climb + sink_m_s(mass_kg, density_kg_m3)) * mass_kg * G_M_S2
    return replace(plain, efficiency=wanted_w / (current * plain.volts_per_rev_s * n))


@dataclass(frozen=True)
class TestDay:
    """What was flown, and the truth."""

    __test__ = False

    flights: tuple[LoggedFlight, ...]
    drives: dict[str, Drive]


@dataclass
class _Weather:
    rng: np.random.Generator
    is_lively: bool
    run_sd: float = field(init=False)
    flight_sd: float = field(init=False)
    swing_m_s: float = field(init=False)
    phase: float = field(init=False)
    elevation_m: float = field(init=False)
    temperature_c: float = field(init=False)

    def __post_init__(self) -> None:
        self.run_sd = self.rng.uniform(*((0.25, 0.40) if self.is_lively else (0.05, 0.25)))
        self.flight_sd = self.rng.uniform(*((0.10, 0.30) if self.is_lively else (0.0, 0.15)))
        self.swing_m_s = self.rng.uniform(0.0, 0.15)
        self.phase = self.rng.uniform(0.0, 2.0 * math.pi)
        self.elevation_m = self.rng.uniform(0.0, 900.0)
        self.temperature_c = self.rng.uniform(5.0, 22.0)

    def flight_air(self, share_of_day: float) -> tuple[float, Air]:
        """Lift that a whole flight has, and the air at the field."""
        lift = self.swing_m_s * math.sin(2.0 * math.pi * share_of_day + self.phase)
        lift += self.rng.normal(0.0, self.flight_sd)
        temperature_c = self.temperature_c + 8.0 * share_of_day
        return lift, Air(elevation_m=round(self.elevation_m), temperature_c=round(temperature_c, 1))


def simulate_day(
    rng: np.random.Generator,
    differences: tuple[float, ...],
    *,
    runs: tuple[int, int] = (3, 12),
    flights: tuple[int, int] = (1, 6),
    is_lively: bool = False,
) -> TestDay:
    """Fly one day.

    Parameters
    ----------
    rng : Generator
        Chance.
    differences : tuple of float
        One propeller each: its climb per amp-hour over the first one's, minus 1.
    runs, flights : tuple of int
        Fewest and most per propeller.
    is_lively : bool
        Whether the air is livelier than a test pilot would wish.
    """
    weather = _Weather(rng, is_lively)
    mass_kg = rng.uniform(1.2, 2.2)
    voltage_v = rng.uniform(11.6, 12.2)
    density = air_state(Air(elevation_m=weather.elevation_m, temperature_c=weather.temperature_c + 4.0)).density_kg_m3
    base = rng.uniform(550.0, 950.0)
    names = [f"{12 + number}x{6 + number}" for number in range(len(differences))]
    drives = {
        name: drive_with(rng.uniform(6.5, 10.5), base * (1.0 + more), voltage_v, density, mass_kg)
        for name, more in zip(names, differences, strict=True)
    }
    layout = [(name, count) for name in names for count in _runs_of_flights(rng, runs, flights)]
    order = rng.permutation(len(layout))
    flown = [
        _flight(rng, weather, layout[place], drives, voltage_v, mass_kg, slot / max(1, len(layout) - 1))
        for slot, place in enumerate(order)
    ]
    return TestDay(tuple(flown), drives)


def _runs_of_flights(rng: np.random.Generator, runs: tuple[int, int], flights: tuple[int, int]) -> list[int]:
    count = int(rng.integers(flights[0], flights[1] + 1))
    total = max(int(rng.integers(runs[0], runs[1] + 1)), count)
    extra = rng.integers(0, count, total - count)
    return (1 + np.bincount(extra, minlength=count)).tolist()


def _flight(
    rng: np.random.Generator,
    weather: _Weather,
    layout: tuple[str, int],
    drives: dict[str, Drive],
    voltage_v: float,
    mass_kg: float,
    share_of_day: float,
) -> LoggedFlight:
    name, count = layout
    lift, air = weather.flight_air(share_of_day)
    mass_kg = round(mass_kg + rng.uniform(-0.04, 0.04), 3)  # packs differ
    density = air_state(air).density_kg_m3
    drop = rng.uniform(0.03, 0.08) * voltage_v
    start_v = voltage_v + 0.5 * drop + rng.normal(0.0, 0.08)
    made = [
        _run(
            rng,
            drives[name],
            start_v - drop * number / max(1, count - 1),
            density,
            mass_kg,
            lift,
            weather.run_sd,
            number,
        )
        for number in range(count)
    ]
    trouble = [_trouble(rng, run, drives[name]) for run in made]
    glides = tuple(_glide(run.end_s + 8.0, sink_m_s(mass_kg, density) - lift - rng.normal(0.0, 0.15)) for run in made)
    setup = Setup(
        name=f"invented, {name}",
        airframe=Airframe(mass_kg=mass_kg, wing_area_m2=0.55, wingspan_m=2.6),
        pack=Pack(cells=3, capacity_ah=2.2, internal_resistance_ohm=0.018),
        motor=Motor(kv_rpm_per_v=909.0, resistance_ohm=0.022),
        speed_controller=SpeedController(resistance_ohm=0.005),
        air=air,
    )
    summary = summary_of(
        f"{name}-{rng.integers(10**9)}.csv",
        [run for run, _ in trouble],
        glides,
        [climb for _, climb in trouble if climb],
    )
    return LoggedFlight(summary, setup, propeller=name, day="2026-05-02")


def _run(
    rng: np.random.Generator,
    drive: Drive,
    voltage_v: float,
    density: float,
    mass_kg: float,
    lift: float,
    run_sd: float,
    number: int,
) -> MotorRun:
    _, current = drive.speed_and_current(voltage_v, density)
    climb = drive.climb_m_s(voltage_v, density, mass_kg) + lift + rng.normal(0.0, run_sd)
    climb *= 1.0 + rng.normal(0.0, 0.004)  # the altimeter
    return motor_run(5.0 + number * (RUN_S + GLIDE_S + 20.0), climb, current, voltage_v - current * 0.018)


def motor_run(
    start_s: float, climb_m_s: float, current_a: float, voltage_v: float, length_s: float = RUN_S
) -> MotorRun:
    """A motor run with everything that follows from these."""
    hours = length_s / 3600.0
    power_w = current_a * voltage_v
    gain_m = climb_m_s * length_s
    return MotorRun(
        start_s=start_s,
        end_s=start_s + length_s,
        height_gain_m=gain_m,
        height_gain_m_se=0.5,
        zoom_gain_m=0.0,
        zoom_gain_m_se=0.5,
        climb_rate_m_s=climb_m_s,
        climb_rate_m_s_se=0.02,
        energy_wh=power_w * hours,
        energy_wh_se=0.001,
        charge_ah=current_a * hours,
        charge_ah_se=0.001,
        climb_per_ah_m=gain_m / (current_a * hours),
        climb_per_ah_m_se=0.01 * abs(gain_m / (current_a * hours)),
        climb_per_wh_m=gain_m / (power_w * hours),
        climb_per_wh_m_se=0.01 * abs(gain_m / (power_w * hours)),
        mean_power_w=power_w,
        max_current_a=1.1 * current_a,
        mean_current_a=current_a,
        min_voltage_v=voltage_v,
        mean_rpm=None,
        climb_efficiency=None,
        climb_efficiency_se=None,
        mean_voltage_v=voltage_v,
    )


def _trouble(rng: np.random.Generator, run: MotorRun, drive: Drive) -> tuple[MotorRun, ThermalClimb | None]:
    """One run in twenty-five goes wrong."""
    if rng.random() >= 0.04:
        return run, None
    assert run.climb_rate_m_s is not None
    assert run.mean_current_a is not None
    assert run.mean_voltage_v is not None
    match rng.choice(["gust", "half throttle", "gap", "thermal"]):
        case "gust":
            gust = rng.choice([-1.0, 1.0]) * rng.uniform(1.0, 2.0)
            return motor_run(run.start_s, run.climb_rate_m_s + gust, run.mean_current_a, run.mean_voltage_v), None
        case "half throttle":
            climb = 0.4 * run.climb_rate_m_s
            return motor_run(run.start_s, climb, 0.4 * run.mean_current_a, run.mean_voltage_v + 0.4), None
        case "gap":
            wrong = motor_run(run.start_s, 0.8 * run.climb_rate_m_s, run.mean_current_a, run.mean_voltage_v)
            return replace(wrong, interpolated_charge_share=0.3), None
        case _:
            lifted = motor_run(run.start_s, run.climb_rate_m_s + 1.0, run.mean_current_a, run.mean_voltage_v)
            climb = ThermalClimb(run.end_s + 5.0, run.end_s + 80.0, 80.0, 1.1, 1.6, 60.0, 140.0, 14.0, None, None)
            return lifted, climb


def _glide(start_s: float, sink: float) -> Glide:
    return Glide(start_s, start_s + GLIDE_S, sink * GLIDE_S, sink, 0.05, None)


def summary_of(
    name: str,
    runs: list[MotorRun],
    glides: tuple[Glide, ...] = (),
    climbs: list[ThermalClimb] | tuple[ThermalClimb, ...] = (),
) -> FlightSummary:
    """A flight summary that holds these results."""
    end_s = max([run.end_s for run in runs] + [glide.end_s for glide in glides], default=0.0) + 5.0
    return FlightSummary(
        log=LogFacts(name, hashlib.sha256(name.encode()).hexdigest(), 1000, end_s, 10.0, ("time_s", "altitude_m"), ()),
        flights=(Flight(0.0, end_s),),
        segments=tuple(Segment("motor_run", run.start_s, run.end_s, 0.0, 0.0) for run in runs),
        motor_runs=tuple(runs),
        glides=glides,
        thermal_climbs=tuple(climbs),
        totals=Totals(end_s, sum(run.end_s - run.start_s for run in runs), None, None, None, None, None, None),
        power_system=PowerSystemMeasures(0.018, 0.001, 12.0, 0.01),
    )
