"""The steady parts of motor runs: what was measured there, and under which conditions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from analyzer.match.rest_voltage import rest_voltage
from analyzer.measures.draw import Draw, current_draw
from analyzer.measures.integrals import integrate, signal_of
from analyzer.measures.traces import traces_of
from analyzer.measures.tuning import TUNING as MEASURES
from analyzer.power_system.air import air_state
from analyzer.records import Notice
from analyzer.soaring.flown_air import flown_density_kg_m3
from analyzer.wording import counted

if TYPE_CHECKING:
    from analyzer.match.tuning import MatchTuning
    from analyzer.measures.traces import Traces
    from analyzer.records import FlightSummary, Log, MotorRun
    from analyzer.setup_file import Setup


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured mean and its standard error."""

    value: float
    se: float


@dataclass(frozen=True)
class SteadyRun:
    """The steady part of one motor run.

    Attributes
    ----------
    log : str
        Name of the log.
    run_start_s, start_s, end_s : float
        When the run began, and the steady part of it.
    current_a, voltage_v, speed_rev_s : Reading or None
        The motor's current, the pack under load, the propeller's speed.
    climb_m_s : Reading
        Vertical speed; of the energy height where `airspeed_m_s` is known, so that gaining speed counts.
    rest_v : Reading
        Voltage that the pack would have at rest in the middle of the steady part.
    throttle : Reading or None
        Duty cycle, 0 to 1; None where it is neither logged nor full.
    airspeed_m_s : Reading or None
        True airspeed, where one is logged.
    density_ratio : float
        Density over that of the setup's field.
    """

    log: str
    run_start_s: float
    start_s: float
    end_s: float
    current_a: Reading | None
    voltage_v: Reading | None
    speed_rev_s: Reading | None
    climb_m_s: Reading
    rest_v: Reading
    throttle: Reading | None
    airspeed_m_s: Reading | None
    density_ratio: float

    @property
    def duration_s(self) -> float:
        """Length of the steady part."""
        return self.end_s - self.start_s

    @property
    def is_full_throttle(self) -> bool:
        """Whether the throttle is known to be full."""
        return self.throttle is not None and self.throttle.value == 1.0


def steady_runs(
    summary: FlightSummary, setup: Setup, log: Log, tuning: MatchTuning
) -> tuple[tuple[SteadyRun, ...], tuple[Notice, ...]]:
    """The steady parts of a log's climbs under power.

    Parameters
    ----------
    summary : FlightSummary
        Its motor runs; blips and runs on the ground are left out.
    setup : Setup
        The combination flown.
    log : Log
        The conditioned log.
    tuning : MatchTuning
        Tuning values.

    Returns
    -------
    tuple of SteadyRun
        Runs whose throttle is not known to be full carry none.
    tuple of Notice
        What was left out, and what was assumed.
    """
    traces = traces_of(log)
    segments = tuple(segment for segment in summary.segments if segment.kind == "motor_run")
    draw = current_draw(traces, segments, MEASURES)
    runs = [
        found
        for run in summary.climbs
        if (found := _steady(summary, setup, traces, draw if isinstance(draw, Draw) else None, run, tuning)) is not None
    ]
    notices = []
    left = len(summary.climbs) - len(runs)
    if left:
        notices.append(
            Notice(
                "runs-not-matched",
                f"{left} of {len(summary.climbs)} climbs are not held against the prediction: "
                f"no steady part of {tuning.shortest_s:.0f} s, or a gap in it.",
            )
        )
    if runs and all(run.throttle is None for run in runs):
        runs = _assumed_full(runs, tuning)
        notices.append(_throttle_notice(runs))
    return tuple(runs), tuple(notices)


def _steady(
    summary: FlightSummary, setup: Setup, traces: Traces, draw: Draw | None, run: MotorRun, tuning: MatchTuning
) -> SteadyRun | None:
    start_s, end_s = _spooled_s(traces, run, tuning) + tuning.settle_s, run.end_s - tuning.end_guard_s
    if end_s - start_s < tuning.shortest_s:
        return None
    current = _current(draw, run, start_s, end_s, tuning)
    if draw is not None and current is None:
        return None
    airspeed = _positive(_mean(traces, "airspeed_m_s", start_s, end_s))
    climb = _climb(traces, start_s, end_s, on_energy=airspeed is not None)
    if climb is None:
        return None
    ratio = _propeller_turns(setup)
    speed = _positive(_mean(traces, "rpm", start_s, end_s))
    throttle = _positive(_mean(traces, "throttle", start_s, end_s))
    rest = rest_voltage(traces, summary, setup, draw, run, 0.5 * (start_s + end_s), tuning)
    return SteadyRun(
        log=summary.log.name,
        run_start_s=run.start_s,
        start_s=start_s,
        end_s=end_s,
        current_a=current,
        voltage_v=_positive(_mean(traces, "voltage_v", start_s, end_s)),
        speed_rev_s=Reading(speed.value * ratio / 60.0, speed.se * ratio / 60.0) if speed is not None else None,
        climb_m_s=climb,
        rest_v=Reading(*rest),
        throttle=_duty(throttle, tuning) if throttle is not None else None,
        airspeed_m_s=airspeed,
        density_ratio=flown_density_kg_m3(traces, setup, start_s, end_s) / air_state(setup.air).density_kg_m3,
    )


def _spooled_s(traces: Traces, run: MotorRun, tuning: MatchTuning) -> float:
    """When the run is spooled up, by current, else power, else rpm; its start where none is logged."""
    inside = traces.window(run.start_s, run.end_s)
    for name in ("current_a", "power_w", "rpm"):
        values = traces.get(name)
        if values is None or not np.isfinite(values[inside]).any():
            continue
        time, known = traces.time_s[inside], values[inside]
        later = known[known.size // 3 :]
        held = np.nanmedian(later if np.isfinite(later).any() else known)
        reached = np.flatnonzero(known >= tuning.spooled_share * held)
        return float(time[reached[0]]) if reached.size else run.start_s
    return run.start_s


def _current(draw: Draw | None, run: MotorRun, start_s: float, end_s: float, tuning: MatchTuning) -> Reading | None:
    """The motor's mean current, above what flows with the motor off; None where too much of it is a gap."""
    if draw is None:
        return None
    total = integrate(draw.signal, start_s, end_s)
    if total.value <= 0.0 or total.in_gaps > tuning.most_in_gaps * total.value:
        return None
    segment = next(one for one in draw.runs if one.start_s == run.start_s)
    value = total.value / (end_s - start_s) - draw.idle_level(segment)
    scatter = draw.idle.scatter if draw.idle is not None else MEASURES.usual_idle_a
    return Reading(value, float(np.hypot(scatter, tuning.current_run * value))) if value > 0.0 else None


def _mean(traces: Traces, name: str, start_s: float, end_s: float) -> Reading | None:
    """Mean over the stretch; its error from the scatter of means over a second, which hardly know of one another."""
    values = traces.get(name)
    signal = signal_of(traces.time_s, values) if values is not None else None
    if signal is None or signal.time_s[-1] < start_s or signal.time_s[0] > end_s:
        return None
    edges = np.linspace(start_s, end_s, int(end_s - start_s) + 1)
    means = np.array([integrate(signal, *pair).value for pair in pairwise(edges)]) / np.diff(edges)
    return Reading(float(means.mean()), float(means.std(ddof=1) / np.sqrt(means.size)))


def _positive(mean: Reading | None) -> Reading | None:
    """A mean that a climb under power can have: a channel of zeros, or less, is one to which nothing is connected."""
    return mean if mean is not None and mean.value > 0.0 else None


def _climb(traces: Traces, start_s: float, end_s: float, *, on_energy: bool) -> Reading | None:
    """Height, or energy height, gained over the stretch."""
    name = "energy_height_m" if on_energy and traces.get("energy_height_m") is not None else "height_m"
    height, error = traces.channels[name], traces.channels["height_se_m"]
    known = np.isfinite(height) & np.isfinite(error)
    if not known[traces.window(start_s, end_s)].any():
        return None
    rise = np.diff(np.interp([start_s, end_s], traces.time_s[known], height[known]))[0]
    errors = np.interp([start_s, end_s], traces.time_s[known], error[known])
    length = end_s - start_s
    return Reading(float(rise / length), float(np.hypot(*errors) / length))


def _propeller_turns(setup: Setup) -> float:
    """Propeller turns per turn of the shaft whose rpm is logged."""
    geared = setup.gearbox is not None and setup.telemetry.rpm_measured_at == "motor"
    return 1.0 / setup.gearbox.ratio if geared and setup.gearbox is not None else 1.0


def _duty(throttle: Reading, tuning: MatchTuning) -> Reading:
    if throttle.value >= tuning.full_throttle:
        return Reading(1.0, 0.0)
    return Reading(throttle.value, float(np.hypot(throttle.se, tuning.part_throttle * throttle.value)))


def _assumed_full(runs: list[SteadyRun], tuning: MatchTuning) -> list[SteadyRun]:
    """Take the strongest runs as flown at full throttle; where no current is logged, all of them."""
    load = [run.current_a.value / run.rest_v.value**2 if run.current_a is not None else 1.0 for run in runs]
    full = [one >= tuning.full_share * max(load) for one in load]
    return [replace(run, throttle=Reading(1.0, 0.0)) if yes else run for run, yes in zip(runs, full, strict=True)]


def _throttle_notice(runs: list[SteadyRun]) -> Notice:
    weaker = sum(run.throttle is None for run in runs)
    rest = f"; {counted(weaker, 'weaker climb')} not held against the prediction" if weaker else ""
    return Notice(
        "full-throttle-assumed", f"No throttle is logged: the strongest climbs are taken as full throttle{rest}."
    )
