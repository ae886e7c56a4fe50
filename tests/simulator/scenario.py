"""What is simulated: frozen records of model, weather, pilot, flight plan, sensors and defects.

Everything a flight depends on, except the random numbers themselves, is in one `Scenario`.
`simulator.draw.scenario_for` draws random ones; a test may also build its own with
`dataclasses.replace`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Difficulty = Literal["normal", "hard"]
PhaseKind = Literal["wait", "hold", "climb", "glide", "thermal", "bump", "dive", "land", "roll", "carry"]
AIRBORNE_PHASES: frozenset[str] = frozenset({"climb", "glide", "thermal", "bump", "dive", "land"})


@dataclass(frozen=True)
class Airframe:
    """Mass, wing and drag of a sailplane.

    The drag is not a plain parabola: profile drag is least at `bucket_lift_coefficient`, grows
    quadratically away from it and with falling Reynolds number, and the flow separates
    gradually above `stall_onset` of the maximum lift coefficient.
    """

    mass_kg: float
    wing_area_m2: float
    wingspan_m: float
    profile_drag: float
    bucket_width: float
    bucket_lift_coefficient: float
    span_efficiency: float
    max_lift_coefficient: float
    brake_drag: float = 0.10
    stall_onset: float = 0.85

    @property
    def aspect_ratio(self) -> float:
        """Span squared over area."""
        return self.wingspan_m**2 / self.wing_area_m2


@dataclass(frozen=True)
class Pack:
    """Lithium-polymer pack: size, resistance, state of charge at the start, one relaxation."""

    cells: int
    capacity_ah: float
    resistance_ohm: float
    start_charge: float = 1.0
    relaxation_ohm: float = 0.006
    relaxation_s: float = 25.0


@dataclass(frozen=True)
class Drive:
    """Speed controller, motor, gearbox and propeller.

    With the motor off the controller brakes and the propeller folds; or, with `windmill` above 0, the air turns it, at
    so many turns to a pitch of way (its drag counts as the airframe's).
    """

    kv_rpm_per_v: float
    winding_ohm: float
    drag_current_a: float
    eddy_current_a_per_krpm: float
    controller_ohm: float
    switching_loss: float
    continuous_current_a: float
    gear_ratio: float
    gear_friction: float
    gear_drag_nm: float
    diameter_in: float
    pitch_in: float
    blades: int
    spinner_loss: float = 0.03
    windmill: float = 0.0


@dataclass(frozen=True)
class ThermalSpec:
    """One thermal as the pilot will meet it."""

    core_m_s: float
    radius_m: float
    offset_m: float
    ring: float = 0.2
    breathing: float = 0.0
    breathing_s: float = 30.0


@dataclass(frozen=True)
class Weather:
    """The day's air."""

    elevation_m: float
    temperature_c: float
    wind_m_s: float
    wind_from_deg: float
    gust_m_s: float
    gust_length_m: float
    patchiness_m_s: float
    patchiness_s: float
    subsidence_m_s: float
    mixing_height_m: float


@dataclass(frozen=True)
class Pilot:
    """How well the pilot flies.

    `speed_gain_rad_s_m` and `pitch_time_s` set the frequency and damping of the speed hold: low
    gain with a slow hand gives phugoid-like swings.
    """

    speed_gain_rad_s_m: float
    pitch_time_s: float
    wobble_deg: float
    centring: float
    roll_time_s: float = 0.6


@dataclass(frozen=True)
class Phase:
    """One step of the flight plan.

    `speed` is in multiples of the speed of best glide; a phase ends after `duration_s`, or when it passes `ceiling_m`
    or `floor_m`; a thermal is left when it climbs slower than `leave_below_m_s` over 20 s.
    """

    kind: PhaseKind
    duration_s: float
    speed: float = 1.0
    throttle: float = 0.0
    spool_s: float = 0.4
    bank_deg: float = 0.0
    max_angle_deg: float = 50.0
    ceiling_m: float = 1e9
    floor_m: float = -1e9
    leave_below_m_s: float = 0.1
    thermal: ThermalSpec | None = None
    mode: str = "cruise"


@dataclass(frozen=True)
class Sensor:
    """One channel's sensor: first-order lag, own rate (None: every row), gain and offset, noise, quantum.

    The noise may have gone through a filter of `noise_s`, and readings may arrive `late_s` after what they read. A
    `positive` sensor counts something: it is exactly zero while there is nothing to count.
    """

    noise: float = 0.0
    quantum: float = 0.0
    lag_s: float = 0.0
    late_s: float = 0.0
    noise_s: float = 0.0
    gain: float = 1.0
    offset: float = 0.0
    rate_hz: float | None = None
    positive: bool = False


@dataclass(frozen=True)
class Recorder:
    """The log: its rate, its sensors, and what the barometer sees besides height (of the wash, at once or not)."""

    rate_hz: float
    sensors: dict[str, Sensor]
    avionics_a: float
    servo_peak_a: float = 0.0
    avionics_on_pack: bool = True
    rpm_measured_at: Literal["motor", "propeller"] = "motor"
    propwash_m: float = 0.0
    wash_at_once: bool = False
    static_error: float = 0.0
    drift_m_per_k: float = 0.0
    drift_m: float = 0.0
    drift_s: float = 600.0
    flight_mode: bool = False
    time_quantum_s: float = 0.01
    jitter: float = 0.02


@dataclass(frozen=True)
class Defects:
    """How the log went wrong; the rates are per minute of log, `stops_early` is the share lost at its end."""

    gaps: int = 0
    gap_s: tuple[float, float] = (2.0, 6.0)
    gap_in_motor_run: bool = False
    dropouts_per_min: float = 0.0
    spikes_per_min: float = 0.0
    repeats_per_min: float = 0.0
    frozen: int = 0
    sparse: bool = False
    starts_late_s: float = 0.0
    stops_early: float = 0.0


@dataclass(frozen=True)
class Scenario:
    """Everything that is decided before the first random number of the air is drawn."""

    name: str
    difficulty: Difficulty
    airframe: Airframe
    pack: Pack
    drive: Drive
    weather: Weather
    pilot: Pilot
    plan: tuple[Phase, ...]
    recorder: Recorder
    defects: Defects = field(default_factory=Defects)
    landing_height_m: float = 0.0
