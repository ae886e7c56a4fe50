"""Zooms by their shape: a dive whose speed becomes height again is neither sinking air nor lift."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array


DIVE_FACTOR: Final = 3.0
DIVE_MARGIN_M_S: Final = 1.0
"""A dive sinks faster than this many times the usual sink plus a margin; strong sinking air seldom does."""
USUAL_FACTOR: Final = 1.2
"""A sink up to this many times the usual one is usual."""
LONGEST_S: Final = 15.0
"""From the steepest of the dive to the top of the zoom."""


def zoom_spans(time_s: Array, climb_m_s: Array, usual_sink_m_s: float) -> tuple[tuple[float, float], ...]:
    """Stretches in which height is traded for speed and back.

    Parameters
    ----------
    time_s, climb_m_s : ndarray, shape (n,)
        Samples of one glide: time [s] and vertical speed [m/s]; NaN counts as level.
    usual_sink_m_s : float
        The aircraft's usual sink [m/s, positive down].

    Returns
    -------
    tuple of (float, float)
        From where a dive begins to where the rise after it ends [s], in order; a dive without a rise ends where its
        sink is usual again.
    """
    climb = np.nan_to_num(climb_m_s, nan=-usual_sink_m_s)
    diving = climb < -(DIVE_FACTOR * usual_sink_m_s + DIVE_MARGIN_M_S)
    spans: list[tuple[float, float]] = []
    for first, last in spans_of(diving):
        usual = np.flatnonzero(climb[:first] >= -USUAL_FACTOR * usual_sink_m_s)
        begin = int(usual[-1]) + 1 if usual.size else 0
        end = _zoom_end(time_s, climb, last - 1, usual_sink_m_s)
        if spans and time_s[begin] <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(spans[-1][1], float(time_s[end])))
        else:
            spans.append((float(time_s[begin]), float(time_s[end])))
    return tuple(spans)


def _zoom_end(time_s: Array, climb: Array, dive_end: int, usual_sink_m_s: float) -> int:
    """Where the rise after a dive is over, within the time that a zoom can last."""
    limit = int(np.searchsorted(time_s, time_s[dive_end] + LONGEST_S, side="right")) - 1
    rises = np.flatnonzero(climb[dive_end : limit + 1] > 0.0)
    if rises.size == 0:
        recovered = np.flatnonzero(climb[dive_end : limit + 1] > -USUAL_FACTOR * usual_sink_m_s)
        return dive_end + int(recovered[0]) if recovered.size else limit
    start = dive_end + int(rises[0])
    over = np.flatnonzero(climb[start : limit + 1] <= 0.0)
    return start + int(over[0]) if over.size else limit
