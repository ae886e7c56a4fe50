"""What the logs say of each value of the setup, in numbers and in the pilot's words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import NORMAL_95
from analyzer.power_system.calibrated import candidates_of, own_names
from analyzer.power_system.coefficients import setup_propeller
from analyzer.power_system.flown_shape import levels
from analyzer.power_system.motor import RAD_S_PER_RPM
from analyzer.power_system.variants import PARAMETERS
from analyzer.records import Finding

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Literal

    from analyzer.arrays import Array
    from analyzer.match.estimate import Posterior
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.belief import Belief
    from analyzer.power_system.system import PowerSystem
    from analyzer.setup_file import Setup

    Verdict = Literal["differs", "as_stated", "open"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One value that logs can speak of: a sum of fitted logarithms.

    Attributes
    ----------
    name, unit : str
        As a finding states them.
    sums : dict of str to float
        How much of each fitted parameter is in its logarithm; "power" and "thrust" are the propeller's own.
    said : callable
        Stated and fitted value to the words for one that differs.
    """

    name: str
    unit: str
    sums: Mapping[str, float]
    said: Callable[[float, float], str]


def _more(ratio: float) -> str:
    """A ratio in words: "11 % more"."""
    share = 100.0 * (ratio - 1.0)
    return f"{abs(share):.0f} % {'more' if share >= 0.0 else 'less'}"


def _than_setup(ratio: float) -> str:
    """A ratio to the setup's value in words."""
    return "twice the setup's" if 1.85 <= ratio <= 2.2 else f"{_more(ratio)} than the setup's"


NOTABLE: Final = 1.3
"""Factor on a pack's resistance from which its age and warmth are worth a word."""


def _pack(stated: float, fitted: float) -> str:
    ratio = fitted / stated
    why = ": an old or cold pack" if ratio > NOTABLE else ": a better or warmer pack" if ratio < 1.0 / NOTABLE else ""
    return f"Over a climb the pack has {1000.0 * fitted:.0f} milliohm, {_than_setup(ratio)}{why}"


ANOTHER: Final = 1.5
"""Factor on a propeller's power that is hardly the setup's: makes and sizes differ by a sixth or so (`InputSpread`)."""


def _propeller(_: float, ratio: float) -> str:
    why = "" if 1.0 / ANOTHER < ratio < ANOTHER else ": perhaps another than the setup's"
    return f"The propeller absorbs {_more(ratio)} power than modelled{why}"


WEIGHED: Final = 1.1
"""Factor on a propeller's thrust for its power that is hardly its own (`InputSpread.make_efficiency`); a model of
another mass than stated climbs alike, and is soon weighed."""


def _thrust(_: float, ratio: float) -> str:
    own = 1.0 / WEIGHED < ratio < WEIGHED
    why = "" if own else f", or the model weighs {'less' if ratio > 1.0 else 'more'} than stated: weigh it"
    return f"The propeller gives {_more(ratio)} thrust for its power than modelled{why}"


KEYS: Final = {
    "speed_constant": "motor.kv_rpm_per_v",
    "motor_resistance": "motor.resistance_ohm",
    "pack_resistance": "pack.internal_resistance_ohm",
    "gearbox_efficiency": "gearbox.efficiency",
    "zero_lift_drag": "airframe.zero_lift_drag_coefficient",
}
"""The setup's key for a parameter, where it has one."""

QUANTITIES: Final = (
    Quantity("propeller power", "", {"power": 1.0}, _propeller),
    Quantity("propeller efficiency", "", {"thrust": 1.0, "power": -1.0}, _thrust),
    Quantity("pack resistance", "ohm", {"pack_resistance": 1.0}, _pack),
    Quantity(
        "speed constant",
        "rpm/V",
        {"speed_constant": 1.0},
        lambda stated, found: f"Speed constant {found:.0f} rpm/V, {_than_setup(found / stated)}",
    ),
    Quantity(
        "winding resistance",
        "ohm",
        {"motor_resistance": 1.0},
        lambda stated, found: f"Winding resistance {1000.0 * found:.1f} milliohm, {_than_setup(found / stated)}",
    ),
    Quantity(
        "gearbox efficiency",
        "",
        {"gearbox_efficiency": 1.0},
        lambda stated, found: f"The gearbox passes {100.0 * found:.1f} % of the power, not {100.0 * stated:.1f} %",
    ),
    Quantity(
        "zero-lift drag",
        "",
        {"zero_lift_drag": 1.0},
        lambda stated, found: f"Zero-lift drag coefficient {found:.4f}, {_than_setup(found / stated)}",
    ),
)


def findings_of(setup: Setup, system: PowerSystem, found: Posterior, tuning: MatchTuning) -> tuple[Finding, ...]:
    """What an estimate says of each value of the setup, those that differ first.

    Parameters
    ----------
    setup : Setup
        As it was when the climbs were flown.
    system : PowerSystem
        Its models.
    found : Posterior
        From the climbs.
    tuning : MatchTuning
        When a value counts as told, and when as different.
    """
    propeller = setup_propeller(setup).name
    asked = [one for one in QUANTITIES if one.name != "gearbox efficiency" or setup.gearbox is not None]
    shares, usual = (_shares(asked, belief, propeller) for belief in (found.belief, found.usual))
    now, before = shares @ found.belief.covariance @ shares.T, usual @ found.usual.covariance @ usual.T
    spread, prior_spread = np.sqrt(np.diag(now)), np.sqrt(np.diag(before))
    shift = shares @ found.belief.mean + _offsets(asked, setup, system, found)
    stated = stated_values(system)
    items = []
    for row, one in enumerate(asked):
        told = spread[row] <= tuning.told_share * prior_spread[row]
        apart = abs(shift[row]) > tuning.shown * spread[row]
        verdict: Verdict = "open" if not told else ("differs" if apart else "as_stated")
        alike = _alike(row, asked, now, tuning)
        items.append((abs(shift[row]) / spread[row], _finding(one, stated, shift[row], spread[row], verdict, alike)))
    order = {"differs": 0, "as_stated": 1, "open": 2}
    sorted_items = sorted(items, key=lambda pair: (order[pair[1].verdict], -pair[0]))
    return tuple(_with_gear(item, setup) for _, item in sorted_items)


def _with_gear(finding: Finding, setup: Setup) -> Finding:
    """Where rpm is the propeller's, a gear a little wrong looks like a speed constant a little wrong."""
    gear = setup.gearbox
    is_told = finding.quantity == "speed constant" and finding.verdict == "differs"
    if gear is None or not is_told or setup.telemetry.rpm_measured_at != "propeller":
        return finding
    right = gear.ratio * finding.stated / finding.fitted
    return replace(finding, said=f"{finding.said.rstrip('.')}; or a gear of {right:.2g}:1 instead of {gear.ratio:g}:1.")


def stated_values(system: PowerSystem) -> dict[str, float]:
    """What the setup states, or what is assumed where it states nothing, by parameter."""
    values = {
        "pack_resistance": system.pack.resistance_ohm,
        "speed_constant": np.asarray(system.motor.speed_constant_rad_s_v) / RAD_S_PER_RPM,
        "motor_resistance": system.motor.resistance_ohm,
        "gearbox_efficiency": system.gearbox.efficiency,
        "zero_lift_drag": system.airframe.zero_lift_drag_coefficient if system.airframe is not None else np.nan,
    }
    return {name: float(np.asarray(value)) for name, value in values.items()}


def _shares(asked: list[Quantity], belief: Belief, propeller: str) -> Array:
    """How much of each of a belief's quantities is in the logarithm of each one asked for."""
    own = dict(zip(PARAMETERS[:2], own_names(propeller), strict=True))
    shares = np.zeros((len(asked), len(belief.names)))
    for row, one in enumerate(asked):
        for name, share in one.sums.items():
            shares[row, belief.names.index(own.get(name, name))] = share
    return shares


def _offsets(asked: list[Quantity], setup: Setup, system: PowerSystem, found: Posterior) -> Array:
    """How far what the factors belong to is from what the setup's prediction says without these logs."""
    point = (found.advance_ratio, found.speed_rev_s, system.air.kinematic_viscosity_m2_s)
    predicted = candidates_of(setup, system, (setup_propeller(setup),))
    offsets = np.atleast_2d(predicted.calibration.offsets)[0]
    away = levels(found.prior.curves, point) - levels(predicted.curves[0], point)
    by_name = dict(zip(PARAMETERS, -offsets, strict=True))
    by_name["power"] += away[0]
    by_name["thrust"] += away[1]
    return np.array([sum(share * by_name[name] for name, share in one.sums.items()) for one in asked])


def _alike(row: int, asked: list[Quantity], covariance: Array, tuning: MatchTuning) -> tuple[str, ...]:
    """Names of the values that cannot be told apart from this one."""
    spread = np.sqrt(np.diag(covariance))
    correlation = np.abs(covariance[row]) / (spread[row] * spread)
    return tuple(one.name for other, one in enumerate(asked) if other != row and correlation[other] > tuning.entangled)


def _finding(
    one: Quantity, stated: Mapping[str, float], shift: float, spread: float, verdict: Verdict, alike: tuple[str, ...]
) -> Finding:
    base = stated.get(next(iter(one.sums)), 1.0)
    reach = NORMAL_95 * spread
    fitted, low, high = (base * float(np.exp(shift + way * reach)) for way in (0.0, -1.0, 1.0))
    said = _said(one, base, (fitted, low, high), verdict)
    return Finding(
        one.name, KEYS.get(next(iter(one.sums)), ""), base, fitted, low, high, one.unit, verdict, said, alike
    )


def _said(one: Quantity, stated: float, found: tuple[float, float, float], verdict: Verdict) -> str:
    fitted, low, high = found
    if verdict == "open":
        return f"These climbs do not tell the {one.name}."
    interval = _interval(one, stated, low, high)
    if verdict == "as_stated":
        return f"The {one.name} is as {'modelled' if stated == 1.0 else 'stated'}, within {interval}."
    return f"{one.said(stated, fitted)} ({interval})."


def _interval(one: Quantity, stated: float, low: float, high: float) -> str:
    """The 95 % interval: in milliohms, or in per cent of what was stated."""
    if one.unit == "ohm":
        return f"{1000.0 * low:.3g} to {1000.0 * high:.3g} milliohm"
    if one.unit:
        return f"{low:.0f} to {high:.0f} {one.unit}"
    return f"{100.0 * (low / stated - 1.0):+.0f} to {100.0 * (high / stated - 1.0):+.0f} %"
