"""The setup's limits beside the worst that was logged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.peaks import highest_mean
from analyzer.power_system.pack import REST_CELL_V
from analyzer.records import LimitCheck

if TYPE_CHECKING:
    from analyzer.measures.draw import CounterDraw, Draw
    from analyzer.measures.traces import Array, Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment
    from analyzer.setup_file import Pack, Setup

REST_MARGIN_V: Final = 0.1
"""A cell may rest this far beyond its chemistry's table: errors of sensor and table (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Worst:
    """The worst value of a channel, and when it began."""

    value: float
    at_s: float


def check_limits(
    traces: Traces,
    runs: tuple[Segment, ...],
    current: Draw | CounterDraw | None,
    rest_v: float | None,
    setup: Setup,
    tuning: MeasureTuning,
) -> tuple[LimitCheck, ...]:
    """Compare each limit that a setup gives with the log.

    Current is the motor's: what flows with the motor off, does not flow through the controller. A continuous rating
    is held against the highest mean over `sustained_s`, a burst rating and the motor's own against that over `burst_s`.

    Parameters
    ----------
    traces : Traces
        The log's channels.
    runs : tuple of Segment
        Its motor runs.
    current : Draw, CounterDraw or None
        Its current, for the level with the motor off.
    rest_v : float or None
        Voltage at which the pack rests: where the setup's cells cannot have it, theirs is not checked.
    setup : Setup
        The setup with its limits; those it does not give are not checked.
    tuning : MeasureTuning
        Tuning values.

    Returns
    -------
    tuple of LimitCheck
        A limit that cannot be checked has `measured` and `ok` None.
    """
    amps = traces.get("current_a")
    if amps is not None and current is not None:
        amps = amps - (current.idle_level(runs[0]) if runs else 0.0)
    cell = _cell_voltage(traces, runs, rest_v, setup, tuning)
    sustained = _highest(traces, amps, runs, tuning.sustained_s)
    burst = _highest(traces, amps, runs, tuning.burst_s)
    checks = [
        _upper("controller current, continuous", setup.value("speed_controller.continuous_current_a"), sustained, "A"),
        _upper("controller current, burst", setup.value("speed_controller.burst_current_a"), burst, "A"),
        _upper("motor current", setup.value("motor.max_current_a"), burst, "A"),
        _upper("motor rpm", setup.value("motor.max_rpm"), _motor_rpm(traces, runs, setup, tuning), "rpm"),
        _lower("cell voltage under load", setup.value("pack.min_cell_v"), cell),
        _lower("receiver voltage", setup.value("receiver_supply.min_v"), _receiver_voltage(traces, tuning)),
    ]
    return tuple(check for check in checks if check is not None)


def cells_contradict(rest_v: float, pack: Pack) -> bool:
    """Whether a pack that rests at this voltage cannot have the cells, or the chemistry, that a setup states."""
    if not pack.cells:
        return False
    empty_v, *_, full_v = REST_CELL_V[pack.chemistry]
    return not empty_v - REST_MARGIN_V <= rest_v / pack.cells <= full_v + REST_MARGIN_V


def _upper(name: str, limit: float | None, worst: Worst | None, unit: str) -> LimitCheck | None:
    if limit is None:
        return None
    if worst is None:
        return LimitCheck(name, limit, None, None, None, unit)
    return LimitCheck(name, limit, worst.value, limit - worst.value, worst.value <= limit, unit, worst.at_s)


def _lower(name: str, limit: float | None, worst: Worst | None) -> LimitCheck | None:
    if limit is None:
        return None
    if worst is None:
        return LimitCheck(name, limit, None, None, None, "V")
    return LimitCheck(name, limit, worst.value, worst.value - limit, worst.value >= limit, "V", worst.at_s)


def _highest(traces: Traces, values: Array | None, spans: tuple[Segment, ...], over_s: float) -> Worst | None:
    """Highest mean over `over_s` within any of the spans."""
    if values is None:
        return None
    found = []
    for span in spans:
        inside = traces.window(span.start_s, span.end_s)
        known = np.isfinite(values[inside])
        if known.any():
            found.append(Worst(*highest_mean(traces.time_s[inside][known], values[inside][known], over_s)))
    return max(found, key=lambda worst: worst.value, default=None)


def _lowest(traces: Traces, values: Array | None, spans: tuple[Segment, ...], over_s: float) -> Worst | None:
    worst = _highest(traces, -values if values is not None else None, spans, over_s)
    return Worst(-worst.value, worst.at_s) if worst is not None else None


def _motor_rpm(traces: Traces, runs: tuple[Segment, ...], setup: Setup, tuning: MeasureTuning) -> Worst | None:
    """Highest speed of the motor itself; where the propeller's is logged, times the gear ratio."""
    worst = _highest(traces, traces.get("rpm"), runs, tuning.burst_s)
    if worst is None or setup.telemetry.rpm_measured_at == "motor" or setup.gearbox is None:
        return worst
    return Worst(worst.value * setup.gearbox.ratio, worst.at_s)


def _cell_voltage(
    traces: Traces, runs: tuple[Segment, ...], rest_v: float | None, setup: Setup, tuning: MeasureTuning
) -> Worst | None:
    """Lowest voltage of a cell under load, all cells taken as equal; none where the setup's are not the pack's."""
    cells = setup.value("pack.cells")
    if rest_v is not None and setup.pack is not None and cells_contradict(rest_v, setup.pack):
        return None
    worst = _lowest(traces, traces.get("voltage_v"), runs, tuning.burst_s)
    return Worst(worst.value / cells, worst.at_s) if worst is not None and cells else None


def _receiver_voltage(traces: Traces, tuning: MeasureTuning) -> Worst | None:
    """Lowest receiver voltage of the whole log: servos load it with the motor off, too."""
    values = traces.get("receiver_voltage_v")
    if values is None:
        return None
    known = np.isfinite(values)
    time_s, level = traces.time_s[known], -values[known]
    value, at_s = highest_mean(time_s, level, tuning.receiver_dip_s)
    return Worst(-value, at_s)
