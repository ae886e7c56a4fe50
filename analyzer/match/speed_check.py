"""An rpm that contradicts the speed constant: which gear, pole pairs or blades would explain it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.motor import speed_rad_s

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.match.steady import SteadyRun
    from analyzer.power_system.system import PowerSystem
    from analyzer.setup_file import Setup

CONTRADICTS: Final = 0.12
"""Relative difference of the logged rpm from Kv (V - I R) that no speed constant of a data sheet is off by."""

AGREES: Final = 0.04
"""A simple factor explains it when what is left is no more than this: data sheets and winding temperature."""

POLE_PAIRS: Final = ((1, 2, 3), (5, 6, 7, 10, 11, 12, 14))
"""Of common motors with an inner rotor, and with an outer one (common practice, no source)."""

MULTIPLES: Final = range(2, 15)
"""Whole factors: electrical turns that were not divided at all, or divided twice."""

MOST_NAMED: Final = 3


@dataclass(frozen=True, slots=True)
class SpeedContradiction:
    """Logged motor speed over the one that voltage and current allow, and what would explain it."""

    factor: float
    explanations: tuple[str, ...]

    def said(self, kv_rpm_per_v: float) -> str:
        """One sentence for the pilot."""
        found = f"The logged rpm is {self.factor:.3g} times what voltage and current allow"
        if not self.explanations:
            return f"{found}: with a right rpm the motor would have {kv_rpm_per_v * self.factor:.0f} rpm/V."
        return f"{found}; this would explain it: {'; or '.join(self.explanations)}. The rpm is left out."


def speed_contradiction(setup: Setup, system: PowerSystem, runs: Sequence[SteadyRun]) -> SpeedContradiction | None:
    """Hold the logged rpm against the motor's own equation, w = Kv (V - I R), in climbs at full throttle.

    Parameters
    ----------
    setup : Setup
        For the gear, and where rpm is said to be measured.
    system : PowerSystem
        Its motor and controller.
    runs : sequence of SteadyRun
        Those without rpm, current, voltage or full throttle say nothing.

    Returns
    -------
    SpeedContradiction or None
        None where rpm agrees, or nothing can be said.
    """
    factors = [factor for run in runs if (factor := _factor(system, run)) is not None]
    if not factors:
        return None
    factor = float(np.median(factors))
    if abs(math.log(factor)) <= CONTRADICTS:
        return None
    return SpeedContradiction(factor, _explanations(factor, setup))


def _factor(system: PowerSystem, run: SteadyRun) -> float | None:
    """Logged motor speed over the one that the motor's equation gives."""
    if run.current_a is None or run.voltage_v is None or run.speed_rev_s is None or not run.is_full_throttle:
        return None
    if run.speed_rev_s.value <= 0.0:
        return None
    at_motor_v = run.voltage_v.value - system.controller_resistance_ohm * run.current_a.value
    allowed = float(np.asarray(speed_rad_s(system.motor, at_motor_v, run.current_a.value)))
    logged = 2.0 * math.pi * run.speed_rev_s.value * float(np.asarray(system.gearbox.ratio))
    return logged / allowed if allowed > 0.0 else None


def _explanations(factor: float, setup: Setup) -> tuple[str, ...]:
    """What explains a factor, the simplest first."""
    gear = setup.gearbox.ratio if setup.gearbox is not None else 1.0
    at = setup.telemetry.rpm_measured_at
    found: list[str] = []
    if gear != 1.0:
        if at == "motor" and _is(factor, 1.0 / gear):
            found.append('the rpm is the propeller\'s: [telemetry] rpm_measured_at = "propeller"')
        if at == "propeller" and _is(factor, gear):
            found.append('the rpm is the motor\'s: [telemetry] rpm_measured_at = "motor"')
    if at == "propeller":
        found += [
            f"the sensor counts {said}"
            for share, said in (
                (1.5, "three blades as if there were two"),
                (2 / 3, "two blades as if there were three"),
            )
            if _is(factor, share)
        ]
        if 0.2 < gear / factor < 30.0:
            found.append(f"a gear of {gear / factor:.2g}:1 instead of {gear:g}:1")
    found += _pole_pairs(factor)
    return tuple(found[:MOST_NAMED])


def _pole_pairs(factor: float) -> list[str]:
    """Settings of the pole pairs that multiply the rpm by a factor, true pairs over set pairs: the closest one."""
    ratios = {Fraction(true, given) for group in POLE_PAIRS for true in group for given in group}
    ratios |= {Fraction(times) for times in MULTIPLES} | {Fraction(1, times) for times in MULTIPLES}
    ratio = min(ratios, key=lambda one: abs(math.log(factor / float(one))))
    if not _is(factor, float(ratio)):
        return []
    if ratio.denominator == 1:
        return [f"the pole pairs are set {ratio.numerator} times too low"]
    if ratio.numerator == 1:
        return [f"the pole pairs are set {ratio.denominator} times too high"]
    return [
        f"the pole pairs are set to {ratio.denominator} where {ratio.numerator} would be right, or in that proportion"
    ]


def _is(factor: float, simple: float) -> bool:
    return abs(math.log(factor / simple)) <= AGREES
