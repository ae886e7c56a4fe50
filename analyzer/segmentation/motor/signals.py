"""Signals that tell whether the motor runs, brought to one scale: 0 at the log's own idle, 1 at its full power."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.drive import READING_COLUMNS
from analyzer.conditioning.sampling import pieces, quantum_of
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.records import Log
    from analyzer.segmentation.motor.tuning import MotorTuning


LEAST_FULL: Final = {"power_w": 10.0, "current_a": 1.5, "rpm": 500.0, "throttle": 0.1}
"""What a motor takes at the very least: 10 W carries 0.3 kg up at 1 m/s with an efficiency of 0.3; the currents and
speeds that go with it; a log whose channel never exceeds idle by as much shows no motor."""

_NEVER_IDLE: Final = 3.0
"""Readings of so many times that, and of a fifth of the highest, are no idle: there the motor runs all the time..."""

_DOWN_M: Final = 20.0
"""... unless the model comes down by more than this meanwhile: then it is the sensor's zero that is off."""

_SILENCE_S: Final = 5.0
"""Stamps farther apart than this are no sampling."""


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


def motor_signal(log: Log, column: str, tuning: MotorTuning) -> MotorSignal | None:
    """A channel as a motor signal; None when it is not logged or shows no motor."""
    if not moves(log, column):
        return None
    values, climb = (log.frame[name].to_numpy(dtype=float) for name in (column, "climb_m_s"))
    signal = scaled(column, values, LEAST_FULL[column], tuning.motor_share, sampling_step(log), tuning, climb)
    return signal and _above_steps(signal, log, tuning)


def _above_steps(signal: MotorSignal, log: Log, tuning: MotorTuning) -> MotorSignal:
    """Power or current with its floors above the steps of a coarse sensor.

    An idle of half a step flips between two readings, for seconds at a time; power has the steps of its current.
    """
    if per_ampere(signal, log) == 0.0 or not log.has("current_a"):
        return signal
    steps = tuning.idle_steps * quantum_of(pieces(log.frame["current_a"].to_numpy(dtype=float)))
    low = max(signal.low, min(steps * per_ampere(signal, log), tuning.idle_below))
    return replace(signal, low=low, high=max(signal.high, low))


def per_ampere(signal: MotorSignal, log: Log) -> float:
    """Scaled reading of one ampere from the pack; 0 where the log does not tell."""
    if signal.column == "power_w" and log.has("voltage_v"):
        return signal.per_unit * float(np.nan_to_num(log.frame["voltage_v"].max()))
    return signal.per_unit if signal.column == "current_a" else 0.0


def readings_of(signal: MotorSignal, log: Log) -> Mask:
    """Rows at which a sensor reports a new value; every known row where that is not told.

    A power that is not logged comes with the current's readings.
    """
    sources = ("power_w", "current_a") if signal.column == "power_w" else (signal.column,)
    columns = (READING_COLUMNS.get(source, "") for source in sources)
    told = next((column for column in columns if log.has(column)), None)
    return np.isfinite(signal.level if told is None else log.frame[told].to_numpy(dtype=float))


def as_read(signal: MotorSignal, log: Log) -> MotorSignal:
    """A signal at its sensor's own readings alone: an edge lies between two of them, whatever fills other rows."""
    read = readings_of(signal, log)
    if read.all():
        return signal
    level = signal.level.copy()
    level[~read] = np.nan
    return replace(signal, level=level)


def without_witness(signal: MotorSignal, log: Log, tuning: MotorTuning) -> MotorSignal | None:
    """Power or current that has no witness, above servo loads; None when it shows nothing but what servos take."""
    servos = tuning.servos_a * per_ampere(signal, log)
    return None if servos > 1.0 else replace(signal, high=max(signal.high, min(servos, tuning.undoubted)))


def scaled(
    column: str,
    values: Array,
    least_full: float,
    share: float,
    step: float,
    tuning: MotorTuning,
    climb_m_s: Array | None = None,
) -> MotorSignal | None:
    """Bring a channel to the scale; None when it shows no motor.

    Parameters
    ----------
    column : str
        The channel.
    values : ndarray, shape (n,)
        Its readings; NaN where missing.
    least_full : float
        What a motor takes at full power at the very least, in the channel's unit.
    share : float
        Share of full power below which no motor runs.
    step : float
        Mean distance of the stamps, in seconds.
    tuning : MotorTuning
        The stage's tuning.
    climb_m_s : ndarray, optional
        Vertical speed beside it: that tells a zero that is far off from a steady load.
    """
    missing = np.isnan(values)
    present = values[~missing] if missing.any() else values
    full = full_power(present, step, tuning)
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


def full_power(present: Array, step: float, tuning: MotorTuning) -> float:
    """What readings (without missing ones, `step` seconds apart) exceed for as long as any run lasts."""
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


def _noise_floors(level: Array, share: float, step_s: float, tuning: MotorTuning) -> tuple[float, float]:
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
