"""A current sensor at its end: it reads its most, to the last digit, however much more is drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.stretches import changes_of
from analyzer.measures.draw import Draw

if TYPE_CHECKING:
    from analyzer.measures.draw import CounterDraw

LEAST_SHARE: Final = 0.3
"""Of the time under power; a pack that sags holds no current for so long."""

CHANCE: Final = 1e-6
"""Of so many equal readings in a row, by how often those with the motor off repeat."""


def full_scale(current: Draw | CounterDraw | None) -> tuple[float, float] | None:
    """The reading at which a sensor is at its end, and the share of the time under power that it reads that.

    A sensor whose readings hardly change with the motor off, being coarse, tells nothing: None, as where there is no
    such reading.

    Parameters
    ----------
    current : Draw, CounterDraw or None
        The log's current.
    """
    if not isinstance(current, Draw) or current.idle is None or not current.runs:
        return None
    time_s, values = current.signal.time_s, current.signal.values
    off = values[current.idle.idles]
    spans = np.searchsorted(time_s, [[run.start_s, run.end_s] for run in current.runs])
    driven = np.concatenate([values[first:last] for first, last in spans.tolist()])
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
