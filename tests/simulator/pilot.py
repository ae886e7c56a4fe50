"""The pilot: carries out the flight plan and turns it into stick and throttle at every step."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simulator.air import Air, Thermal, coloured_noise
from simulator.scenario import AIRBORNE_PHASES, Phase, Pilot

BOX_M = 250.0
LAND_BELOW_M = 30.0
LEAVE_LIFT_BELOW_M = 18.0
RESERVE_CHARGE = 0.15
CLIMB_AT_LEAST_M = 30.0
TRY_LIFT_S, JUDGE_LIFT_S = 15.0, 20.0


@dataclass(slots=True)
class Stick:
    """What the pilot asks for: airspeed, bank, throttle, brakes and the steepest path."""

    speed_m_s: float = 10.0
    bank_rad: float = 0.0
    throttle: float = 0.0
    spool_s: float = 0.4
    brake: float = 0.0
    steepest_rad: float = 0.8
    shallowest_rad: float = -0.6
    flare: bool = False


@dataclass(slots=True)
class View:
    """What the pilot sees of the model."""

    east_m: float
    north_m: float
    height_m: float
    speed_m_s: float
    heading_rad: float
    charge: float


class PlanRunner:
    """Steps through the plan: which phase is on, since when, and what it asks of the stick."""

    def __init__(
        self,
        plan: tuple[Phase, ...],
        pilot: Pilot,
        air: Air,
        best_glide_m_s: float,
        count: int,
        step_s: float,
        rng: np.random.Generator,
    ):
        self.plan = plan
        self.pilot = pilot
        self.air = air
        self.best_glide_m_s = best_glide_m_s
        self.index = 0
        self.phase_start_s = 0.0
        self.stick = Stick()
        self.thermal: Thermal | None = None
        self.turn = 1.0
        self.leg_heading_rad = rng.uniform(-math.pi, math.pi)
        self.leg_end_s = 0.0
        self._judged_s, self._judged_m = 0.0, 0.0
        self._rng = rng
        wobble = math.radians(pilot.wobble_deg)
        self.pitch_wobble = (wobble * coloured_noise(rng, count, step_s, 0.8, 2)).tolist()
        self.bank_wobble = (2 * wobble * coloured_noise(rng, count, step_s, 1.2, 2)).tolist()

    @property
    def phase(self) -> Phase:
        """The phase that is on."""
        return self.plan[self.index]

    @property
    def finished(self) -> bool:
        """Whether the plan is over."""
        return self.index >= len(self.plan)

    def next_phase(self, time_s: float) -> None:
        """Go on to the next phase."""
        self.index += 1
        self.phase_start_s = time_s
        self.thermal = None
        self.leg_end_s = 0.0

    def _skip_to(self, kinds: tuple[str, ...], time_s: float) -> None:
        self.next_phase(time_s)
        while not self.finished and self.phase.kind not in kinds:
            self.index += 1

    def check_exit(self, time_s: float, view: View) -> None:
        """End the phase when its time, height, or the pack says so."""
        phase = self.phase
        airborne = phase.kind in AIRBORNE_PHASES
        if airborne and phase.kind not in ("land", "climb") and self._too_low(phase, view):
            enough = view.charge > RESERVE_CHARGE
            self._skip_to(("climb", "land") if enough else ("land",), time_s)
        elif phase.kind == "climb" and view.charge < RESERVE_CHARGE:
            self._skip_to(("land",), time_s)
        elif phase.kind == "land":
            return
        elif (
            time_s - self.phase_start_s >= phase.duration_s
            or (airborne and not phase.floor_m < view.height_m < phase.ceiling_m)
            or (phase.kind == "thermal" and self._gives_nothing(phase, time_s, view))
        ):
            self.next_phase(time_s)
        while not self.finished and self._no_need(self.phase, view):
            self.index += 1

    def _no_need(self, phase: Phase, view: View) -> bool:
        """Whether a climb would start so close below its ceiling that no pilot would bother."""
        starts = phase.kind == "climb" and self.stick.throttle == 0.0
        return starts and view.height_m > phase.ceiling_m - CLIMB_AT_LEAST_M

    def _gives_nothing(self, phase: Phase, time_s: float, view: View) -> bool:
        """Whether the last 20 s in a thermal brought too little to stay; judged every 20 s."""
        if time_s < self.phase_start_s + TRY_LIFT_S:
            self._judged_s, self._judged_m = time_s, view.height_m
        if time_s < self._judged_s + JUDGE_LIFT_S:
            return False
        rate = (view.height_m - self._judged_m) / (time_s - self._judged_s)
        self._judged_s, self._judged_m = time_s, view.height_m
        return rate < phase.leave_below_m_s

    def _too_low(self, phase: Phase, view: View) -> bool:
        limit = LEAVE_LIFT_BELOW_M if phase.kind in ("thermal", "bump") else LAND_BELOW_M
        return view.height_m < limit

    def command(self, index: int, time_s: float, view: View) -> Stick:
        """Stick and throttle for this step."""
        phase, stick = self.phase, self.stick
        stick.throttle, stick.spool_s, stick.brake = phase.throttle, phase.spool_s, 0.0
        stick.speed_m_s = phase.speed * self.best_glide_m_s
        stick.steepest_rad = math.radians(phase.max_angle_deg)
        stick.shallowest_rad = -1.0 if phase.kind == "dive" else -0.5
        stick.flare = False
        if phase.thermal is not None and self.thermal is None:
            self._meet(phase, view, time_s)
        if phase.bank_deg > 0.0:
            stick.bank_rad = self._circle(phase, time_s, view)
        elif phase.kind == "land":
            self._circuit(time_s, view)
        else:
            stick.bank_rad = self._leg(phase, time_s, view)
        stick.bank_rad += self.bank_wobble[index]
        return stick

    def _meet(self, phase: Phase, view: View, time_s: float) -> None:
        """Place the phase's thermal on the way, off the circle's centre by its offset."""
        spec = phase.thermal
        assert spec is not None
        ahead = 1.6 * spec.radius_m
        east, north = math.sin(view.heading_rad), math.cos(view.heading_rad)
        aside = 0.0
        self.turn = 1.0 if self._rng.random() < 0.5 else -1.0
        if phase.bank_deg > 0.0:
            radius = self.stick.speed_m_s**2 / 9.81 / math.tan(math.radians(phase.bank_deg))
            aside = self.turn * radius
        angle = self._rng.uniform(-math.pi, math.pi)
        self.thermal = self.air.add_thermal(
            spec,
            view.east_m + ahead * east + aside * north + spec.offset_m * math.sin(angle),
            view.north_m + ahead * north - aside * east + spec.offset_m * math.cos(angle),
        )
        self.leg_heading_rad = view.heading_rad
        self.leg_end_s = time_s + ahead / max(view.speed_m_s, 5.0)

    def _circle(self, phase: Phase, time_s: float, view: View) -> float:
        """Bank of a circle that the pilot shifts towards the core: flat towards it, steep away."""
        if time_s < self.leg_end_s:
            return 0.0
        bank = math.radians(phase.bank_deg)
        if self.thermal is not None:
            east = self.thermal.east_m - view.east_m
            north = self.thermal.north_m - view.north_m
            radius = view.speed_m_s**2 / 9.81 / math.tan(bank)
            east -= self.turn * radius * math.cos(view.heading_rad)
            north += self.turn * radius * math.sin(view.heading_rad)
            away = math.hypot(east, north)
            if away > 1.0:
                aligned = (east * math.sin(view.heading_rad) + north * math.cos(view.heading_rad)) / away
                bank *= 1.0 - self.pilot.centring * aligned * min(1.0, away / radius)
        return self.turn * bank

    def _leg(self, phase: Phase, time_s: float, view: View) -> float:
        """Straight legs, some tens of seconds each, that keep the model near the field."""
        if time_s >= self.leg_end_s:
            self.leg_end_s = time_s + self._rng.uniform(8.0, 30.0)
            self.leg_heading_rad = self._rng.uniform(-math.pi, math.pi)
            if math.hypot(view.east_m, view.north_m) > BOX_M:
                home = math.atan2(-view.east_m, -view.north_m)
                self.leg_heading_rad = home + self._rng.normal(0.0, 0.4)
        error = (self.leg_heading_rad - view.heading_rad + math.pi) % (2 * math.pi) - math.pi
        return min(max(1.2 * error, -0.6), 0.6)

    def _circuit(self, time_s: float, view: View) -> None:
        """Brakes out until low, legs meanwhile, then straight and level off above the grass."""
        stick = self.stick
        stick.throttle = 0.0
        stick.speed_m_s = 1.05 * self.best_glide_m_s
        height = view.height_m
        if height > 60.0:
            stick.brake = 1.0
        elif height > 12.0:
            stick.brake = 0.35
        stick.bank_rad = self._leg(self.phase, time_s, view) if height > 12.0 else 0.0
        stick.flare = height < 1.2
