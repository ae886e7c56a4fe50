"""What a log shows of its motor, and what leaves no doubt that it runs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.motor.shaft import shaft_signal
from analyzer.segmentation.motor.signals import MotorSignal, motor_signal, per_ampere
from analyzer.segmentation.spans import Rows, spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.records import Log
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.motor.tuning import MotorTuning


_LEAST_CLIMB_S: Final = 2.0
"""Shorter rises may be gusts."""

_FEW: Final = 0.02
"""Rows in which a voltage is silent for a moment are fewer than this share."""

_REFUTED_S: Final = 5.0
"""No rpm comes so late."""


@dataclass(frozen=True)
class Evidence:
    """What a log shows of its motor.

    Attributes
    ----------
    log : Log
        Conditioned.
    motion : Motion
        What the model did.
    tuning : MotorTuning
        The stage's tuning.
    power : MotorSignal or None
        Electrical power, else current.
    shaft : MotorSignal or None
        Whether the shaft is driven: rpm, else the throttle.
    throttle : MotorSignal or None
        The throttle, where it is logged beside rpm.
    """

    log: Log
    motion: Motion
    tuning: MotorTuning
    power: MotorSignal | None = None
    shaft: MotorSignal | None = None
    throttle: MotorSignal | None = None

    @cached_property
    def time_s(self) -> Array:
        """The log's stamps."""
        return self.log.frame["time_s"].to_numpy(dtype=float)

    @property
    def signals(self) -> list[MotorSignal]:
        """All that is there, the first to be asked first."""
        return [signal for signal in (self.power, self.shaft, self.throttle) if signal is not None]

    def lasts_s(self, rows: Rows) -> float:
        """Time from the first to the last of some rows."""
        return float(self.time_s[rows[1] - 1] - self.time_s[rows[0]])

    def climbs(self, rows: Rows) -> bool:
        """Whether the model climbs as under power from the first row to a second after the last, as motors take."""
        start_s, end_s = float(self.time_s[rows[0]]), float(self.time_s[rows[1] - 1]) + 1.0
        return end_s - start_s > _LEAST_CLIMB_S and self.motion.climbs(start_s, end_s, self.tuning.sagging_climb_m_s)


def evidence_of(log: Log, motion: Motion, tuning: MotorTuning) -> Evidence:
    """Gather what a log shows of its motor.

    A throttle rests in every glide, unlike a shaft that the air turns: it is the better witness, and so is power. Power
    is the current's where the voltage falls silent before it does.
    """
    power, current = (motor_signal(log, column, tuning) for column in ("power_w", "current_a"))
    if power is None or (current is not None and _is_heard_longer(current, power)):
        power = current
    shaft, throttle = shaft_signal(log, power, tuning), motor_signal(log, "throttle", tuning)
    if shaft is None or (shaft.by_air and (power is not None or throttle is not None)):
        shaft, throttle = throttle, None
    return Evidence(log, motion, tuning, power, shaft, throttle)


def _is_heard_longer(one: MotorSignal, other: MotorSignal) -> bool:
    """Whether one signal is heard in rows in which another is not, and these are more than a few."""
    return bool((np.isfinite(one.level) & np.isnan(other.level)).mean() > _FEW)


def without_dead_shaft(evidence: Evidence, undoubted: Mask) -> Evidence:
    """The evidence without the rest of a shaft during which power leaves no doubt for seconds: its sensor failed."""
    shaft = evidence.shaft
    if shaft is None or shaft.column != "rpm" or not undoubted.any():
        return evidence
    level = shaft.level.copy()
    for first, last in spans_of(level <= evidence.tuning.slowest_turn):
        refuted = spans_of(undoubted[first:last])
        if any(evidence.lasts_s((first + a, first + b)) > _REFUTED_S for a, b in refuted):
            level[first:last] = np.nan
    return replace(evidence, shaft=replace(shaft, level=level))


def surely_running(evidence: Evidence) -> tuple[Mask, Mask]:
    """Rows in which power alone leaves no doubt that the motor runs, and those in which it does with the shaft's.

    Without power the air may turn a shaft at up to half its speed.
    """
    power, shaft, tuning = evidence.power, evidence.shaft, evidence.tuning
    nowhere = np.zeros(len(evidence.time_s), dtype=bool)
    if power is None or shaft is None:
        return nowhere, nowhere if shaft is None else shaft.level > tuning.undived
    much = power.level > max(power.high, tuning.undoubted, tuning.servos_a * per_ampere(power, evidence.log))
    undoubted = much & ~_stuck(evidence.log, power, tuning)
    for first, last in spans_of(undoubted):
        undoubted[first:last] = evidence.lasts_s((first, last)) > tuning.burst_s
    return undoubted, undoubted | (much & (shaft.level > tuning.slowest_turn))


def _stuck(log: Log, power: MotorSignal, tuning: MotorTuning) -> Mask:
    """Whether a reading repeats the last one for long: with the shaft at rest, a sensor that froze.

    A power moves with the voltage though its current is frozen.
    """
    level = log.frame["current_a"].to_numpy(dtype=float) if log.has("current_a") else power.level
    stuck = np.zeros(len(level), dtype=bool)
    for first, last in spans_of(np.append(False, level[1:] == level[:-1]), tuning.stuck_readings - 1):
        stuck[first - 1 : last] = True
    return stuck
