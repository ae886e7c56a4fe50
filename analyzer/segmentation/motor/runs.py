"""Motor runs: electrical power (else current), checked by rpm and throttle, else these alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.records import Notice
from analyzer.segmentation.motor.candidates import by_channels, by_sag, by_small_load
from analyzer.segmentation.motor.edges import run_start, run_stop
from analyzer.segmentation.motor.evidence import Evidence, evidence_of, surely_running, without_dead_shaft
from analyzer.segmentation.motor.gaps import joined_over_gaps
from analyzer.segmentation.motor.sag import sag_signal
from analyzer.segmentation.motor.shape import powered_climbs
from analyzer.segmentation.motor.signals import as_read, moves, without_witness
from analyzer.segmentation.motor.standing import believed, told_to_stand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Mask
    from analyzer.records import Log
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.motor.tuning import MotorTuning
    from analyzer.segmentation.spans import Rows, Span


_SHORTEST_S: Final = 0.5
"""From the last reading before to the first one after, no run is shorter."""

MOTOR_CHANNELS: Final = ("power_w", "current_a", "rpm", "throttle")

_FROM_SAG: Final = Notice(
    "motor-from-voltage",
    "neither power, current, rpm nor throttle shows anything: motor runs are told from the pack's sag",
)
_FROM_SHAPE: Final = Notice(
    "motor-from-climb", "no channel shows the motor: steep climbs that begin at once are taken for motor runs"
)
_UNKNOWN: Final = Notice(
    "motor-unknown", "neither power, current, rpm, throttle nor voltage is logged: no motor runs are told"
)


def motor_runs(log: Log, motion: Motion, tuning: MotorTuning) -> tuple[list[Span], list[Notice], bool]:
    """Find all motor runs, blips included.

    Parameters
    ----------
    log : Log
        Conditioned.
    motion : Motion
        The model's motion: what is left to go by when neither power, rpm, throttle nor voltage shows the motor.
    tuning : MotorTuning
        The stage's tuning.

    Returns
    -------
    list of (float, float)
        Start and end times.
    list of Notice
        What stood in for a motor channel.
    bool
        Whether the runs are seen in a channel, and not only in what the model did.
    """
    evidence = evidence_of(log, motion, tuning)
    if evidence.signals:
        return _shown(evidence), [], True
    if any(moves(log, column) for column in MOTOR_CHANNELS):
        return [], [], True
    sag = sag_signal(log, tuning)
    if sag is not None:
        return _edged(replace(evidence, power=sag), by_sag(sag, evidence)), [_FROM_SAG], True
    if any(log.has(column) for column in MOTOR_CHANNELS):
        return [], [], True
    shaped = _disjoint(powered_climbs(motion, tuning), tuning.apart_s)
    return shaped, [_FROM_SHAPE if shaped else _UNKNOWN], False


def _shown(evidence: Evidence) -> list[Span]:
    """Runs that the motor's channels show."""
    if evidence.power is not None and evidence.shaft is None:
        power = without_witness(evidence.power, evidence.log, evidence.tuning)
        if power is None:
            return _edged(evidence, by_small_load(evidence.power, evidence))
        evidence = replace(evidence, power=power)
    undoubted, running = surely_running(evidence)
    evidence = without_dead_shaft(evidence, undoubted)
    evidence = replace(evidence, throttle=believed(evidence.throttle, running, evidence.tuning))
    standing = told_to_stand(evidence, running)
    return _edged(evidence, by_channels(evidence, undoubted, standing), standing)


def _edged(evidence: Evidence, spans: Sequence[Rows], standing: Mask | None = None) -> list[Span]:
    """Runs with their edges between the samples, from index spans; `standing` are rows in which the motor stands."""
    time_s = evidence.time_s
    if standing is None:
        standing = np.zeros(len(time_s), dtype=bool)
    outer = np.concatenate((time_s[:1], time_s, time_s[-1:]))
    rows = [(a, b) for a, b in joined_over_gaps(spans, standing, evidence) if outer[b + 1] - outer[a] > _SHORTEST_S]
    seen = [as_read(signal, evidence.log) for signal in evidence.signals]
    edged = [(run_start(time_s, seen, a, b - 1), run_stop(time_s, seen, b - 1)) for a, b in rows]
    return _disjoint(edged, evidence.tuning.apart_s)


def _disjoint(runs: list[Span], apart_s: float) -> list[Span]:
    """Runs in order; those that the sensors cannot tell apart made one."""
    result: list[Span] = []
    for start, end in runs:
        if result and start - result[-1][1] < apart_s:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        elif end > start:
            result.append((start, end))
    return result
