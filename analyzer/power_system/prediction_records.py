"""What a prediction says: frozen records whose fields, in order, are the keys of its JSON document.

A field of type `Estimate` becomes three keys: its name, and the name with ``_low`` and ``_high`` for the 95 %
interval. Units are in the names; ``rpm`` is the propeller's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from analyzer.constants import NORMAL_95

if TYPE_CHECKING:
    from analyzer.power_system.propeller_curves import Tier
    from analyzer.records import Notice

PREDICTION_SCHEMA: Final = "climbledger/prediction/1"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A predicted value and its 95 % interval."""

    value: float
    low: float
    high: float

    @property
    def half_width(self) -> float:
        """Half of the interval's width."""
        return (self.high - self.low) / 2.0

    @property
    def standard_error(self) -> float:
        """Of a normal distribution whose 95 % interval is as wide."""
        return self.half_width / NORMAL_95


@dataclass(frozen=True, slots=True)
class StaticRun:
    """Full throttle on the ground, standing still, with a full pack."""

    rpm: Estimate
    current_a: Estimate
    voltage_v: Estimate
    thrust_n: Estimate
    shaft_power_w: Estimate
    electrical_power_w: Estimate
    motor_efficiency: Estimate
    motor_heat_w: Estimate
    pitch_speed_m_s: Estimate
    """Propeller speed times pitch: what the trade calls it; level flight is slower."""


@dataclass(frozen=True, slots=True)
class Climb:
    """The best steady climb at one state of charge: at the airspeed at which the model then climbs fastest."""

    state_of_charge: float
    airspeed_m_s: Estimate
    climb_rate_m_s: Estimate
    climb_angle_deg: Estimate
    climb_per_ah_m: Estimate
    climb_per_wh_m: Estimate
    current_a: Estimate
    voltage_v: Estimate
    rpm: Estimate
    thrust_n: Estimate
    shaft_power_w: Estimate
    electrical_power_w: Estimate
    propeller_efficiency: Estimate
    motor_efficiency: Estimate
    motor_heat_w: Estimate


@dataclass(frozen=True, slots=True)
class LevelFlight:
    """Straight and level at full throttle."""

    top_speed_m_s: Estimate
    current_a: Estimate
    rpm: Estimate


@dataclass(frozen=True, slots=True)
class Cruise:
    """Straight and level at an economical airspeed, at part throttle."""

    airspeed_m_s: float
    throttle: Estimate
    current_a: Estimate
    rpm: Estimate


@dataclass(frozen=True, slots=True)
class PackYield:
    """What one pack gives when it is used for climbs alone."""

    usable_charge_ah: float
    climb_height_m: float
    total_height_m: Estimate
    climbs: Estimate
    """How many climbs to that height."""


@dataclass(frozen=True, slots=True)
class GlideWithPropeller:
    """Least sink rate with the propeller folded, windmilling and stopped by the brake."""

    folded_sink_m_s: float
    windmilling_sink_m_s: float
    braked_sink_m_s: float


@dataclass(frozen=True, slots=True)
class PredictedLimit:
    """One limit of the setup beside the prediction; a positive margin is room left, in the limit's unit.

    Attributes
    ----------
    name, unit, limit : str, str, float
        Of the limit.
    predicted : Estimate
        The worst value in the whole envelope.
    margin : float
        Room left by the value itself.
    odds_beyond : float
        Probability that the real value is beyond the limit, 0 to 1, by the interval.
    ok : bool
        Whether the value itself is inside.
    where : str
        Where in the envelope the worst value is.
    airspeed_m_s : float, optional
        At which airspeed, where that is in flight.
    """

    name: str
    unit: str
    limit: float
    predicted: Estimate
    margin: float
    odds_beyond: float
    ok: bool
    where: str
    airspeed_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class PredictedPoint:
    """One airspeed at the given throttle; climb and drag are None without an airframe, or below the stall."""

    airspeed_m_s: float
    rpm: float
    current_a: Estimate
    thrust_n: Estimate
    drag_n: float | None
    shaft_power_w: float
    propeller_efficiency: float
    climb_rate_m_s: Estimate | None


@dataclass(frozen=True, slots=True)
class PropellerPrediction:
    """Everything predicted for one propeller.

    Attributes
    ----------
    propeller : str
        "14x8".
    tier, basis : str
        What its coefficients come from, for programs and in words.
    reasons : tuple of str
        Why this propeller is no answer; empty where it is one.
    binds_first : str, optional
        Name of the limit with the least room for its size.
    """

    propeller: str
    tier: Tier
    basis: str
    reasons: tuple[str, ...]
    static: StaticRun
    best_climb: Climb | None
    first_climb: Climb | None
    last_climb: Climb | None
    level: LevelFlight | None
    cruise: Cruise | None
    pack: PackYield | None
    glide: GlideWithPropeller | None
    limits: tuple[PredictedLimit, ...]
    binds_first: str | None
    points: tuple[PredictedPoint, ...]

    @property
    def within_limits(self) -> bool:
        """Whether every limit is kept by the predicted value itself."""
        return all(limit.ok for limit in self.limits)


@dataclass(frozen=True, slots=True)
class Prediction:
    """A setup's prediction for one or more propellers."""

    setup: str
    throttle: float
    density_kg_m3: float
    propellers: tuple[PropellerPrediction, ...]
    notices: tuple[Notice, ...] = ()
    schema: str = PREDICTION_SCHEMA
