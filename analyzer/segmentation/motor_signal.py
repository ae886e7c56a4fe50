"""Signals that tell whether the motor runs, brought to one scale: 0 at the log's own idle, 1 at its full power."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import pieces, quantum_of
from analyzer.robust_fit import median_of
from analyzer.segmentation.spans import spans_of
from analyzer.segmentation.windmill import windmilling_rpm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

LEAST_FULL: Final = {"power_w": 10.0, "current_a": 1.5, "rpm": 500.0, "throttle": 0.1}
"""What a motor takes at the very least: 10 W carries 0.3 kg up at 1 m/s with an efficiency of 0.3; the currents and
speeds that go with it; a log whose channel never exceeds idle by as much shows no motor."""

_NEVER_IDLE: Final = 3.0
"""Readings of so many times that, and of a fifth of the highest, are no idle: there the motor runs all the time..."""

_DOWN_M: Final = 20.0
"""... unless the model comes down by more than this meanwhile: then it is the sensor's zero that is off."""

_REST_PARTS: Final = 6
_LONG_PARTS: Final = 18
"""No run lasts longer than so many parts of the log, three minutes."""

_LOADED: Final = 0.2
"""A pack that recovers lacks less than this share of its deepest sag after a minute."""

_SILENCE_S: Final = 5.0
"""Stamps farther apart than this are no sampling."""

_RECOVERY_STEP_S: Final = 0.1

_BESIDE_S: Final = 5.0
"""Around a run the pack's voltage is taken over this on either side."""

_COARSE: Final = 10.0
"""A voltage shows the sag of part throttle when full throttle makes more than so many of its steps."""

LEAST_SAG: Final = 0.01
"""Share of its voltage by which a pack sags at least under a motor's full power."""


@dataclass(frozen=True)
class MotorSignal:
    """One channel on the scale from idle (0) to full power (1).

    Attributes
    ----------
    column : str
        The channel.
    level : numpy.ndarray, shape (n,)
        Scaled readings; NaN where missing.
    low : float
        Above this a reading is no idle noise.
    high : float
        Above this it is no burst of the avionics either, by the statistics of the idle readings.
    per_unit : float
        Scaled reading of one unit of the channel.
    by_air : bool
        Whether it is the speed of a shaft beyond that at which the air turns it: no witness beside another channel.
    """

    column: str
    level: Array
    low: float
    high: float
    per_unit: float = 1.0
    by_air: bool = False


def sampling_step(log: Log) -> float:
    """Mean distance between a log's stamps, in seconds, silences left out.

    The mean, not the median: where every sensor has a stamp of its own, most stamps are milliseconds apart, and only
    the mean turns a number of rows into the time that they cover.
    """
    time_s = log.frame["time_s"].to_numpy(dtype=float)
    apart = pieces(time_s[1:]) - pieces(time_s[:-1])
    apart = apart[apart < _SILENCE_S]
    return float(apart.mean()) if len(apart) else 1.0


def moves(log: Log, column: str) -> bool:
    """Whether a channel reads more than one value; else it is not logged, its sensor dead, or not plugged in."""
    return log.has(column) and bool(log.frame[column].max() > log.frame[column].min())


def motor_signal(log: Log, column: str, tuning: SegmentationTuning) -> MotorSignal | None:
    """A channel as a motor signal; None when it is not logged or shows no motor."""
    if not moves(log, column):
        return None
    values, climb = (log.frame[name].to_numpy(dtype=float) for name in (column, "climb_m_s"))
    signal = _scaled(column, values, LEAST_FULL[column], tuning.motor_share, sampling_step(log), tuning, climb)
    return signal and _above_steps(signal, log, tuning)


def _above_steps(signal: MotorSignal, log: Log, tuning: SegmentationTuning) -> MotorSignal:
    """Power or current with its floors above the steps of a coarse sensor.

    An idle of half a step flips between two readings, for seconds at a time; power has the steps of its current.
    """
    if per_ampere(signal, log) == 0.0 or not log.has("current_a"):
        return signal
    steps = tuning.idle_steps * quantum_of(pieces(log.frame["current_a"].to_numpy(dtype=float)))
    low = max(signal.low, min(steps * per_ampere(signal, log), tuning.idle_below))
    return replace(signal, low=low, high=max(signal.high, low))


def shaft_signal(log: Log, power: MotorSignal | None, tuning: SegmentationTuning) -> MotorSignal | None:
    """The shaft's speed beyond that at which the air turns it; None when it is not logged or shows no motor."""
    if not moves(log, "rpm"):
        return None
    rpm, climb = (log.frame[name].to_numpy(dtype=float) for name in ("rpm", "climb_m_s"))
    gliding, step_s = climb < -tuning.gliding_m_s, sampling_step(log)
    if power is not None:
        gliding &= power.level <= power.low
    full = _full_power(rpm[np.isfinite(rpm)], step_s, tuning)
    by_air = windmilling_rpm(rpm, gliding, full, tuning)
    beyond = np.maximum(rpm - by_air, 0.0) if by_air > 0.0 else rpm
    shaft = _scaled("rpm", beyond, LEAST_FULL["rpm"], tuning.motor_share, step_s, tuning)
    return replace(shaft, by_air=by_air > 0.0) if shaft is not None else None


def per_ampere(signal: MotorSignal, log: Log) -> float:
    """Scaled reading of one ampere from the pack; 0 where the log does not tell."""
    if signal.column == "power_w" and log.has("voltage_v"):
        return signal.per_unit * float(np.nan_to_num(log.frame["voltage_v"].max()))
    return signal.per_unit if signal.column == "current_a" else 0.0


def without_witness(signal: MotorSignal, log: Log, tuning: SegmentationTuning) -> MotorSignal | None:
    """Power or current that has no witness, above servo loads; None when it shows nothing but what servos take."""
    servos = tuning.servos_a * per_ampere(signal, log)
    return None if servos > 1.0 else replace(signal, high=max(signal.high, min(servos, tuning.undoubted)))


def sag_signal(log: Log, tuning: SegmentationTuning) -> MotorSignal | None:
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
    signal = _scaled("voltage_v", sag, LEAST_SAG * usual, tuning.sag_share, sampling_step(log), tuning)
    if signal is None:
        return None
    steps = tuning.idle_steps * quantum_of(pieces(volts)) * signal.per_unit
    if steps >= 1.0:
        return None
    return replace(signal, low=max(signal.low, steps), high=max(signal.high, steps))


def sags_beside(log: Log, spans: Sequence[tuple[int, int]]) -> Array | None:
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


def _resting(volts: Array, part: NDArray[np.intp], parts: int) -> Array:
    """The lower one of the highest voltages in so many parts of the log before, and after, each reading's and in it."""
    rest = np.full(part[-1] + 1, -np.inf)
    np.maximum.at(rest, part, volts)
    padded = np.pad(rest, parts, constant_values=-np.inf)
    highest = np.lib.stride_tricks.sliding_window_view(padded, parts + 1).max(axis=1)
    return np.asarray(np.minimum(highest[: len(rest)], highest[-len(rest) :])[part])


def _lasting(time_s: Array, sag: Array, there: NDArray[np.bool_], tuning: SegmentationTuning) -> Array:
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


def _scaled(
    column: str,
    values: Array,
    least_full: float,
    share: float,
    step: float,
    tuning: SegmentationTuning,
    climb_m_s: Array | None = None,
) -> MotorSignal | None:
    """Bring a channel to the scale; with the climb beside it, a zero that is far off is told from a steady load."""
    missing = np.isnan(values)
    present = values[~missing] if missing.any() else values
    full = _full_power(present, step, tuning)
    lowest = _idle_up_to(present, full)
    sample = pieces(present)
    idle = float(np.median(sample[sample <= lowest]))
    loaded = idle >= max(0.2 * full, _NEVER_IDLE * least_full)
    if loaded and (climb_m_s is None or np.nansum(climb_m_s[values <= lowest]) * step > -_DOWN_M):
        idle = 0.0
    if full <= idle or full - idle < least_full:
        return None
    level = values - idle
    level /= full - idle
    low, high = _noise_floors(level[~missing] if missing.any() else level, share, step, tuning)
    return MotorSignal(column, level, low, high, 1.0 / (full - idle))


def _full_power(present: Array, step: float, tuning: SegmentationTuning) -> float:
    """What readings exceed for as long as any run lasts."""
    some = pieces(present)
    rank = min(len(some), max(3, round(tuning.full_power_s / step)))
    return highest(present[present >= highest(some, rank)], rank)


def highest(values: Array, rank: int) -> float:
    """The value that comes at a rank, from the highest down."""
    return float(np.partition(values, -rank)[-rank])


def _idle_up_to(present: Array, full: float) -> float:
    """The highest of the lower cluster of readings."""
    base = float(np.quantile(pieces(present), 0.02))
    return base + 0.15 * (full - base)


def _noise_floors(level: Array, share: float, step_s: float, tuning: SegmentationTuning) -> tuple[float, float]:
    """Floors of noise and of bursts from the readings with the motor off.

    Noise: `motor_sigma` standard deviations, from the lower half of the readings, where there are no bursts. Bursts
    (servo loads) are short and have an exponential tail: the floor is what one exceeds once in twenty such logs.
    """
    sample = pieces(level)
    idle = sample[sample < tuning.idle_below]
    spread = float(np.median(idle) - np.quantile(idle, 0.16)) if len(idle) else 0.0
    low = max(share, tuning.motor_sigma * spread)
    least = max(2.0 * low, tuning.least_peak)
    peaks = [level[a:b].max() - low for a, b in spans_of(level > low) if (b - a) * step_s <= tuning.burst_s]
    bursts = [peak for peak in peaks if peak < tuning.idle_below]
    if len(bursts) < 3:
        return low, least
    extreme = low + float(np.mean(bursts)) * (np.log(len(bursts)) + 3.0)
    return low, max(least, min(extreme, 0.5))
