"""The flight itself: the model carried through the plan, one time step after the other."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from simulator.air import GRAVITY_M_S2, Air, coloured_noise, wind_factor
from simulator.airframe import best_glide_speed, drag_coefficient
from simulator.pilot import PlanRunner, Stick, View
from simulator.power import PowerSystem
from simulator.scenario import AIRBORNE_PHASES, Scenario

STEP_S = 0.05
LONGEST_S = 3600.0
THROW_M_S = 9.0
START_DUTY = 0.06

TRACE_COLUMNS = [
    "time_s", "east_m", "north_m", "altitude_m", "airspeed_m_s", "heading_rad", "air_vertical_m_s",
    "motor_a", "avionics_a", "voltage_v", "motor_rpm", "thrust_n", "throttle", "airborne", "phase",
    "still_air_sink_m_s", "winding_c", "charge",
]  # fmt: skip


class Flight:
    """State of one simulation and the step that carries it on."""

    def __init__(self, scenario: Scenario, rng: np.random.Generator):
        count = int(min(LONGEST_S, 60.0 + _longest(scenario)) / STEP_S)
        self.scenario = scenario
        self.air = Air(scenario.weather, count, STEP_S, rng)
        speed = best_glide_speed(scenario.airframe, self.air.density_kg_m3)
        self.runner = PlanRunner(scenario.plan, scenario.pilot, self.air, speed, count, STEP_S, rng)
        self.power = PowerSystem(scenario.pack, scenario.drive, scenario.weather.temperature_c)
        recorder = scenario.recorder
        servo = np.abs(coloured_noise(rng, count, STEP_S, 0.3))
        peaks = np.maximum(np.abs(coloured_noise(rng, count, STEP_S, 0.4, poles=2)) - 2.6, 0.0) / 0.4
        avionics = recorder.avionics_a * (1.0 + 0.6 * servo) / 1.5
        self.avionics_a = (avionics + recorder.servo_peak_a * np.minimum(peaks, 1.0)).tolist()
        self.carried_m = coloured_noise(rng, count, STEP_S, 2.0, poles=2).tolist()
        self.count = count
        self.best_glide_m_s = speed
        self.east_m = self.north_m = self.height_m = 0.0
        self.speed_m_s = self.path_rad = self.bank_rad = 0.0
        self.heading_rad = math.radians(scenario.weather.wind_from_deg)
        self.duty = 0.0
        self.airborne = False
        self.ground_m = 0.0
        self.sink_m_s = 0.0
        self.lift_m_s = self.along_m_s = 0.0
        self.index = 0
        self.rows: list[tuple[float | bool | int, ...]] = []

    def fly(self) -> pd.DataFrame:
        """Carry out the whole plan; the noise-free trace, one row a step."""
        runner = self.runner
        for index in range(self.count):
            self.index, time_s = index, index * STEP_S
            view = View(
                self.east_m, self.north_m, self.height_m, self.speed_m_s, self.heading_rad,
                self.power.charge,
            )  # fmt: skip
            runner.check_exit(time_s, view)
            if runner.finished:
                break
            self._step(time_s, runner.command(index, time_s, view))
            self._record(time_s)
        return pd.DataFrame(self.rows, columns=TRACE_COLUMNS)

    def _step(self, time_s: float, stick: Stick) -> None:
        kind = self.runner.phase.kind
        self._throttle(stick)
        density = self.air.density(self.height_m)
        self.power.advance(self.duty, self.avionics_a[self.index], self.speed_m_s, density, STEP_S)
        factor = wind_factor(self.height_m)
        self.air.drift(factor)
        if kind in AIRBORNE_PHASES:
            if not self.airborne:
                self._release()
            self._airborne(stick, density, factor)
            if kind == "land" and self.height_m <= self.scenario.landing_height_m:
                self._touch_down(time_s)
        elif kind == "roll":
            self._roll()
        else:
            self._handled(kind)

    def _throttle(self, stick: Stick) -> None:
        """Speed controller: ramps up in the spool-up time, stops at once, folds the propeller."""
        if stick.throttle <= 0.0:
            self.duty = 0.0
        else:
            ramp = STEP_S / stick.spool_s
            change = stick.throttle - self.duty
            self.duty = max(self.duty + min(max(change, -2 * ramp), ramp), START_DUTY)

    def _release(self) -> None:
        self.airborne = True
        self.speed_m_s = max(THROW_M_S, 0.9 * self.best_glide_m_s)
        self.path_rad = math.radians(12.0)
        self.heading_rad = math.radians(self.scenario.weather.wind_from_deg)
        self.height_m = max(self.height_m, self.ground_m + 1.8)
        self.lift_m_s = self.along_m_s = 0.0

    def _gusts(self) -> None:
        """Change of the air along the path acts on airspeed and path angle (inertia)."""
        lift = self.air.vertical_m_s(self.index, self.east_m, self.north_m, self.height_m)
        along = self.air.along_gust[self.index]
        change, surge = lift - self.lift_m_s, along - self.along_m_s
        self.speed_m_s += surge * math.cos(self.path_rad) - change * math.sin(self.path_rad)
        self.speed_m_s = max(self.speed_m_s, 2.0)
        self.path_rad -= (change * math.cos(self.path_rad) + surge * math.sin(self.path_rad)) / self.speed_m_s
        self.lift_m_s, self.along_m_s = lift, along

    def _airborne(self, stick: Stick, density: float, factor: float) -> None:
        frame = self.scenario.airframe
        pilot = self.scenario.pilot
        self._gusts()
        speed, path = self.speed_m_s, self.path_rad
        pressure = 0.5 * density * speed * speed * frame.wing_area_m2
        weight = frame.mass_kg * GRAVITY_M_S2
        self.bank_rad += (stick.bank_rad - self.bank_rad) * STEP_S / pilot.roll_time_s
        bank_cos = math.cos(self.bank_rad)
        level = math.cos(path) / bank_cos
        drag = pressure * drag_coefficient(
            frame, min(weight * level / pressure, frame.max_lift_coefficient), speed, stick.brake
        )
        wanted = self._wanted_path(stick, (self.power.thrust_n - drag) / weight)
        hand_s = pilot.pitch_time_s if not stick.flare else 0.4
        turn_up = min(max((wanted - path) / hand_s, -0.8), 0.8)
        lift = (speed * turn_up / GRAVITY_M_S2 / bank_cos + level) * weight / pressure
        lift = min(max(lift, -0.2), frame.max_lift_coefficient)
        drag = pressure * drag_coefficient(frame, lift, speed, stick.brake)
        self.sink_m_s = drag * speed / weight
        force = lift * pressure / frame.mass_kg
        self.speed_m_s += STEP_S * ((self.power.thrust_n - drag) / frame.mass_kg - GRAVITY_M_S2 * math.sin(path))
        self.speed_m_s = max(self.speed_m_s, 2.0)
        self.path_rad += STEP_S * (force * bank_cos - GRAVITY_M_S2 * math.cos(path)) / speed
        self.path_rad = min(max(self.path_rad, -1.3), 1.3)
        self.heading_rad += STEP_S * force * math.sin(self.bank_rad) / (speed * math.cos(path))
        self._move(factor)

    def _wanted_path(self, stick: Stick, balance: float) -> float:
        """Path angle that the pilot asks for: balance of forces, corrected by airspeed."""
        if stick.flare:
            return -0.02
        pilot = self.scenario.pilot
        wanted = math.asin(min(max(balance, -0.9), 0.9))
        wanted += pilot.speed_gain_rad_s_m * (self.speed_m_s - stick.speed_m_s)
        wanted += self.runner.pitch_wobble[self.index]
        return min(max(wanted, stick.shallowest_rad), stick.steepest_rad)

    def _move(self, factor: float) -> None:
        level = self.speed_m_s * math.cos(self.path_rad)
        self.east_m += STEP_S * (level * math.sin(self.heading_rad) + self.air.wind_east_10m * factor)
        self.north_m += STEP_S * (level * math.cos(self.heading_rad) + self.air.wind_north_10m * factor)
        self.height_m += STEP_S * (self.speed_m_s * math.sin(self.path_rad) + self.lift_m_s)
        lowest = self.scenario.landing_height_m if self.runner.phase.kind == "land" else 0.3
        if self.height_m < lowest:
            self.height_m = lowest
            self.path_rad = max(self.path_rad, 0.0)

    def _touch_down(self, time_s: float) -> None:
        self.airborne = False
        self.ground_m = self.height_m = self.scenario.landing_height_m
        self.path_rad = self.bank_rad = self.lift_m_s = 0.0
        self.sink_m_s = 0.0
        self.runner.next_phase(time_s)

    def _roll(self) -> None:
        self.speed_m_s = max(0.0, self.speed_m_s - 3.0 * STEP_S)
        self.east_m += STEP_S * self.speed_m_s * math.sin(self.heading_rad)
        self.north_m += STEP_S * self.speed_m_s * math.cos(self.heading_rad)
        if self.speed_m_s == 0.0:
            self.runner.phase_start_s -= self.runner.phase.duration_s

    def _handled(self, kind: str) -> None:
        """On the grass, in the hand, or carried home: moved about by up to two metres."""
        self.speed_m_s = max(0.0, self.speed_m_s - 3.0 * STEP_S)
        target = 0.0
        if kind == "hold":
            target = 1.5 + 0.25 * self.carried_m[self.index]
        elif kind == "carry":
            target = 1.0 + 0.3 * self.carried_m[self.index]
            share = STEP_S / max(self.runner.phase.duration_s / 3, 5.0)
            self.east_m -= share * self.east_m
            self.north_m -= share * self.north_m
            self.ground_m -= share * self.ground_m
        self.height_m += (self.ground_m + target - self.height_m) * STEP_S / 0.8

    def _record(self, time_s: float) -> None:
        power = self.power
        self.rows.append((
            time_s, self.east_m, self.north_m, self.height_m, self.speed_m_s, self.heading_rad,
            self.lift_m_s, power.motor_a, self.avionics_a[self.index], power.voltage_v,
            power.motor_rad_s * 9.549297, power.thrust_n, self.duty, self.airborne,
            min(self.runner.index, len(self.scenario.plan) - 1), self.sink_m_s, power.winding_c,
            power.charge,
        ))  # fmt: skip


def _longest(scenario: Scenario) -> float:
    """Upper bound in seconds on how long a plan can take, landings included."""
    landings = sum(phase.kind == "land" for phase in scenario.plan)
    return sum(min(phase.duration_s, 1200.0) for phase in scenario.plan) + 300.0 * landings
