"""Fewer points for the screen, without losing what matters: every extreme and every gap stays."""

from __future__ import annotations

from typing import Final

import numpy as np

POINTS: Final = 3000
"""Points per curve: more than the pixels of a wide screen, little enough for a phone."""


def decimated(values: np.ndarray, limit: int = POINTS) -> np.ndarray:
    """Choose the samples of a curve that are worth drawing.

    The curve is cut into equal stretches of samples; from each come its first, lowest, highest and last sample and
    the edges of its gaps, so that the drawn curve touches every extreme of every stretch and breaks where the log does.

    Parameters
    ----------
    values : array of shape (n,)
        Samples in order; NaN where there is none.
    limit : int
        Aim for no more points than this; edges of gaps come on top.

    Returns
    -------
    array of int
        Indices into `values`, increasing; all of them when there are few.

    Examples
    --------
    >>> spike = np.zeros(10_000)
    >>> spike[5_000] = 1.0
    >>> bool((decimated(spike, limit=100) == 5_000).any())
    True
    """
    count = values.size
    if count <= limit:
        return np.arange(count)
    stretches = max(1, limit // 4)
    edges = np.linspace(0, count, stretches + 1).astype(np.intp)
    starts = edges[:-1]
    missing = np.isnan(values)
    chosen = [
        starts,
        edges[1:] - 1,
        _extremes(np.where(missing, np.inf, values), starts, np.minimum),
        _extremes(np.where(missing, -np.inf, values), starts, np.maximum),
        _gap_edges(missing),
    ]
    return np.unique(np.concatenate(chosen))


def _extremes(values: np.ndarray, starts: np.ndarray, extreme: np.ufunc) -> np.ndarray:
    """Index of the first sample of each stretch that has the stretch's extreme value."""
    best = extreme.reduceat(values, starts)
    lengths = np.diff(np.append(starts, values.size))
    hits = np.flatnonzero(values == np.repeat(best, lengths))
    stretch_of_hit = np.searchsorted(starts, hits, side="right") - 1
    return hits[np.unique(stretch_of_hit, return_index=True)[1]]


def _gap_edges(missing: np.ndarray) -> np.ndarray:
    """Last sample before, first and last sample inside, and first sample after each gap."""
    changes = np.flatnonzero(np.diff(missing.astype(np.int8)))
    return np.concatenate([changes, changes + 1])
