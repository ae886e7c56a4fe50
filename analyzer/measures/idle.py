"""The current that flows with the motor off: the sensor's offset and the avionics."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.measures.traces import Array, Traces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.records import Segment


@dataclass(frozen=True, slots=True)
class Idle:
    """Reading of a channel with the motor off."""

    value: float
    se: float


def idle_level(traces: Traces, values: Array, runs: Sequence[Segment], guard_s: float) -> Idle | None:
    """Mean reading with the motor off, at least `guard_s` away from any run, outliers left out."""
    off = np.isfinite(values)
    for run in runs:
        off[traces.window(run.start_s - guard_s, run.end_s + guard_s)] = False
    quiet = values[off]
    if quiet.size < 3:
        return None
    middle = np.median(quiet)
    spread = 1.4826 * np.median(np.abs(quiet - middle)) + 0.1
    kept = quiet[np.abs(quiet - middle) < 5.0 * spread]
    return Idle(float(kept.mean()), float(kept.std() / np.sqrt(max(kept.size / 10.0, 1.0))))
