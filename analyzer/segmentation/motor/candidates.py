"""Stretches of samples in which the motor runs, by what the log shows of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.motor.cruise import with_cruise
from analyzer.segmentation.motor.sag import sags_beside
from analyzer.segmentation.motor.signals import readings_of
from analyzer.segmentation.spans import Rows, spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Mask
    from analyzer.segmentation.motor.evidence import Evidence
    from analyzer.segmentation.motor.signals import MotorSignal


_SERVO_S: Final = 7.0
_SERVO_HEIGHT: Final = 2.0
_MOST_WEAK: Final = 4
"""Servos on the same pack work for seconds, all the time, at up to twice what their bursts are taken to reach; a pilot
seldom lets the motor turn as slowly for a moment, and not more often than this."""


def by_channels(evidence: Evidence, undoubted: Mask, standing: Mask) -> list[Rows]:
    """Index spans in which power and shaft show the motor, out of the rows in which it is told to be `standing`.

    With power and a witness of the shaft (rpm, else throttle) both must show the run, unless the power is `undoubted`.
    With one signal alone its span must reach the floor of bursts.
    """
    power, shaft, tuning = evidence.power, evidence.shaft, evidence.tuning
    if power is None or shaft is None:
        signal = evidence.signals[0]
        alone = _alone(replace(signal, level=np.where(standing, 0.0, signal.level)), evidence)
        return _driven(signal, alone, evidence) if signal.by_air else alone
    known = np.isfinite(power.level)
    turning = np.where(np.isfinite(shaft.level), shaft.level > tuning.slowest_turn, power.level > power.high)
    drawing = np.where(known, power.level > power.low, shaft.level > shaft.high)
    perhaps = np.where(known, power.level > 0.5 * power.low, drawing)
    spans = _reaching(((drawing & turning) | undoubted) & ~standing, ((perhaps & turning) | undoubted) & ~standing)
    return with_cruise(
        spans, power, (shaft.level > tuning.slowest_turn) & ~standing, readings_of(power, evidence.log), tuning
    )


def by_small_load(load: MotorSignal, evidence: Evidence) -> list[Rows]:
    """Index spans of a load no larger than servos are, which lasts and lifts the model: a small motor's."""
    least_s = evidence.tuning.powered_least_s
    return [span for span in _above_noise(load) if evidence.lasts_s(span) > least_s and evidence.climbs(span)]


def by_sag(sag: MotorSignal, evidence: Evidence) -> list[Rows]:
    """Index spans of sag that are the motor's: those that stand out, and lesser ones in which the model climbs."""
    return [span for span in _above_noise(sag) if _stands_out(sag, span, evidence) or evidence.climbs(span)]


def _driven(shaft: MotorSignal, spans: list[Rows], evidence: Evidence) -> list[Rows]:
    """Index spans of a shaft faster than the air turns it in most glides in which the motor does, and not a dive.

    Then the pack sags, or the model climbs. Where the voltage does not tell, no dive is as fast as the motor.
    """
    tuning, sags = evidence.tuning, sags_beside(evidence.log, spans)
    return [
        (first, last)
        for index, (first, last) in enumerate(spans)
        if evidence.climbs((first, last))
        or (np.nanmax(shaft.level[first:last]) > tuning.undived if sags is None else sags[index] > tuning.least_peak)
    ]


def _alone(signal: MotorSignal, evidence: Evidence) -> list[Rows]:
    """Index spans in which one signal without a witness shows the motor; a slow shaft may be one that the air turns.

    Many short and weak spans are the work of servos.
    """
    if signal.column == "rpm" and not signal.by_air:
        signal = replace(signal, low=max(signal.low, evidence.tuning.slowest_turn))
    spans = [span for span in _above_noise(signal) if _stands_out(signal, span, evidence)]
    weak = [span for span in spans if _is_weak(signal, span, evidence)]
    return [span for span in spans if span not in weak] if len(weak) > _MOST_WEAK else spans


def _is_weak(signal: MotorSignal, span: Rows, evidence: Evidence) -> bool:
    """Whether a span is as short as servos work, and no higher than they go."""
    return evidence.lasts_s(span) < _SERVO_S and bool(signal.level[slice(*span)].max() < _SERVO_HEIGHT * signal.high)


def _stands_out(signal: MotorSignal, span: Rows, evidence: Evidence) -> bool:
    """Whether a span is a motor run by one signal alone: higher than any burst, or high for longer."""
    inside, tuning = signal.level[slice(*span)], evidence.tuning
    lasts = evidence.lasts_s(span) > tuning.burst_s
    steadily = lasts and np.median(inside) > max(signal.low, 0.75 * tuning.least_peak)
    return bool(steadily or inside.max() > signal.high)


def _above_noise(signal: MotorSignal) -> list[Rows]:
    """Index spans in which one signal alone is above its noise."""
    return _reaching(signal.level > signal.low, signal.level > 0.5 * signal.low)


def _reaching(strong: Mask, weak: Mask) -> list[Rows]:
    """Stretches of the weaker condition that reach the stronger one somewhere (hysteresis)."""
    return [(a, b) for a, b in spans_of(weak | strong) if strong[a:b].any()]
