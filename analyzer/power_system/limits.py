"""Limits of the setup against the prediction, and reasons why a propeller is no answer at all."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import NORMAL_95
from analyzer.limits import BURST, CELL_VOLTAGE, CONTINUOUS, LIMITS, MOTOR_CURRENT, MOTOR_SPEED, Limit
from analyzer.power_system.envelope import LAST
from analyzer.power_system.performance import estimate
from analyzer.power_system.prediction_records import Estimate, PredictedLimit

if TYPE_CHECKING:
    from analyzer.power_system.envelope import Envelope
    from analyzer.power_system.system import PowerSystem
    from analyzer.setup_file import Setup

STALLED_EFFICIENCY: Final = 0.5
"""A motor that turns less than half of its input into shaft power, and most of the rest into heat of its windings, is
held back almost to a standstill. (Where friction and iron take most, it runs almost free: the propeller is small.)"""


def odds_above(predicted: Estimate, limit: float) -> float:
    """Probability that the real value lies above a limit, by a normal law that fits the interval on that side."""
    reach = predicted.high - predicted.value if limit >= predicted.value else predicted.value - predicted.low
    if reach <= 0.0:
        return float(predicted.value > limit)
    return 0.5 * math.erfc((limit - predicted.value) * NORMAL_95 / (reach * math.sqrt(2.0)))


def predicted_limits(setup: Setup, system: PowerSystem, solved: Envelope, index: int) -> tuple[PredictedLimit, ...]:
    """Check one propeller against every limit that the setup states.

    Parameters
    ----------
    setup : Setup
        Its limits.
    system : PowerSystem
        For the gear ratio and the pack's lowest voltage.
    solved : Envelope
        All propellers.
    index : int
        Which one.
    """
    current = _highest_current(solved, index)
    worst = {
        CONTINUOUS: current,
        BURST: current,
        MOTOR_CURRENT: current,
        MOTOR_SPEED: _highest_speed(system, solved, index),
        CELL_VOLTAGE: _lowest_cell_voltage(system, solved, index),
    }
    # the pack's model has a lowest cell voltage also where the setup states none
    stated = {limit: setup.value(limit.key) for limit in LIMITS} | {CELL_VOLTAGE: system.pack.lowest_cell_v}
    return tuple(_check(limit, stated[limit], found) for limit, found in worst.items() if stated[limit] is not None)


def binding(limits: tuple[PredictedLimit, ...]) -> str | None:
    """Name of the limit with the least room, as a share of the limit."""
    if not limits:
        return None
    return min(limits, key=lambda limit: limit.margin / limit.limit).name


def no_answer_reasons(system: PowerSystem, solved: Envelope, index: int) -> tuple[str, ...]:
    """Why a propeller cannot be flown on this power system at all; empty where it can."""
    static = solved.static.running
    current, voltage = static.current_a[0, index, 0], static.voltage_v[0, index, 0]
    winding_w = system.motor.resistance_ohm * static.motor_current_a[0, index, 0] ** 2
    is_winding_hot = bool(winding_w > 0.5 * static.motor_heat_w[0, index, 0])
    reasons = []
    if static.motor_efficiency[0, index, 0] < STALLED_EFFICIENCY and is_winding_hot:
        reasons.append(
            f"the motor is held almost to a standstill: {current:.0f} A, and more heat than shaft power "
            "(propeller too large for this motor and gear)"
        )
    if voltage < system.pack.lowest_voltage_v:
        reasons.append(
            f"the full pack would sag to {voltage / system.pack.cells:.2f} V a cell, below "
            f"{system.pack.lowest_cell_v:.2f} V (pack too weak for {current:.0f} A)"
        )
    if system.airframe is not None and not solved.climbs_at_all[index]:
        reasons.append("the thrust is below the drag at every airspeed that the wing can fly (the model cannot climb)")
    return tuple(reasons)


@dataclass(frozen=True, slots=True)
class _Worst:
    """The worst value in the envelope, and where."""

    value: Estimate
    where: str
    airspeed_m_s: float | None = None


_STANDING: Final = "standing still, full pack"


def _highest_current(solved: Envelope, index: int) -> _Worst:
    """Highest motor current of the envelope: standing still or in flight, with a full pack."""
    static = solved.static.running.motor_current_a[:, index, 0]
    flown = solved.worst.running.motor_current_a[:, index, 0]
    if static[0] >= flown[0]:
        return _Worst(estimate(static), _STANDING)
    return _Worst(estimate(flown), "in flight, full pack", float(solved.worst.airspeed_m_s[0, index, 0]))


def _highest_speed(system: PowerSystem, solved: Envelope, index: int) -> _Worst:
    to_rpm = 60.0 * float(np.asarray(system.gearbox.ratio))
    static = solved.static.running.speed_rev_s[:, index, 0] * to_rpm
    flown = solved.fast.running.speed_rev_s[:, index, 0] * to_rpm
    if static[0] >= flown[0]:
        return _Worst(estimate(static), _STANDING)
    return _Worst(estimate(flown), "at top level speed, full pack")


def _lowest_cell_voltage(system: PowerSystem, solved: Envelope, index: int) -> _Worst:
    """Lowest cell voltage under load: in the last climb, or standing still where there is no climb."""
    climbs = bool(solved.climbs_at_all[index])
    running = solved.climbs.running if climbs else solved.static.running
    cell = estimate(running.voltage_v[:, index, LAST if climbs else 0] / system.pack.cells)
    return _Worst(cell, "in the last climb" if climbs else _STANDING)


def _check(limit: Limit, stated: float, worst: _Worst) -> PredictedLimit:
    above, margin = odds_above(worst.value, stated), limit.margin(stated, worst.value.value)
    return PredictedLimit(
        name=limit.name,
        unit=limit.unit,
        limit=stated,
        predicted=worst.value,
        margin=margin,
        odds_beyond=1.0 - above if limit.is_least else above,
        ok=margin >= 0.0,
        where=worst.where,
        airspeed_m_s=worst.airspeed_m_s,
    )
