"""The sag of the pack's voltage under load: it shows the motor where nothing else does, and tells runs from dives."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import pieces, quantum_of
from analyzer.robust_fit import median_of
from analyzer.segmentation.motor.signals import MotorSignal, sampling_step, scaled

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices, Mask
    from analyzer.records import Log
    from analyzer.segmentation.motor.tuning import MotorTuning
    from analyzer.segmentation.spans import Rows


_REST_PARTS: Final = 6
_LONG_PARTS: Final = 18
"""No run lasts longer than so many parts of the log, three minutes."""

_LOADED: Final = 0.2
"""A pack that recovers lacks less than this share of its deepest sag after a minute."""

_RECOVERY_STEP_S: Final = 0.1

_BESIDE_S: Final = 5.0
"""Around a run the pack's voltage is taken over this on either side."""

_COARSE: Final = 10.0
"""A voltage shows the sag of part throttle when full throttle makes more than so many of its steps."""

LEAST_SAG: Final = 0.01
"""Share of its voltage by which a pack sags at least under a motor's full power."""


def sag_signal(log: Log, tuning: MotorTuning) -> MotorSignal | None:
    """The sag of the pack's voltage below its resting level, for want of anything better.

    A pack rests lower after a run than before it: the resting level is the lower one of the highest voltages of the
    minute before and of the minute after. A minute that is low throughout, beside what the voltage rises to within
    three, was under load all the time. And a pack recovers slowly: the part of the sag that builds up under load and
    dies away after it is taken off. A sag of a coarse sensor's steps at rest is none.
    """
    if not log.has("voltage_v"):
        return None
    time_s, volts = (log.frame[name].to_numpy(dtype=float) for name in ("time_s", "voltage_v"))
    there = np.isfinite(volts)
    usual = float(np.median(volts[there]))
    part, present = (time_s / tuning.rest_voltage_s).astype(np.intp), volts[there]
    level, later = (_resting(present, part[there], parts) for parts in (_REST_PARTS, _LONG_PARTS))
    loaded = later - level > _LOADED * (later - present).max()
    sag = np.full(len(volts), np.nan)
    sag[there] = np.where(loaded, later, level) - present
    sag -= _lasting(time_s, sag, there, tuning)
    signal = scaled("voltage_v", sag, LEAST_SAG * usual, tuning.sag_share, sampling_step(log), tuning)
    if signal is None:
        return None
    steps = tuning.idle_steps * quantum_of(pieces(volts)) * signal.per_unit
    if steps >= 1.0:
        return None
    return replace(signal, low=max(signal.low, steps), high=max(signal.high, steps))


def sags_beside(log: Log, spans: Sequence[Rows]) -> Array | None:
    """How far the pack sags in index spans below its voltage around each, as shares of the deepest of these sags.

    None where the voltage does not tell: it is not logged, never sags, or comes in steps of a tenth of the sag.
    """
    if not log.has("voltage_v") or not spans:
        return None
    time_s, volts = (log.frame[name].to_numpy(dtype=float) for name in ("time_s", "voltage_v"))
    resting = np.isfinite(volts)
    for first, last in spans:
        resting[first:last] = False
    sags = np.zeros(len(spans))
    for index, (first, last) in enumerate(spans):
        loaded = volts[first:last][np.isfinite(volts[first:last])]
        around = slice(*time_s.searchsorted((time_s[first] - _BESIDE_S, time_s[last - 1] + _BESIDE_S)))
        rest = volts[around][resting[around]]
        if loaded.size and rest.size:
            sags[index] = median_of(rest) - median_of(loaded)
    deepest = float(sags.max())
    return sags / deepest if deepest > _COARSE * quantum_of(pieces(volts)) else None


def _resting(volts: Array, part: Indices, parts: int) -> Array:
    """The lower one of the highest voltages in so many parts of the log before, and after, each reading's and in it."""
    rest = np.full(part[-1] + 1, -np.inf)
    np.maximum.at(rest, part, volts)
    padded = np.pad(rest, parts, constant_values=-np.inf)
    highest = np.lib.stride_tricks.sliding_window_view(padded, parts + 1).max(axis=1)
    return np.asarray(np.minimum(highest[: len(rest)], highest[-len(rest) :])[part])


def _lasting(time_s: Array, sag: Array, there: Mask, tuning: MotorTuning) -> Array:
    """The part of a sag that outlasts the load: its first-order response.

    The equivalent circuit of a cell is a resistance R0 in series with one R1 that a capacity bridges (time constant
    T): what R1 takes follows the current, and the current the rest of the sag. So it is R1 / (R0 + R1) of the sag
    behind a first-order lag of T R0 / (R0 + R1) (G.L. Plett, *Battery Management Systems* 1, Artech 2015, chapter 2:
    from memory).
    """
    from scipy.signal import lfilter

    grid = np.arange(0.0, time_s[-1] + _RECOVERY_STEP_S, _RECOVERY_STEP_S)
    gain = -np.expm1(-_RECOVERY_STEP_S / tuning.recovery_s)
    followed = lfilter([gain], [1.0, gain - 1.0], np.interp(grid, time_s[there], sag[there]))
    return np.asarray(tuning.recovery_share * np.interp(time_s, grid, followed))
