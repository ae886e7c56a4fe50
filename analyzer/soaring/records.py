"""What was found of the air and the glide of one log: the keys of the JSON document "climbledger/thermals/1".

As in `analyzer.records`: units in the names, ``_se`` a standard error, None what the log cannot give.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from analyzer.circling.wind import Wind
from analyzer.records import Notice, ThermalClimb

THERMALS_SCHEMA: Final = "climbledger/thermals/1"

AirspeedSource = Literal["airspeed", "ground speed and wind", "none"]
"""Where the airspeed behind total energy and polar comes from."""

SinkBasis = Literal["polar measured in this log", "polar of the setup", "glides of this log"]
"""What the aircraft's own sink was taken from."""

Outcome = Literal["thermal_climb", "motor_run", "landing", "end_of_log"]


@dataclass(frozen=True, slots=True)
class ProfileBand:
    """Climb in one band of height; the standard error is that of the mean over the band's circles."""

    low_m: float
    high_m: float
    time_s: float
    climb_m_s: float
    climb_se_m_s: float | None


@dataclass(frozen=True, slots=True)
class Netto:
    """Vertical speed of the air in a climb: the climb plus the aircraft's own sink at the bank flown."""

    netto_m_s: float
    netto_se_m_s: float
    own_sink_m_s: float
    basis: SinkBasis


@dataclass(frozen=True, slots=True)
class Circling:
    """How a climb was circled. Position-based values are None without position."""

    direction: Literal["left", "right"] | None
    period_s: float
    circles: float
    source: Literal["heading", "track", "climb"]
    airspeed_m_s: float | None
    bank_deg: float | None
    radius_m: float | None
    drift_m_s: float | None
    drift_from_deg: float | None
    centre_latitude_deg: float | None
    centre_longitude_deg: float | None


@dataclass(frozen=True, slots=True)
class Thermal:
    """One climb in depth."""

    climb: ThermalClimb
    time_to_centre_s: float | None
    netto: Netto | None
    circling: Circling | None
    wind: Wind | None
    profile: tuple[ProfileBand, ...]


@dataclass(frozen=True, slots=True)
class Search:
    """From leaving one climb (or the motor's) to what ended the search."""

    start_s: float
    end_s: float
    outcome: Outcome
    height_change_m: float
    mean_air_m_s: float | None
    rising_share: float | None
    sinking_share: float | None


@dataclass(frozen=True, slots=True)
class PassedLift:
    """Rising air that was flown through in a glide; `probability` that circling there would have climbed."""

    start_s: float
    end_s: float
    altitude_m: float
    air_m_s: float
    probability: float
    latitude_deg: float | None
    longitude_deg: float | None


@dataclass(frozen=True, slots=True)
class PolarPoint:
    """One point of the measured polar with its 95 % band."""

    airspeed_m_s: float
    sink_m_s: float
    low_m_s: float
    high_m_s: float


@dataclass(frozen=True, slots=True)
class Landmarks:
    """Least sink and best glide of a polar, at one density and mass."""

    density_kg_m3: float
    mass_kg: float | None
    least_sink_m_s: float
    least_sink_speed_m_s: float
    best_glide_ratio: float
    best_glide_speed_m_s: float


@dataclass(frozen=True, slots=True)
class SpeedToFly:
    """Airspeed towards a next climb of so much, and the mean speed that comes of it."""

    expected_climb_m_s: float
    airspeed_m_s: float
    cross_country_m_s: float


@dataclass(frozen=True, slots=True)
class PolarReport:
    """The polar of the aircraft as flown, in one flight mode or in all."""

    flight_mode: str | None
    time_s: float
    slowest_airspeed_m_s: float
    fastest_airspeed_m_s: float
    flown: Landmarks
    least_sink_se_m_s: float
    least_sink_speed_se_m_s: float | None
    best_glide_ratio_se: float
    best_glide_speed_se_m_s: float | None
    least_sink_reached: bool
    best_glide_reached: bool
    at_sea_level: Landmarks
    scatter_m_s: float
    zero_lift_drag_coefficient: float | None
    induced_drag_factor: float | None
    curve: tuple[PolarPoint, ...]
    speeds_to_fly: tuple[SpeedToFly, ...]


@dataclass(frozen=True, slots=True)
class ModeSink:
    """Sink rate over all glides in one flight mode."""

    flight_mode: str | None
    time_s: float
    sink_rate_m_s: float
    sink_rate_se_m_s: float | None


@dataclass(frozen=True, slots=True)
class PolarDifference:
    """How much more the second of two polars sinks at one airspeed, with its 95 % interval; at sea-level density."""

    airspeed_m_s: float
    sink_difference_m_s: float
    low_m_s: float
    high_m_s: float

    @property
    def is_shown(self) -> bool:
        """Whether the interval excludes no difference."""
        return self.low_m_s > 0.0 or self.high_m_s < 0.0


@dataclass(frozen=True, slots=True)
class PolarComparison:
    """How two polars differ over the speeds that both flew, second minus first; named by flight mode or by log."""

    first: str
    second: str
    differences: tuple[PolarDifference, ...]


@dataclass(frozen=True, slots=True)
class GlideReport:
    """Glide apart from the air."""

    sinks: tuple[ModeSink, ...]
    polars: tuple[PolarReport, ...]
    mode_differences: tuple[PolarComparison, ...]


@dataclass(frozen=True, slots=True)
class StartScore:
    """Start height and flight score by the published rules of one class; landing points are not in a log."""

    flight_number: int
    start_height_m: float
    flight_time_s: float
    motor_time_s: float
    motor_runs: int
    time_points: float
    height_deduction: float
    score_without_landing: float
    valid: bool
    remark: str
    rules: str


@dataclass(frozen=True, slots=True)
class SoaringReport:
    """Everything that one log says of the air and the glide."""

    name: str
    sha256: str
    started_at: str | None
    thermals: tuple[Thermal, ...]
    wind: Wind | None
    airspeed_source: AirspeedSource
    searches: tuple[Search, ...]
    lift_passed: tuple[PassedLift, ...]
    glide: GlideReport
    starts: tuple[StartScore, ...]
    thermal_gain_m: float | None
    motor_gain_m: float | None
    lift_share: float | None
    notices: tuple[Notice, ...]
    schema: str = THERMALS_SCHEMA

    @property
    def motor_unknown(self) -> bool:
        """Whether nothing in the log tells a climb under power from one in lift, as `FlightSummary.motor_unknown`."""
        return any(notice.code == "motor-unknown" for notice in self.notices)

    @property
    def motor_by_shape(self) -> bool:
        """Whether motor runs are told from lift by the shape of the climb alone, as `FlightSummary.motor_by_shape`."""
        return any(notice.code == "motor-from-climb" for notice in self.notices)
