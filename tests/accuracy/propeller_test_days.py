"""Invented test days with two propellers: one flown and logged, the other's performance known to the simulator alone.

What differs from the prediction's model, on purpose: the simulator's own propeller curves (stalling blades, another
dependence on Reynolds number), a drag polar with a bucket and Reynolds number, eddy-current and iron losses, switching
losses, a gear with drag torque, a winding that warms, a pack that relaxes, air that lifts, sinks and gusts, a pilot who
hunts for speed. What a pilot does not know either, drawn for each day:

- **Data sheets**: speed constant, winding, no-load current, drag and gear efficiency are off by some per cent, evenly
  spread; the pack's stated resistance is that of a new, warm one.
- **Propellers**: on every second day they are of the make that was measured in the wind tunnel (each copy off by
  2.5 % in load, 0.8 % in efficiency); on the others of a make of their own. Such a make is the simulator's blade with
  more or less of everything (load off by up to 20 %, efficiency by up to 5 %), and each of its sizes departs from that
  as some size of the measured make departs from its own family's mean: drawn from the 34 measured ones.
- **Sensors**: the current's scale is off by up to 2.5 %; airspeed and throttle are logged now and then.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from simulator.air import density_at_field
from simulator.airframe import drag_coefficient
from simulator.draw import scenario_for
from simulator.flight import Flight
from simulator.power import PowerSystem
from simulator.scenario import Phase, Scenario
from simulator.sensors import sense
from simulator.simulate import setup_of

from analyzer.power_system.family_basis import log_reynolds, reynolds_number
from analyzer.power_system.family_model import family_curves, folding_family, mean_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.propeller_curves import PropellerCurves
from analyzer.records import Log
from analyzer.setup_file import Setup, parse_setup

G_M_S2 = 9.80665
EVEN = math.sqrt(3.0)
"""Half-width of an even spread of standard deviation 1."""

DATA_SHEET_SD = {"kv": 0.025, "winding": 0.10, "no_load": 0.15, "drag": 0.15, "gear": 0.015}
CHARGE = 0.6
"""State of charge at which the other propeller's climb is asked for: that of the prediction."""

COPY_SD = (0.025, 0.008)
"""How far a copy of a measured propeller is off in load (thrust and power together) and in thrust alone."""

RATIO_AT = np.linspace(0.0, 0.8, 17)
"""Share of the zero-thrust advance ratio up to which departures are taken from measurement; held beyond."""


SPEEDS_REV_S = (50.0, 150.0)
"""Between these a measured propeller's coefficients are interpolated."""


class Blades:
    """A propeller of the simulator's world, with factors on its coefficients over the advance ratio."""

    def __init__(self, size: Propeller, thrust: np.ndarray, power: np.ndarray) -> None:
        self.size = size
        self._thrust, self._power = thrust, power

    def scaled(self, thrust: float, power: float, advance: float, turns: float) -> tuple[float, float]:
        """The coefficients of these blades where those of the simulator are given."""
        del turns
        share = advance / (0.15 + 1.1 * self.size.pitch_ratio)
        return thrust * float(np.interp(share, RATIO_AT, self._thrust)), power * float(
            np.interp(share, RATIO_AT, self._power)
        )


class MeasuredBlades(Blades):
    """A copy of a propeller of the measured make."""

    def __init__(self, size: Propeller, thrust: float, power: float) -> None:
        curves = family_curves(size)
        self.size = size
        self._advance = np.linspace(0.0, 1.4 * curves.advance_scale, 57)
        reynolds = [reynolds_number(self._advance, speed, size.diameter_m, 1.5e-5) for speed in SPEEDS_REV_S]
        made = [curves.coefficients(self._advance, log_reynolds(one)) for one in reynolds]
        self._tables = [(thrust * one, power * np.maximum(other, 1e-3)) for one, other in made]

    def scaled(self, thrust: float, power: float, advance: float, turns: float) -> tuple[float, float]:
        """The coefficients as measured, whatever the simulator's are."""
        del thrust, power
        slow, fast = SPEEDS_REV_S
        share = min(max((turns - slow) / (fast - slow), 0.0), 1.0)
        pairs = [[float(np.interp(advance, self._advance, part)) for part in table] for table in self._tables]
        return tuple((1.0 - share) * low + share * high for low, high in zip(*pairs, strict=True))  # type: ignore[return-value]


class BladedPower(PowerSystem):
    """The simulator's power system with given blades."""

    blades: Blades

    def propeller(self, rad_s: float, speed_m_s: float, density: float) -> tuple[float, float]:
        """Thrust in N and torque in N m."""
        thrust, torque = super().propeller(rad_s, speed_m_s, density)
        turns, diameter = max(rad_s, 1.0) / (2 * math.pi), self.blades.size.diameter_m
        scale = density * turns * turns * diameter**4
        to_torque = scale * diameter / (2 * math.pi)
        own = self.blades.scaled(thrust / scale, torque / to_torque, speed_m_s / (turns * diameter), turns)
        return own[0] * scale, own[1] * to_torque


@dataclass(frozen=True)
class Climbing:
    """A best climb, as it truly is."""

    current_a: float
    climb_per_ah_m: float
    climb_rate_m_s: float


@dataclass(frozen=True)
class TestDay:
    """One day: the flown propeller's log and setup, and the truth of the other one."""

    __test__ = False

    log: Log
    setup: Setup
    other: Propeller
    truth: Climbing
    of_measured_make: bool


def test_day(seed: int) -> TestDay:
    """Fly one day."""
    rng = np.random.default_rng([seed, 77])
    measured_make = bool(seed % 2)
    scenario, flown, other = _scenario(rng, seed)
    make = _make(rng, measured_make)
    first, second = make(flown), make(other)
    flight = Flight(scenario, rng)
    flight.power = _power(scenario, first)
    trace = flight.fly()
    frame = sense(trace, scenario, rng).drop_duplicates("time_s").reset_index(drop=True)
    log = Log(name=f"day-{seed}", sha256=f"{seed:064x}", frame=frame)
    setup = _stated_setup(rng, scenario)
    truth = best_climb(_with(scenario, other), second)
    return TestDay(log, setup, other, truth, measured_make)


test_day.__test__ = False  # type: ignore[attr-defined]


def _scenario(rng: np.random.Generator, seed: int) -> tuple[Scenario, Propeller, Propeller]:
    """A scenario with a plan of climbs, the propeller flown and the one asked for."""
    sizes = [Propeller(*size) for size in folding_family().sizes_in]
    base = scenario_for("normal", 100_000 + seed)
    drive = base.drive
    near = [
        size
        for size in sizes
        if abs(size.diameter_in - drive.diameter_in) <= 2.0 and abs(size.pitch_in - drive.pitch_in) <= 2.0
    ]
    flown = near[rng.integers(len(near))]
    others = [size for size in near if size != flown]
    other = others[rng.integers(len(others))]
    recorder = base.recorder
    sensors = dict(recorder.sensors)
    if "current_a" in sensors:
        sensors["current_a"] = replace(sensors["current_a"], gain=1.0 + rng.uniform(-0.025, 0.025))
    steep = rng.uniform(25.0, 60.0)
    climbs = [
        phase
        for _ in range(int(rng.integers(3, 6)))
        for phase in (
            Phase(
                "climb",
                rng.uniform(14, 28),
                speed=rng.uniform(1.0, 1.3),
                throttle=1.0,
                max_angle_deg=steep,
                mode="climb",
            ),
            Phase("glide", rng.uniform(25, 50), speed=rng.uniform(0.9, 1.3), mode="cruise"),
        )
    ]
    plan = (Phase("wait", 8.0), Phase("hold", 10.0), *climbs)
    changed = replace(base, plan=plan, recorder=replace(recorder, sensors=sensors))
    return _with(changed, flown), flown, other


def _with(scenario: Scenario, size: Propeller) -> Scenario:
    return replace(scenario, drive=replace(scenario.drive, diameter_in=size.diameter_in, pitch_in=size.pitch_in))


def _make(rng: np.random.Generator, of_measured_make: bool) -> Callable[[Propeller], Blades]:
    """A function that makes the day's propellers."""
    load, efficiency = rng.uniform(-0.15, 0.20), rng.uniform(-0.05, 0.03)

    def make(size: Propeller) -> Blades:
        if of_measured_make:
            load_of_copy, efficiency_of_copy = np.exp(rng.normal(0.0, COPY_SD))
            return MeasuredBlades(size, load_of_copy * efficiency_of_copy, load_of_copy)
        thrust, power = _departure(rng)
        return Blades(size, thrust * (1.0 + load) * (1.0 + efficiency), power * (1.0 + load))

    return make


def _departure(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """How a randomly chosen measured propeller departs from the mean of its family."""
    size = Propeller(*folding_family().sizes_in[rng.integers(len(folding_family().sizes_in))])
    own, mean = family_curves(size), mean_curves(size)
    return _ratio(own, mean, 0), _ratio(own, mean, 1)


def _ratio(own: PropellerCurves, mean: PropellerCurves, which: int) -> np.ndarray:
    pair = [curves.coefficients(RATIO_AT * mean.advance_scale, 0.0)[which] for curves in (own, mean)]
    return np.clip(pair[0] / pair[1], 0.6, 1.6)


def _power(scenario: Scenario, blades: Blades) -> BladedPower:
    power = BladedPower(scenario.pack, scenario.drive, scenario.weather.temperature_c)
    power.blades = blades
    return power


def _stated_setup(rng: np.random.Generator, scenario: Scenario) -> Setup:
    """The setup as the data sheets have it."""
    import tomlkit

    plain: dict[str, Any] = setup_of(scenario)

    def off(name: str) -> float:
        return 1.0 + DATA_SHEET_SD[name] * EVEN * rng.uniform(-1.0, 1.0)

    plain["motor"]["kv_rpm_per_v"] *= off("kv")
    plain["motor"]["resistance_ohm"] *= off("winding")
    plain["motor"]["no_load_current_a"] *= off("no_load")
    plain["airframe"]["zero_lift_drag_coefficient"] *= off("drag")
    if plain["gearbox"]["ratio"] != 1.0:
        plain["gearbox"]["efficiency"] = min(plain["gearbox"]["efficiency"] * off("gear"), 1.0)
    else:
        plain["gearbox"]["efficiency"] = 1.0
    plain["pack"]["internal_resistance_ohm"] /= rng.uniform(0.8, 1.6)
    return parse_setup(tomlkit.dumps(plain), source="an invented day")


def best_climb(scenario: Scenario, blades: Blades) -> Climbing:
    """The true best climb in still air at the field, in the middle of a climb of 20 s.

    Solved with the simulator's own equations: relaxation and winding are those after ten seconds.
    """
    coarse = np.arange(6.0, 34.0, 1.0)
    best = coarse[int(np.argmax([_steady(scenario, blades, float(speed)).climb_rate_m_s for speed in coarse]))]
    fine = [_steady(scenario, blades, float(speed)) for speed in best + np.arange(-0.8, 0.9, 0.2)]
    return max(fine, key=lambda one: one.climb_rate_m_s)


def _steady(scenario: Scenario, blades: Blades, speed: float) -> Climbing:
    """Steady climb at an airspeed; the climb rate is minus infinity where the wing cannot carry the model."""
    frame = scenario.airframe
    density = density_at_field(scenario.weather.elevation_m, scenario.weather.temperature_c)
    power = _power(scenario, blades)
    for _ in range(10):
        power.charge = CHARGE
        power.advance(1.0, 0.0, speed, density, 1.0)
    pressure = 0.5 * density * speed * speed * frame.wing_area_m2
    weight, path = frame.mass_kg * G_M_S2, 0.0
    for _ in range(40):
        lift = min(weight * math.cos(path) / pressure, frame.max_lift_coefficient)
        drag = pressure * drag_coefficient(frame, lift, speed)
        path += 0.5 * (math.asin(min(max((power.thrust_n - drag) / weight, -1.0), 1.0)) - path)
    carried = weight * math.cos(path) / pressure <= frame.max_lift_coefficient
    climb = speed * math.sin(path) if carried else -math.inf
    return Climbing(power.motor_a, 3600.0 * climb / power.motor_a, climb)
