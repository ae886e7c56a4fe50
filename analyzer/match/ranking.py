"""Which propeller to try next: candidates of a prediction in the order of an aim, those that overload left out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from analyzer.errors import NoAnswerError, OptionError
from analyzer.power_system.propeller import parse_propeller, stated_propeller
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from analyzer.power_system.prediction_records import (
        Estimate,
        PredictedLimit,
        Prediction,
        PropellerPrediction,
    )
    from analyzer.setup_file import Setup

RANKING_SCHEMA: Final = "climbledger/ranking/1"

AIMS: Final[dict[str, Callable[[PropellerPrediction], Estimate | None]]] = {
    "climb_per_ah": lambda one: one.best_climb.climb_per_ah_m if one.best_climb is not None else None,
    "climb_per_wh": lambda one: one.best_climb.climb_per_wh_m if one.best_climb is not None else None,
    "climb_rate": lambda one: one.best_climb.climb_rate_m_s if one.best_climb is not None else None,
    "level_speed": lambda one: one.level.top_speed_m_s if one.level is not None else None,
    "climbs_per_pack": lambda one: one.pack.climbs if one.pack is not None else None,
}
"""What a propeller can be chosen for; of each, more is better."""

ACCEPTED_RISK: Final = 0.05
"""Odds of passing a limit up to which a candidate is one to try first: what a 95 % interval leaves out; no source."""


@dataclass(frozen=True, slots=True)
class Aim:
    """What is wanted: one or several of `AIMS`, each with its share; the shares add up to 1."""

    shares: tuple[tuple[str, float], ...]

    @property
    def words(self) -> str:
        """The aim as a pilot reads it."""
        names = [
            (name.replace("_", " ").replace(" ah", " Ah").replace(" wh", " Wh"), share) for name, share in self.shares
        ]
        if len(names) == 1:
            return names[0][0]
        return ", ".join(f"{100.0 * share:.0f} % {name}" for name, share in names)


@dataclass(frozen=True, slots=True)
class RankedPropeller:
    """One candidate that keeps all limits.

    Attributes
    ----------
    place : int
        From 1.
    propeller : str
        "14x8".
    gain_percent : float
        How much better than the reference it serves the aim: by the weighted geometric mean of what is aimed at.
    climb_rate_m_s, climb_per_ah_m, top_speed_m_s, climbs : Estimate or None
        What is to be expected of it.
    tightest : PredictedLimit
        The limit that is most likely to be passed, with the room below it and the odds that there is none.
    flown : bool
        Whether its own logs are in the setup's calibration.
    """

    place: int
    propeller: str
    gain_percent: float
    climb_rate_m_s: Estimate | None
    climb_per_ah_m: Estimate | None
    top_speed_m_s: Estimate | None
    climbs: Estimate | None
    tightest: PredictedLimit
    flown: bool


@dataclass(frozen=True, slots=True)
class ExcludedPropeller:
    """One candidate that is none, and why."""

    propeller: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FlownClimb:
    """What a propeller gave in its logged climbs, as the setup's calibration keeps it."""

    propeller: str
    climb_per_ah_m: float
    climb_per_ah_se_m: float | None
    current_a: float | None


@dataclass(frozen=True)
class Ranking:
    """Candidates in order.

    Attributes
    ----------
    aim : str
        What they are ranked by.
    reference : str
        The propeller that the gains are over.
    ranked : tuple of RankedPropeller
        The best first.
    excluded : tuple of ExcludedPropeller
        Those that pass a limit, or cannot fly the model.
    flown : tuple of FlownClimb
        What was measured of those that were flown.
    own : str or None
        The setup's own propeller, where it is among the candidates.
    """

    aim: str
    reference: str
    ranked: tuple[RankedPropeller, ...]
    excluded: tuple[ExcludedPropeller, ...]
    flown: tuple[FlownClimb, ...]
    schema: str = RANKING_SCHEMA
    own: str | None = None

    @property
    def first_to_try(self) -> RankedPropeller | None:
        """The best of those whose odds of passing a limit are accepted; None where no candidate's are."""
        return next((one for one in self.ranked if one.tightest.odds_beyond <= ACCEPTED_RISK), None)


def parse_aim(text: str) -> Aim:
    """Read an aim: "climb_per_ah", or a trade such as "climb_per_ah=2,level_speed=1".

    Raises
    ------
    OptionError
        When a part is none of `AIMS`, is named twice, or its weight is not above 0.

    Examples
    --------
    >>> parse_aim("climb_per_ah=3,level_speed=1").shares
    (('climb_per_ah', 0.75), ('level_speed', 0.25))
    """
    weights: dict[str, float] = {}
    for part in text.split(","):
        name, _, weight = (piece.strip() for piece in part.partition("="))
        if name not in AIMS or name in weights:
            raise OptionError(f"'{name}' is no aim", source="--aim", remedy=f"use {', '.join(AIMS)}, each once")
        weights[name] = _weight(weight)
    total = sum(weights.values())
    return Aim(tuple((name, weight / total) for name, weight in weights.items()))


def _weight(text: str) -> float:
    try:
        weight = float(text or "1")
    except ValueError:
        weight = math.nan
    if not 0.0 < weight < 1e6:
        raise OptionError(f"'{text}' is no weight", source="--aim", remedy="write name=number, the number above 0")
    return weight


def rank(prediction: Prediction, aim: Aim, setup: Setup, max_diameter_in: float | None = None) -> Ranking:
    """Put the propellers of a prediction in the order of an aim.

    Parameters
    ----------
    prediction : Prediction
        Of the candidates; the setup's own propeller among them is the reference, else the best candidate is.
    aim : Aim
        What is wanted.
    setup : Setup
        The setup predicted for: its own propeller, and those that were flown.
    max_diameter_in : float, optional
        Largest diameter that fits the model.

    Raises
    ------
    NoAnswerError
        When no candidate is left.

    Notes
    -----
    A candidate is left out when its predicted value passes a limit of the setup, or when it cannot fly the model. One
    that stays inside is no safe one: its tightest limit states the odds that the real value passes it.
    """
    flown = _flown(setup)
    excluded, fit = [], []
    for one in prediction.propellers:
        reasons = _reasons(one, aim, max_diameter_in)
        if reasons:
            excluded.append(ExcludedPropeller(one.propeller, reasons))
        else:
            fit.append(one)
    if not fit:
        raise _none_left(prediction, excluded)
    values = {one.propeller: _logarithm(one, aim) for one in prediction.propellers}
    best_first = sorted(fit, key=lambda one: -values[one.propeller])
    own = _own(setup, values)
    reference = own or best_first[0].propeller
    names = {one.propeller for one in flown}
    ranked = tuple(
        _ranked(place, one, 100.0 * math.expm1(values[one.propeller] - values[reference]), one.propeller in names)
        for place, one in enumerate(best_first, start=1)
    )
    return Ranking(aim.words, reference, ranked, tuple(excluded), flown, own=own)


def _none_left(prediction: Prediction, excluded: list[ExcludedPropeller]) -> NoAnswerError:
    """What the setup lacks, else why the first was left out."""
    lacking = next((notice.message for notice in prediction.notices if notice.code == "airframe-missing"), "")
    first = excluded[0]
    why = f"{lacking[:1].lower()}{lacking[1:].rstrip('.')}" or f"{first.propeller}, for one: {'; '.join(first.reasons)}"
    return NoAnswerError(f"of {counted(len(excluded), 'candidate')} none will do", source="propellers", remedy=why)


def _flown(setup: Setup) -> tuple[FlownClimb, ...]:
    section = setup.calibration
    return tuple(
        FlownClimb(one.propeller, one.climb_per_ah_m, one.climb_per_ah_se_m, one.current_a)
        for one in (section.flown if section is not None else ())
        if one.climb_per_ah_m is not None
    )


def _reasons(one: PropellerPrediction, aim: Aim, max_diameter_in: float | None) -> tuple[str, ...]:
    """Why a propeller is no candidate; empty where it is one."""
    reasons = list(one.reasons)
    if max_diameter_in is not None and parse_propeller(one.propeller).diameter_in > max_diameter_in:
        reasons.append(f"larger than {max_diameter_in:g} inch")
    passed = [
        f"{limit.name} ({limit.predicted.value:.3g} against {limit.limit:g} {limit.unit})"
        for limit in one.limits
        if not limit.ok
    ]
    if passed:
        reasons.append(f"over the limit: {'; '.join(passed)}")
    if not reasons and not math.isfinite(_logarithm(one, aim)):
        reasons.append(f"no {aim.words} is predicted for it")
    return tuple(reasons)


def _logarithm(one: PropellerPrediction, aim: Aim) -> float:
    """Logarithm of the weighted geometric mean of what is aimed at; minus infinity where a part is missing."""
    values = [(AIMS[name](one), share) for name, share in aim.shares]
    if any(value is None or value.value <= 0.0 for value, _ in values):
        return -math.inf
    return sum(share * math.log(value.value) for value, share in values if value is not None)


def _own(setup: Setup, values: Mapping[str, float]) -> str | None:
    """The setup's own propeller, where its aim is predicted."""
    own = stated_propeller(setup)
    return own.name if own is not None and math.isfinite(values.get(own.name, -math.inf)) else None


def _ranked(place: int, one: PropellerPrediction, gain_percent: float, flown: bool) -> RankedPropeller:
    return RankedPropeller(
        place=place,
        propeller=one.propeller,
        gain_percent=gain_percent,
        climb_rate_m_s=AIMS["climb_rate"](one),
        climb_per_ah_m=AIMS["climb_per_ah"](one),
        top_speed_m_s=AIMS["level_speed"](one),
        climbs=AIMS["climbs_per_pack"](one),
        tightest=max(one.limits, key=lambda limit: limit.odds_beyond),
        flown=flown,
    )
