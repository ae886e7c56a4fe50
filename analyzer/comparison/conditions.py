"""Correction to common mass, air density and pack voltage.

First-order power system: a motor of speed ``n = Kv (V - I R)``, a propeller of torque ``Q ~ rho n^2``, hence
``I ~ rho n^2``. With the sag ``x = I R / (V - I R)``,
differentiating gives, for small changes of the unloaded voltage V and the air density rho,

    n ~ V^a rho^(-x b),   I ~ V^(2a) rho^b,   shaft power ~ rho n^3 ~ V^(3a) rho^((1-x) b),
    a = (1 + x) / (1 + 2 x),   b = 1 / (1 + 2 x).

The power wins height against weight and sink: ``climb = eta P / (m g) - sink``, ``sink ~ sqrt(m / rho)``. (Equations
derived here from the first-order motor and the propeller's similarity laws; propulsive efficiency taken as constant.)

A climb keeps its lift coefficient, not its advance ratio: with less speed of the motor the propeller loads it more, and
at a better efficiency. Which of the two wins hangs on propeller and airspeed. With wind-tunnel propellers at 0.8 to 1
times the usual airspeed of a climb the correction errs by nothing in the mean, and by `ComparisonTuning`'s exponents
(`tests/comparison/test_conditions.py`): an error that all runs share, and that does not cancel between groups flown in
different conditions.

Valid for changes of some 20 % in voltage, density or mass (`ComparisonTuning.widest_correction`).

What no log shows of the altimeter's lag is the same in all runs. A lag that is wrong by d puts the height at the
motor's stop off by d times the climb rate, and so the gain of a run of T seconds off by the share d/T, whatever the
climb rate. It cancels from the ratio of two propellers whose runs are equally long, and from nothing else.

A launch begins in the hand with the motor on, for a time that pilots choose and no log shows. It lacks the height of
that time: an error of the same form, in launches alone, that cancels where two propellers were launched equally often.
"""

from __future__ import annotations

import math
import statistics
from typing import TYPE_CHECKING, Final

from analyzer.comparison.records import Reference
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.comparison.flights import Candidate, Conditions
    from analyzer.comparison.metrics import Metric
    from analyzer.comparison.tuning import ComparisonTuning

_PART_OF: Final = {
    "airframe": ("mass_kg",),
    "pack": ("mass_kg", "pack_voltage_v"),
    "setup": ("mass_kg", "pack_voltage_v"),
}
"""What belongs to the thing that is compared is not corrected away."""
_NAMES: Final = {"mass_kg": "mass", "air_density_kg_m3": "air density", "pack_voltage_v": "pack voltage"}
_GLIDE_CONDITIONS: Final = ("mass_kg", "air_density_kg_m3")


def common_conditions(candidates: Sequence[Candidate], by: str, metric: Metric) -> tuple[Reference, tuple[Notice, ...]]:
    """Choose the conditions that all runs are corrected to: the median of what they were flown in.

    Of an even number the lower one, for that was flown: half-way between two packs nothing was.

    Parameters
    ----------
    candidates : sequence of Candidate
        What is compared.
    by : str
        What it is compared by.
    metric : Metric
        What is compared.

    Returns
    -------
    Reference
        None for what is not known of every run, and for what is part of the thing compared.
    tuple of Notice
        What is not corrected, and why.
    """
    wanted = _GLIDE_CONDITIONS if metric.source == "glides" else tuple(_NAMES)
    chosen: dict[str, float] = {}
    notices = []
    for key in wanted:
        if key in _PART_OF.get(by, ()):
            notices.append(_not_corrected(key, f"it is part of the {by}"))
            continue
        values = [getattr(candidate.conditions, key) for candidate in candidates]
        known = [value for value in values if value is not None]
        if len(known) == len(values):
            chosen[key] = statistics.median_low(known)
        elif known:
            missing = len(values) - len(known)
            notices.append(_not_corrected(key, f"it is not known of {missing} of {len(values)} {metric.what}s"))
        else:
            notices.append(_not_corrected(key, "no setup or log gives it"))
    return Reference(**chosen), tuple(notices)


def _not_corrected(key: str, why: str) -> Notice:
    return Notice("not-corrected", f"Values are not corrected to a common {_NAMES[key]}: {why}.")


def corrected(
    metric: Metric,
    value: float,
    conditions: Conditions,
    reference: Reference,
    *,
    climb_rate_m_s: float | None,
    default_sag: float,
) -> float:
    """Convert a value as flown to the common conditions.

    Parameters
    ----------
    metric : Metric
        What the value is.
    value : float
        As flown.
    conditions : Conditions
        Flown in.
    reference : Reference
        To convert to; what is None there is left as flown.
    climb_rate_m_s : float or None
        Of the same run, for the share of the power that only holds the model up; None takes the sink as zero.
    default_sag : float
        Where the conditions do not know it.
    """
    mass = _ratio(reference.mass_kg, conditions.mass_kg)
    density = _ratio(reference.air_density_kg_m3, conditions.air_density_kg_m3)
    voltage = _ratio(reference.pack_voltage_v, conditions.pack_voltage_v)
    sink = math.sqrt(mass / density)
    if metric.key == "sink_rate_m_s":
        return value * sink
    sag = conditions.sag if conditions.sag is not None else default_sag
    b = 1.0 / (1.0 + 2.0 * sag)
    a = (1.0 + sag) * b
    current = math.pow(voltage, 2.0 * a) * math.pow(density, b)
    if metric.key == "mean_current_a":
        return value * current
    power = math.pow(voltage, 3.0 * a) * math.pow(density, (1.0 - sag) * b) / mass
    climb = _climb_factor(climb_rate_m_s, conditions.sink_rate_m_s, power, sink)
    costs = {
        "climb_rate_m_s": 1.0,
        "climb_per_ah_m": current,
        "climb_per_wh_m": current * voltage,
        "climb_efficiency": current * voltage / mass,
    }
    return value * climb / costs[metric.key]


def shared_error(metric: Metric, value: float, duration_s: float, error_s: float) -> float:
    """Standard error of a run's value that runs have in common: ``value error_s / duration_s``."""
    return value * error_s / duration_s if metric.is_of_height and duration_s > 0.0 else 0.0


def correction_errors(
    metric: Metric, value: float, conditions: Conditions, reference: Reference, tuning: ComparisonTuning
) -> tuple[float, float, float]:
    """Standard errors of a corrected value from its correction for mass, air density and pack voltage.

    Each is ``value s ln(reference / flown)``, s being the exponent's standard error; signed, for all runs share it.
    A sink rate at one lift coefficient follows mass and density exactly.
    """
    if metric.source == "glides":
        return 0.0, 0.0, 0.0
    return (
        value * tuning.mass_exponent_se * math.log(_ratio(reference.mass_kg, conditions.mass_kg)),
        value
        * tuning.density_exponent_se
        * math.log(_ratio(reference.air_density_kg_m3, conditions.air_density_kg_m3)),
        value * tuning.voltage_exponent_se * math.log(_ratio(reference.pack_voltage_v, conditions.pack_voltage_v)),
    )


def _climb_factor(climb_rate_m_s: float | None, sink_rate_m_s: float, power: float, sink: float) -> float:
    """Climb rate at the reference over climb rate as flown."""
    if climb_rate_m_s is None or climb_rate_m_s <= 0.0:
        return power
    return ((climb_rate_m_s + sink_rate_m_s) * power - sink_rate_m_s * sink) / climb_rate_m_s


def _ratio(reference: float | None, flown: float | None) -> float:
    return 1.0 if reference is None or flown is None else reference / flown


def furthest_from(conditions: Conditions, reference: Reference) -> tuple[str, float]:
    """Name the condition that is furthest from the reference, and by which share."""
    shares = {
        name: abs(_ratio(getattr(conditions, key), getattr(reference, key)) - 1.0) for key, name in _NAMES.items()
    }
    name = max(shares, key=lambda key: shares[key])
    return name, shares[name]
