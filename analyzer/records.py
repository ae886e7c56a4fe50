"""The plain data that flows from stage to stage, and the results: one name in Python, JSON and CSV.

Result records are frozen dataclasses whose fields, in order, are the keys of the JSON documents. Units are
in the names; ``_se`` marks a standard error (one sigma) of the field before it. A value that the data cannot
give is ``None``, and a `Notice` says why.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    import pandas as pd

SegmentKind = Literal["ground", "motor_run", "glide", "thermal_climb"]
SEGMENT_KINDS: Final[tuple[SegmentKind, ...]] = ("ground", "motor_run", "glide", "thermal_climb")

FLIGHT_SUMMARY_SCHEMA: Final = "climbledger/flight-summary/1"

SOON_ROWS: Final = 1000
"""Most channels have a value within so many rows: only of others is the whole column looked through."""


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that was inferred, converted, dropped, mended or missing; never silent.

    Attributes
    ----------
    code : str
        Stable identifier in kebab-case, for programs.
    message : str
        One sentence for the pilot, with numbers and times where it has them.
    """

    code: str
    message: str


@dataclass(frozen=True)
class Log:
    """A telemetry log at any stage: a frame of named channels, and how it came to be.

    Attributes
    ----------
    name : str
        File name, without folders.
    sha256 : str
        Hash of the file's bytes, lower-case hexadecimal.
    frame : pandas.DataFrame
        Columns as in `analyzer.channels` (further columns of one channel are numbered, "temperature_c_2"), after
        conditioning also those of `analyzer.conditioning`. Range index; `time_s` strictly increasing from 0; missing
        samples are NaN (a sparse table stays sparse until it is conditioned).
    notices : tuple of Notice
        What was inferred, converted, dropped or missing so far.
    steps : tuple of str
        The processing that made it, in order, one phrase a step.
    started_at : datetime, optional
        Wall-clock time of the first sample; aware when the file says which zone, else naive local time.
    place : str
        Where the log says it was recorded, or "".
    headers : dict of str to str
        Canonical column to the header it came from.
    """

    name: str
    sha256: str
    frame: pd.DataFrame
    notices: tuple[Notice, ...] = ()
    steps: tuple[str, ...] = ()
    started_at: datetime | None = None
    place: str = ""
    headers: dict[str, str] = field(default_factory=dict)

    def has(self, column: str) -> bool:
        """Whether the channel is there with at least one value."""
        if column not in self.frame.columns:
            return False
        values = self.frame[column]
        return bool(values.iloc[:SOON_ROWS].notna().any() or values.notna().any())

    def then(self, step: str, frame: pd.DataFrame, notices: Iterable[Notice] = ()) -> Log:
        """Make the next stage's log: new frame, the step noted, notices added."""
        return replace(self, frame=frame, steps=(*self.steps, step), notices=(*self.notices, *notices))


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of the log of one kind (definitions: see the package documentation of `analyzer.segmentation`)."""

    kind: SegmentKind
    start_s: float
    end_s: float
    start_altitude_m: float
    end_altitude_m: float

    @property
    def duration_s(self) -> float:
        """Length of the segment."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True)
class Span:
    """What begins and ends in a log."""

    start_s: float
    end_s: float

    @property
    def duration_s(self) -> float:
        """Its length."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True)
class Flight(Span):
    """From release to standstill; a log may hold several."""


@dataclass(frozen=True)
class Segmentation:
    """The log cut into flights and segments.

    Attributes
    ----------
    flights : tuple of Flight
        In order.
    segments : tuple of Segment
        Cover the log from its first to its last sample, in order, without overlap.
    blips : tuple of int
        Indices in `segments` of motor runs too short to measure (kept, and marked).
    notices : tuple of Notice
        What the cutting could not tell.
    motor_seen : bool
        Whether a channel shows the motor. Where none does, its starts and stops are told from the climb, to about half
        a second.
    """

    flights: tuple[Flight, ...]
    segments: tuple[Segment, ...]
    blips: tuple[int, ...] = ()
    notices: tuple[Notice, ...] = ()
    motor_seen: bool = True

    def of_kind(self, kind: SegmentKind) -> tuple[Segment, ...]:
        """The segments of one kind, in order."""
        return tuple(segment for segment in self.segments if segment.kind == kind)


@dataclass(frozen=True, slots=True)
class LogFacts:
    """What the log itself is."""

    name: str
    sha256: str
    samples: int
    duration_s: float
    sample_rate_hz: float | None
    channels: tuple[str, ...]
    notices: tuple[Notice, ...]
    started_at: str | None = None
    """ISO 8601, where the log says it."""


@dataclass(frozen=True, slots=True)
class MotorRun(Span):
    """What one motor run cost and gave. Energy and charge are the motor's, without the avionics' share."""

    height_gain_m: float | None
    height_gain_m_se: float | None
    zoom_gain_m: float | None
    zoom_gain_m_se: float | None
    climb_rate_m_s: float | None
    climb_rate_m_s_se: float | None
    energy_wh: float | None
    energy_wh_se: float | None
    charge_ah: float | None
    charge_ah_se: float | None
    climb_per_ah_m: float | None
    climb_per_ah_m_se: float | None
    climb_per_wh_m: float | None
    climb_per_wh_m_se: float | None
    mean_power_w: float | None
    max_current_a: float | None
    mean_current_a: float | None
    min_voltage_v: float | None
    mean_rpm: float | None
    climb_efficiency: float | None
    climb_efficiency_se: float | None
    mean_throttle: float | None = None
    mean_voltage_v: float | None = None
    interpolated_charge_share: float | None = None
    blip: bool = False
    """Too short to measure a climb."""
    on_ground: bool = False
    """The model did not leave the ground or the hand during the run."""

    @property
    def is_climb(self) -> bool:
        """Whether it was flown, and long enough to measure."""
        return not (self.blip or self.on_ground)


@dataclass(frozen=True, slots=True)
class Glide(Span):
    """One glide, or the part of it in one flight mode; the zoom after a motor run is left out of the sink rate.

    `sink_rate_m_s` is what was lost per time, lift and sink of the air included; `typical_sink_m_s` is robust to
    bumps, and its standard error tells how far the air's unrest leaves the model's own sink open.
    """

    height_loss_m: float | None
    sink_rate_m_s: float | None
    sink_rate_se_m_s: float | None
    flight_mode: str | None
    mean_airspeed_m_s: float | None = None
    typical_sink_m_s: float | None = None
    typical_sink_se_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class ThermalClimb(Span):
    """One climb in lift."""

    height_gain_m: float | None
    climb_rate_m_s: float | None
    best_20s_climb_m_s: float | None
    entry_altitude_m: float | None
    exit_altitude_m: float | None
    circle_period_s: float | None
    drift_m_s: float | None
    drift_from_deg: float | None
    height_gain_m_se: float | None = None
    climb_rate_m_s_se: float | None = None


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over the whole log; charge and energy with the avionics' share."""

    flight_time_s: float
    motor_time_s: float
    energy_wh: float | None
    charge_ah: float | None
    max_altitude_m: float | None
    motor_gain_m: float | None
    thermal_gain_m: float | None
    lift_share: float | None
    """Thermal gain over thermal and motor gain, 0 to 1."""


@dataclass(frozen=True, slots=True)
class LimitCheck:
    """One limit of the setup beside what was measured; a positive margin is room left, in the limit's unit."""

    name: str
    limit: float
    measured: float | None
    margin: float | None
    ok: bool | None
    unit: str = ""
    at_s: float | None = None
    """When the worst value was logged."""


@dataclass(frozen=True, slots=True)
class PowerSystemMeasures:
    """What the log says of the pack, and the setup's limits."""

    pack_resistance_ohm: float | None
    pack_resistance_ohm_se: float | None
    pack_rest_voltage_v: float | None
    pack_rest_voltage_v_se: float | None
    limits: tuple[LimitCheck, ...] = ()


@dataclass(frozen=True, slots=True)
class MatchItem:
    """One quantity, predicted and measured under the same conditions."""

    quantity: str
    predicted: float | None
    measured: float | None
    unit: str
    difference_percent: float | None
    within_uncertainty: bool | None
    run_start_s: float | None = None
    """Start of the motor run concerned; None for the whole flight."""
    predicted_low: float | None = None
    predicted_high: float | None = None
    measured_se: float | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """What flights say of one value of the setup.

    Attributes
    ----------
    quantity : str
        What it is: "pack resistance", "propeller power"...
    key : str
        The setup's key for it, "pack.internal_resistance_ohm"; "" where there is none.
    stated : float
        As the setup states it, or as modelled from it.
    fitted, low, high : float
        Most probable value and its 95 % interval.
    unit : str
        Of all of them; "" for a plain number, such as a factor on what was modelled.
    verdict : {"differs", "as_stated", "open"}
        Whether the flights contradict the setup, bear it out, or do not tell.
    said : str
        The same in words.
    not_told_from : tuple of str
        Quantities that cannot be told apart from this one in these flights.
    """

    quantity: str
    key: str
    stated: float
    fitted: float
    low: float
    high: float
    unit: str
    verdict: Literal["differs", "as_stated", "open"]
    said: str
    not_told_from: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FlightSummary:
    """Everything the analysis of one log found."""

    log: LogFacts
    flights: tuple[Flight, ...]
    segments: tuple[Segment, ...]
    motor_runs: tuple[MotorRun, ...]
    glides: tuple[Glide, ...]
    thermal_climbs: tuple[ThermalClimb, ...]
    totals: Totals
    power_system: PowerSystemMeasures
    match: tuple[MatchItem, ...] = ()
    schema: str = FLIGHT_SUMMARY_SCHEMA
    glide_parts: tuple[Glide, ...] = ()
    """The stretches of the glides that were flown in one flight mode, where modes are logged and change in a glide."""
    findings: tuple[Finding, ...] = ()
    """What the climbs say of the setup's values, where they were held against its prediction."""

    @property
    def climbs(self) -> tuple[MotorRun, ...]:
        """The motor runs that were flown and are long enough to measure."""
        return tuple(run for run in self.motor_runs if run.is_climb)

    @property
    def motor_unknown(self) -> bool:
        """Whether nothing in the log tells a climb under power from one in lift: the motor may be part of each."""
        return not self.motor_runs and any(notice.code == "motor-unknown" for notice in self.log.notices)

    @property
    def motor_by_shape(self) -> bool:
        """Whether motor runs are told from lift by the shape of the climb alone, for want of a channel of the motor."""
        return any(notice.code == "motor-from-climb" for notice in self.log.notices)

    @property
    def single_mode_glides(self) -> tuple[Glide, ...]:
        """Glides and parts of glides, each in one flight mode, in order; no time is in two of them."""

        def is_divided(glide: Glide) -> bool:
            return any(glide.start_s <= part.start_s and part.end_s <= glide.end_s for part in self.glide_parts)

        whole = (glide for glide in self.glides if not is_divided(glide))
        return tuple(sorted((*whole, *self.glide_parts), key=lambda glide: glide.start_s))

    def with_notices(self, notices: Iterable[Notice]) -> FlightSummary:
        """Return the summary with further notices on its log."""
        return replace(self, log=replace(self.log, notices=(*self.log.notices, *notices)))
