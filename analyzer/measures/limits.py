"""The setup's limits beside the worst that was logged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.limits import (
    BURST,
    CELL_VOLTAGE,
    CONTINUOUS,
    LIMITS,
    MOTOR_CURRENT,
    MOTOR_SPEED,
    RECEIVER_VOLTAGE,
    Limit,
)
from analyzer.measures.full_scale import full_scale
from analyzer.measures.peaks import highest_mean
from analyzer.power_system.pack import REST_CELL_V
from analyzer.records import LimitCheck

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.measures.draw import CounterDraw, Draw
    from analyzer.measures.traces import Traces
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
    A sensor at its end shows that a limit was passed, but not that one was kept.

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
    under_power = [traces.window(run.start_s, run.end_s) for run in runs]
    sustained = _highest(traces, amps, under_power, tuning.sustained_s)
    burst = _highest(traces, amps, under_power, tuning.burst_s)
    worst = {
        CONTINUOUS: sustained,
        BURST: burst,
        MOTOR_CURRENT: burst,
        MOTOR_SPEED: _motor_rpm(_highest(traces, traces.get("rpm"), under_power, tuning.burst_s), setup),
        CELL_VOLTAGE: _cell_voltage(_lowest(traces, "voltage_v", under_power, tuning.burst_s), rest_v, setup),
        # servos load the receiver's supply with the motor off, too
        RECEIVER_VOLTAGE: _lowest(traces, "receiver_voltage_v", [slice(None)], tuning.receiver_dip_s),
    }
    stated = {limit: value for limit in LIMITS if (value := setup.value(limit.key)) is not None}
    if full_scale(current) is not None:  # what it read is the least that it may have been
        unsure = [limit for limit in (CONTINUOUS, BURST, MOTOR_CURRENT) if _is_kept(worst[limit], stated.get(limit))]
        worst |= dict.fromkeys(unsure)
    return tuple(_check(limit, value, worst[limit]) for limit, value in stated.items())


def cells_contradict(rest_v: float, pack: Pack) -> bool:
    """Whether a pack that rests at this voltage cannot have the cells, or the chemistry, that a setup states."""
    if not pack.cells:
        return False
    empty_v, *_, full_v = REST_CELL_V[pack.chemistry]
    return not empty_v - REST_MARGIN_V <= rest_v / pack.cells <= full_v + REST_MARGIN_V


def _is_kept(worst: Worst | None, limit: float | None) -> bool:
    return worst is not None and limit is not None and worst.value <= limit


def _check(limit: Limit, stated: float, worst: Worst | None) -> LimitCheck:
    """Hold the worst that was logged against what is stated."""
    if worst is None:
        return LimitCheck(limit.name, stated, None, None, None, limit.unit)
    margin = limit.margin(stated, worst.value)
    return LimitCheck(limit.name, stated, worst.value, margin, margin >= 0.0, limit.unit, worst.at_s)


def _highest(traces: Traces, values: Array | None, windows: Sequence[slice], over_s: float) -> Worst | None:
    """Highest mean over `over_s` within any of the windows."""
    if values is None:
        return None
    found = []
    for inside in windows:
        known = np.isfinite(values[inside])
        if known.any():
            found.append(Worst(*highest_mean(traces.time_s[inside][known], values[inside][known], over_s)))
    return max(found, key=lambda worst: worst.value, default=None)


def _lowest(traces: Traces, name: str, windows: Sequence[slice], over_s: float) -> Worst | None:
    values = traces.get(name)
    worst = _highest(traces, -values if values is not None else None, windows, over_s)
    return Worst(-worst.value, worst.at_s) if worst is not None else None


def _motor_rpm(logged: Worst | None, setup: Setup) -> Worst | None:
    """Speed of the motor itself; where the propeller's is logged, times the gear ratio."""
    if logged is None or setup.telemetry.rpm_measured_at == "motor" or setup.gearbox is None:
        return logged
    return Worst(logged.value * setup.gearbox.ratio, logged.at_s)


def _cell_voltage(pack: Worst | None, rest_v: float | None, setup: Setup) -> Worst | None:
    """Voltage of a cell, all taken as equal; none where the setup's cells are not the pack's."""
    cells = setup.value("pack.cells")
    if rest_v is not None and setup.pack is not None and cells_contradict(rest_v, setup.pack):
        return None
    return Worst(pack.value / cells, pack.at_s) if pack is not None and cells else None
