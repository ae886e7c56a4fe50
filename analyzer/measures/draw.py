"""What the motor draws: charge and energy of a run, above what flows with the motor off."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.drive import READING_COLUMNS
from analyzer.measures.idle import ENOUGH, Idle, idle_of
from analyzer.measures.integrals import SECONDS_PER_HOUR, Integral, Signal, integrate, signal_of, step_at

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment


@dataclass(frozen=True, slots=True)
class Drawn:
    """What one run drew, in ampere-hours or watt-hours, its standard error, and the share that fell into gaps."""

    value: float
    se: float
    interpolated_share: float


NOT_FALLEN: Final = 0.8
NEAR_IDLE: Final = 0.03
"""Shares of a run's mean above idle: a sensor that still reads the first has not begun to fall after a stop, and one
that reads less than the second has fallen."""

SILENT: Final = 0.9
"""Of a run in which the sensor was silent for more than this share of the time nothing is known."""

NOTHING: Final = 1e-6
"""Less is a rounding error of the integral."""

MOST_COUNTED: Final = 3.0
"""A counter that counted more than this many times what lies between the readings on either side was reset."""


@dataclass(frozen=True)
class Draw:
    """Current or power of a log, and its level with the motor off.

    `counter` is the charge counter in ampere-hours, where the log has one: it goes on counting in a gap.
    """

    signal: Signal
    idle: Idle | None
    runs: tuple[Segment, ...]
    tuning: MeasureTuning
    counter: Signal | None = None

    def idle_level(self, run: Segment) -> float:
        """Reading with the motor off, around a run."""
        if self.idle is None:
            return 0.0
        return self.idle.around(run.start_s, run.end_s, self.tuning.idle_reach_s, self.tuning.fewest_idle)

    def of_run(self, run: Segment) -> Drawn | None:
        """Integrate a run above idle; None where the sensor was silent for nearly all of it, and no counter went on.

        The integral reaches somewhat beyond the run on both sides, where there is nothing above idle to add: so it does
        not matter between which readings the motor stopped, or how slow or late the sensor is. One that goes on reading
        full current long after the motor stopped is stuck, and then it ends with the run.
        """
        level = self.idle_level(run)
        total = integrate(self.signal, run.start_s, run.end_s)
        if self.counter is not None and total.in_gaps > 0.0:
            total = _with_counter(total, self.signal, self.counter, run.start_s, run.end_s)
        if np.diff(self.signal.holes(run.start_s, run.end_s)).sum() > SILENT * run.duration_s:
            return None
        core = total.value - level * run.duration_s
        mean = core / run.duration_s
        start, end = self._reach(run, level, mean)
        stuck = self._stuck(run, level, mean)
        after = 0.5 * self._steps(run)[1] * mean if stuck else self._above(run.end_s, end, level)
        value = core + self._above(start, run.start_s, level) + after
        error = self._error(run, value, total, end - start)
        share = min(max(total.in_gaps / total.value, 0.0), 1.0) if total.value > 0.0 else 0.0
        return Drawn(value / SECONDS_PER_HOUR, error / SECONDS_PER_HOUR, share)

    def _above(self, start_s: float, end_s: float, level: float) -> float:
        """What the signal holds above idle between two instants."""
        return self.signal.area(start_s, end_s) - level * (end_s - start_s)

    def _stuck(self, run: Segment, level: float, mean: float) -> bool:
        """Whether the sensor falls silent with the stop, or has not begun to fall long after it."""
        first = int(self.signal.time_s.searchsorted(run.end_s + self.tuning.latest_sensor_s))
        reading = self.signal.values[first : first + 1]
        in_time = self.signal.time_s[first : first + 1] < run.end_s + self.tuning.slowest_sensor_s
        return not bool((in_time & (reading - level < NOT_FALLEN * mean)).any())

    def _reach(self, run: Segment, level: float, mean: float) -> tuple[float, float]:
        """Bounds of the integral, at most half way to the run's neighbours.

        The margin, or a reading, before the run, and as much after the first reading that is near idle again.
        """
        steps, margin = self._steps(run), self.tuning.edge_margin_s
        first, last = self.signal.time_s.searchsorted([run.end_s, run.end_s + self.tuning.slowest_sensor_s])
        idle = np.flatnonzero(self.signal.values[first:last] - level < NEAR_IDLE * mean)
        settled = float(self.signal.time_s[first + idle[0]]) if idle.size else run.end_s
        index = bisect_left(self.runs, run.start_s, key=lambda other: other.start_s)
        before, after = self.runs[max(index - 1, 0) : index], self.runs[index + 1 : index + 2]
        start = max([run.start_s - max(margin, steps[0]), *(0.5 * (other.end_s + run.start_s) for other in before)])
        end = max(run.end_s + max(margin, steps[1]), settled + margin)
        return start, min([end, *(0.5 * (other.start_s + run.end_s) for other in after)])

    def _steps(self, run: Segment) -> list[float]:
        """Distance between the sensor's readings around the start and the stop of a run, in seconds."""
        longest = self.tuning.longest_edge_gap_s
        return [min(step_at(self.signal, edge), longest) for edge in (run.start_s, run.end_s)]

    def _error(self, run: Segment, value: float, total: Integral, length_s: float) -> float:
        """Standard error of a run's integral, in the signal's unit times seconds.

        The level with the motor off; at either edge, the moment at which the motor started or stopped, uniform over one
        step of the sensor's own, or over the gap that it fell into; the gaps. The sensor's scale is not in it: no log
        shows it, and it is the same for all its logs.
        """
        tuning = self.tuning
        scatter = self.idle.scatter if self.idle is not None else tuning.usual_idle_a
        mean = value / max(run.duration_s, 1e-9)
        edges = mean * np.array(self._steps(run)) / np.sqrt(12.0)
        gaps = total.in_gaps * tuning.gap_error
        return float(np.sqrt((scatter * length_s) ** 2 + edges @ edges + gaps**2))


@dataclass(frozen=True)
class CounterDraw:
    """Charge as a counter in the log counted it, where no current is logged.

    Attributes
    ----------
    counter : Signal
        In ampere-hours.
    idle_a : float
        Rate at which it counts with the motor off.
    step_ah : float
        Its resolution.
    """

    counter: Signal
    idle_a: float
    step_ah: float
    tuning: MeasureTuning

    def idle_level(self, run: Segment) -> float:
        """Rate with the motor off."""
        return self.idle_a

    def of_run(self, run: Segment) -> Drawn | None:
        """Difference of the counter over a run, less what it counts with the motor off.

        None where it was silent at the start or the end of the run, or began anew in it.
        """
        stamps, slack_s = self.counter.time_s, self.counter.gap_s
        if stamps[0] > run.start_s + slack_s or stamps[-1] < run.end_s - slack_s:
            return None
        margin = self.tuning.edge_margin_s
        before, after = np.interp([run.start_s - margin, run.end_s + margin], stamps, self.counter.values)
        value = float(after - before) - self.idle_a * (run.duration_s + 2.0 * margin) / SECONDS_PER_HOUR
        idle = self.tuning.usual_idle_a * run.duration_s / SECONDS_PER_HOUR
        error = float(np.hypot(self.step_ah / np.sqrt(6.0), idle))
        return Drawn(value, error, 0.0) if value > -3.0 * error else None


@dataclass(frozen=True, slots=True)
class Draws:
    """What a log shows of its consumption; None where it shows nothing."""

    current: Draw | CounterDraw | None
    power: Draw | None


def draws_of(traces: Traces, runs: tuple[Segment, ...], tuning: MeasureTuning) -> Draws:
    """The log's current and power."""
    current = current_draw(traces, runs, tuning)
    return Draws(current, power_draw(traces, runs, tuning, current))


def current_draw(traces: Traces, runs: tuple[Segment, ...], tuning: MeasureTuning) -> Draw | CounterDraw | None:
    """The log's current: as logged, else power over voltage, else the charge counter."""
    values, counter = _current(traces), traces.get("charge_ah")
    counted = signal_of(traces.time_s, counter) if counter is not None else None
    if values is None:
        return _counter_draw(counted, runs, tuning) if counted is not None else None
    signal = signal_of(traces.time_s, values)
    if signal is None:
        return None
    return _alive(Draw(signal, idle_of(signal, runs, tuning, tuning.usual_offset_a), runs, tuning, counted))


def power_draw(
    traces: Traces, runs: tuple[Segment, ...], tuning: MeasureTuning, amperes: Draw | CounterDraw | None
) -> Draw | None:
    """The log's electrical power: current times voltage at the current's own readings, else as logged.

    A current that is itself power over voltage gives the logged power back. Its idle is that of the log's current
    (`amperes`): multiplied by a voltage that flickers, it no longer shows the sensor's steps.
    """
    current, voltage = _current(traces), traces.get("voltage_v")
    values = _own_readings(traces, "power_w")
    if current is not None and voltage is not None:
        values = current * _without_silence(traces.time_s, voltage)
    signal = signal_of(traces.time_s, values) if values is not None else None
    if signal is None:
        return None
    if voltage is None or not isinstance(amperes, Draw) or amperes.idle is None:
        return _alive(Draw(signal, idle_of(signal, runs, tuning, hidden=0.0), runs, tuning))
    volts = float(np.nanmedian(voltage[:: max(1, voltage.size // ENOUGH)]))
    return _alive(Draw(signal, amperes.idle.of_power(signal.values, volts), runs, tuning))


def _alive(draw: Draw) -> Draw | None:
    """A draw, or None where it shows nothing of any run that another channel shows: its sensor is dead or silent."""
    if not draw.runs:
        return draw
    found = (draw.of_run(run) for run in draw.runs)
    return draw if any(drawn is not None and drawn.value > max(drawn.se, NOTHING) for drawn in found) else None


def _without_silence(time_s: Array, voltage_v: Array) -> Array:
    """A pack's voltage runs on smoothly where its sensor falls silent: no reason to lose the current's readings."""
    known = np.isfinite(voltage_v)
    return voltage_v if known.all() else np.interp(time_s, time_s[known], voltage_v[known])


def _own_readings(traces: Traces, name: str) -> Array | None:
    """A channel at its sensor's own readings, where conditioning has told them from the rows between them."""
    own = traces.get(READING_COLUMNS[name])
    return own if own is not None else traces.get(name)


def _current(traces: Traces) -> Array | None:
    """Current at its sensor's own readings, else at those of the power, over the voltage; None without either."""
    current, power = (_own_readings(traces, name) for name in ("current_a", "power_w"))
    voltage = traces.get("voltage_v")
    if current is not None or power is None or voltage is None:
        return current
    volts = _without_silence(traces.time_s, voltage)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(volts > 1.0, power / volts, np.nan)


def _with_counter(total: Integral, signal: Signal, counter: Signal, start_s: float, end_s: float) -> Integral:
    """Replace what was interpolated over the gaps by what a believable charge counter counted meanwhile."""
    levels = np.interp(signal.holes(start_s, end_s), counter.time_s, counter.values)
    counted = float(np.diff(levels).sum()) * SECONDS_PER_HOUR
    if not 0.0 < counted < MOST_COUNTED * total.in_gaps:
        return total
    return Integral(total.value - total.in_gaps + counted)


def _counter_draw(counter: Signal, runs: tuple[Segment, ...], tuning: MeasureTuning) -> CounterDraw:
    """Charge counter with its own idle rate: what it counted away from the runs, over the time that took."""
    bounds = [counter.time_s[0]]
    for run in runs:
        bounds += [run.start_s - tuning.idle_guard_s, run.end_s + tuning.idle_guard_s]
    edges = np.clip([*bounds, counter.time_s[-1]], counter.time_s[0], counter.time_s[-1]).reshape(-1, 2)
    quiet = edges[edges[:, 1] > edges[:, 0]]
    counted = np.interp(quiet, counter.time_s, counter.values)
    length = float(np.sum(quiet[:, 1] - quiet[:, 0]))
    rate = float(np.sum(counted[:, 1] - counted[:, 0])) * SECONDS_PER_HOUR / length if length > 0.0 else 0.0
    steps = np.diff(np.unique(counter.values))
    return CounterDraw(counter, max(rate, 0.0), float(steps.min()) if steps.size else 0.0, tuning)
