"""A current sensor at its end: it reads its most, to the last digit, however much more is drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.stretches import changes_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.measures.idle import Idle
    from analyzer.measures.integrals import Signal
    from analyzer.records import Segment

LEAST_SHARE: Final = 0.3
"""Of the time under power; a pack that sags holds no current for so long."""

CHANCE: Final = 1e-6
"""Of so many equal readings in a row, by how often those with the motor off repeat."""


def full_scale(signal: Signal, idle: Idle, runs: Sequence[Segment]) -> tuple[float, float] | None:
    """The reading at which a sensor is at its end, and the share of the time under power that it reads that.

    A sensor whose readings hardly change with the motor off, being coarse, tells nothing: None, as where there is no
    such reading.

    Parameters
    ----------
    signal : Signal
        The sensor's readings.
    idle : Idle
        Which of them are with the motor off.
    runs : sequence of Segment
        Motor runs.
    """
    off = signal.values[idle.idles]
    spans = np.searchsorted(signal.time_s, [[run.start_s, run.end_s] for run in runs])
    driven = np.concatenate([signal.values[first:last] for first, last in spans.tolist()])
    if off.size < 2 or not driven.size:
        return None
    most = float(driven.max())
    edges = changes_of(driven)
    longest = int(np.diff(edges)[driven[edges[:-1]] == most].max())
    repeats = float(np.mean(off[1:] == off[:-1]))
    share = float(np.mean(driven == most))
    if share < LEAST_SHARE or repeats ** (longest - 1) * driven.size > CHANCE:
        return None
    return most, share
