"""Rises of an averaged height, joined over the dips that belong to one climb."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.spans import Rows, spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices
    from analyzer.segmentation.tuning import LiftTuning


def joined_rises(mean_m: Array, tuning: LiftTuning) -> list[Rows]:
    """First and last index of every rise, from trough to crest.

    The smallest rise or dip is looked at first, wherever it lies, and goes if it parts nothing; what that makes larger
    is looked at again. So no ripple within a dip tells what is one climb: the order is that of topological persistence
    (Edelsbrunner, Letscher & Zomorodian, Discrete Comput. Geom. 28 (2002), 511-533).

    Parameters
    ----------
    mean_m : numpy.ndarray
        Height averaged over one circle, on the grid.
    tuning : LiftTuning
        The stage's tuning.
    """
    turns = np.array(spans_of(np.diff(mean_m) > 0), dtype=np.intp).ravel()
    parts = np.zeros(len(turns), dtype=bool)
    while not parts[1:-2].all():
        sizes = np.abs(np.diff(mean_m[turns]))
        at = 1 + int(np.argmin(np.where(parts[1:-2], np.inf, sizes[1:-1])))
        if _goes(at, turns, sizes, tuning):
            turns, parts = np.delete(turns, [at, at + 1]), np.delete(parts, [at, at + 1])
            parts[max(at - 2, 0) : at + 1] = False
        else:
            parts[at] = True
    return list(zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True))


def _goes(at: int, turns: Indices, sizes: Array, tuning: LiftTuning) -> bool:
    """Whether a rise is lost in the dips around it, or a dip in the climb around it.

    Such a dip lasts less than a circle, and gives back less than half of what was won on either side; of what gusts
    leave in the average, no more than what was won.
    """
    size, beside = sizes[at], min(sizes[at - 1], sizes[at + 1])
    if at % 2 == 0:
        return bool(size < min(beside, tuning.least_gain_m))
    lasts_s = (turns[at + 1] - turns[at]) * GRID_S
    return bool(lasts_s < tuning.circle_s and size < max(0.5 * beside, min(beside, tuning.ripple_m)))
