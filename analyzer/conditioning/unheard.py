"""Rows in which a recorder heard nothing: they were lost on the way and read zero, or hold what was heard last."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.drive import LOADED
from analyzer.conditioning.leaps import stood_still
from analyzer.conditioning.outliers import frozen
from analyzer.conditioning.stretches import stretches_of
from analyzer.records import Notice
from analyzer.wording import clock, counted

if TYPE_CHECKING:
    import pandas as pd

    from analyzer.arrays import Array, Indices, Mask
    from analyzer.conditioning.tuning import ConditioningTuning
    from analyzer.records import Log


_SHORTEST_S: Final = 1.5
"""What is shorter is bridged over anyway."""

_FAR: Final = 0.6
"""A channel that hardly ever reads less than this share of its usual value (a supply's voltage, a position) is never
at rest at zero."""

_ENOUGH: Final = 2000
"""So many readings, evenly spread, tell that."""

_FEWEST: Final = 3
"""A row in which such a channel and all others, so many at least, read exactly zero was not heard."""

_LOADED: Final = 0.3
"""A drive at this share of its most never reads the same in every channel for long: the pack's voltage falls."""


def without_unheard_rows(log: Log, tuning: ConditioningTuning) -> tuple[pd.DataFrame, list[Notice]]:
    """The log's frame without the values of rows in which nothing was heard.

    Rows were lost where every channel reads exactly zero. They were held where every channel repeats what it said, and
    rows around them hardly ever do, where the altitude leaps at the end, as no flight can, or where the drive stays
    loaded to the last digit. Else it is rest.

    Parameters
    ----------
    log : Log
        As read.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    frame = log.frame
    channels = [column for column in frame.columns if column != "time_s" and frame[column].dtype.kind == "f"]
    notices = []
    zeros = _zeros(frame, channels)
    if len(zeros):
        message = (
            f"every channel reads 0 in {counted(len(zeros), 'row')}, the first at "
            f"{clock(frame['time_s'].iloc[zeros[0]])}: lost on the way, and set aside"
        )
        notices.append(Notice("readings-lost", message))
        frame = _without(frame, channels, stretches_of(np.isin(np.arange(len(frame)), zeros)))
    gaps, lasts_s = _unheard(frame, channels, tuning)
    if len(gaps):
        longest = int(np.argmax(lasts_s))
        message = (
            f"nothing new was heard {counted(len(gaps), 'time')}, for up to {lasts_s[longest]:.0f} s, at "
            f"{clock(frame['time_s'].iloc[gaps[longest, 0]])}: the values that were held meanwhile are set aside. "
            "Look at the range and the aerials"
        )
        notices.append(Notice("link-lost", message))
        frame = _without(frame, channels, gaps)
    return frame, notices


def _without(frame: pd.DataFrame, channels: list[str], gaps: Indices) -> pd.DataFrame:
    unheard = np.zeros(len(frame), dtype=bool)
    for first, last in gaps.tolist():
        unheard[first:last] = True
    return frame.assign(**{column: frame[column].mask(unheard) for column in channels})


def _zeros(frame: pd.DataFrame, channels: list[str]) -> Indices:
    """Rows in which all that is heard reads exactly zero, a channel that is always far from it among it."""
    read = {column: frame[column].to_numpy() for column in channels}
    far = [np.flatnonzero(values == 0.0) for values in read.values() if _is_far_from_zero(values)]
    rows = np.unique(np.concatenate([np.zeros(0, dtype=np.intp), *far]))
    heard = np.zeros(len(rows), dtype=int)
    for values in read.values():
        there = np.isfinite(values[rows])
        keeps = ~there | (values[rows] == 0.0)
        rows, heard = rows[keeps], (heard + there)[keeps]
    return np.asarray(rows[heard >= _FEWEST])


def _is_far_from_zero(values: Array) -> bool:
    sample = np.abs(values[:: max(1, len(values) // _ENOUGH)])
    sample = sample[np.isfinite(sample)]
    return len(sample) > 0 and bool(np.quantile(sample, 0.05) > _FAR * np.median(sample))


def _unheard(frame: pd.DataFrame, channels: list[str], tuning: ConditioningTuning) -> tuple[Indices, Array]:
    """Stretches of rows in which nothing was heard, (n, 2), and how long each lasts."""
    time_s, repeated = frame["time_s"].to_numpy(dtype=float), np.zeros(len(frame), dtype=bool)
    repeated[_repeated(frame, channels)] = True
    gaps = stretches_of(repeated)
    lasts_s = time_s[gaps[:, 1] - 1] - time_s[gaps[:, 0] - 1]
    gaps, lasts_s = gaps[lasts_s > _SHORTEST_S], lasts_s[lasts_s > _SHORTEST_S]
    if not len(gaps):
        return gaps, lasts_s
    lost = _caught_up(time_s, frame["altitude_m"].to_numpy(dtype=float), tuning)
    lost[frozen(time_s, np.cumsum(~repeated).astype(float), tuning)] = True
    loaded = (lasts_s >= tuning.frozen_s) & _loaded(frame, gaps[:, 0])
    unheard = loaded | [bool(lost[slice(*gap)].all()) for gap in gaps.tolist()]
    return gaps[unheard], lasts_s[unheard]


def _repeated(frame: pd.DataFrame, channels: list[str]) -> Indices:
    """Rows that read something, and in no channel anything else than the row before."""
    rows = np.arange(1, len(frame))
    for column in channels:
        values = frame[column].to_numpy()
        now, before = values[rows], values[rows - 1]
        rows = rows[(now == before) | (np.isnan(now) & np.isnan(before))]
    reads = np.zeros(len(rows), dtype=bool)
    for column in channels:
        reads |= np.isfinite(frame[column].to_numpy()[rows])
    return rows[reads]


def _caught_up(time_s: Array, altitude_m: Array, tuning: ConditioningTuning) -> Mask:
    """At which rows the altitude stands until it leaps as no flight can."""
    there = np.flatnonzero(np.isfinite(altitude_m))
    stood = np.zeros(len(time_s), dtype=bool)
    stood[there[stood_still(time_s[there], altitude_m[there], tuning)]] = True
    return stood


def _loaded(frame: pd.DataFrame, rows: Indices) -> Mask:
    """In which rows the motor draws, or is turned, at much of its most."""
    drives = [frame[column].to_numpy() for column in LOADED if column != "voltage_v" and column in frame]
    shares = [drive[rows] > _LOADED * np.nanmax(drive) for drive in drives if np.isfinite(drive).any()]
    return np.any(shares, axis=0) if shares else np.zeros(len(rows), dtype=bool)
