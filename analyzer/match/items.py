"""Predicted and measured, side by side, for each climb and for the flight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import NORMAL_95
from analyzer.match.climb_model import Climbs, conditions_of, spread_model
from analyzer.power_system.variants import interval
from analyzer.records import MatchItem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.match.estimate import Posterior
    from analyzer.match.steady import SteadyRun
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.calibrated import Candidates
    from analyzer.power_system.system import PowerSystem


QUANTITIES: Final = (
    ("current", "A"),
    ("propeller rpm", "rpm"),
    ("pack voltage under load", "V"),
    ("electrical power", "W"),
    ("climb rate", "m/s"),
    ("climb per Ah", "m/Ah"),
    ("climb per Wh", "m/Wh"),
)
"""What is held against the prediction, with its unit: stable names. All of the steady part of a climb."""

LEAST_DRAW: Final = 1e-3
"""Amperes, watts: at an edge of what is uncertain the propeller may windmill, and a climb for nothing has no bound."""


@dataclass(frozen=True)
class _Column:
    """One quantity in some climbs: predictions of all variants (s, runs), measured values and errors (runs,).

    `shared` is the part of the error that all climbs of the log have in common.
    """

    predicted: Array
    measured: Array
    error: Array
    shared: Array


def match_items(
    system: PowerSystem, candidate: Candidates, found: Posterior, tuning: MatchTuning
) -> tuple[MatchItem, ...]:
    """Hold climbs against their prediction.

    Parameters
    ----------
    system : PowerSystem
        All but the propeller.
    candidate : Candidates
        The propeller flown, with what is known of it.
    found : Posterior
        The climbs, and the airspeeds at which they were flown.
    tuning : MatchTuning
        Tuning values.

    Returns
    -------
    tuple of MatchItem
        For each climb, then for the flight (``run_start_s`` None), whose values are means by time over the climbs at
        full throttle, over all where there is none; of climb per Ah and per Wh the quotient of sums. What was not
        measured is left out.
    """
    runs = found.runs
    columns = _columns(_predicted(system, candidate, found), runs, tuning)
    seconds = np.array([run.duration_s for run in runs])
    full = np.array([run.is_full_throttle for run in runs])
    if full.any():
        seconds = np.where(full, seconds, 0.0)
    items = [
        _item(name, unit, column, np.eye(len(runs))[number], run.run_start_s)
        for number, run in enumerate(runs)
        for (name, unit), column in zip(QUANTITIES, columns, strict=True)
        if np.isfinite(column.measured[number])
    ]
    return (*items, *_flight_items(columns, seconds))


def _predicted(system: PowerSystem, candidate: Candidates, found: Posterior) -> Climbs:
    """The climbs in every variant: the parameters', then airspeed, throttle and rest voltage at both edges."""
    runs, conditions = found.runs, conditions_of(found.runs)
    model, steps, rows = spread_model(system, candidate.curves[0], candidate.calibration, conditions)
    spreads = np.array(
        [
            found.airspeed_share,
            [run.throttle.se / run.throttle.value if run.throttle is not None else 0.0 for run in runs],
            [run.rest_v.se for run in runs],
        ]
    )
    edges = np.concatenate([np.stack((way, -way)) for way in NORMAL_95 * spreads])
    still, which = np.zeros((len(steps), len(runs))), np.arange(len(edges))[:, None] // 2
    airspeed, throttle, rest = (
        np.concatenate((still, np.where(which == at, edges, 0.0))) for at in range(len(spreads))
    )
    return model.fly(
        np.concatenate((steps, np.repeat(steps[:1], len(edges), axis=0))),
        np.concatenate((rows, np.repeat(rows[:1], len(edges)))),
        found.airspeed_m_s * np.exp(airspeed),
        conditions.rest_v + rest,
        np.minimum(conditions.throttle * np.exp(throttle), 1.0),
    )


def _columns(climbs: Climbs, runs: Sequence[SteadyRun], tuning: MatchTuning) -> tuple[_Column, ...]:
    """Every quantity of `QUANTITIES`."""
    nothing = (np.nan, np.nan)
    current = np.array([(one.value, one.se) if (one := run.current_a) else nothing for run in runs])
    voltage = np.array([(one.value, one.se) if (one := run.voltage_v) else nothing for run in runs])
    speed = np.array([(one.value, one.se) if (one := run.speed_rev_s) else nothing for run in runs])
    climb = np.array([(run.climb_m_s.value, np.hypot(run.climb_m_s.se, tuning.air_run_m_s)) for run in runs])
    amps, volts, rise = current[:, 0], voltage[:, 0], climb[:, 0]
    volt_error = np.hypot(voltage[:, 1], tuning.voltage_run_v)
    rpm_error = np.hypot(speed[:, 1], tuning.rpm_run * speed[:, 0])
    power, none = amps * volts, np.zeros(len(runs))
    current_share = current[:, 1] / amps
    power_share = np.hypot(current_share, volt_error / volts)
    # The sensor's scale and the day's air are the same in every climb of the log.
    scale, air = tuning.current_scale, tuning.air_log_m_s
    shared = np.hypot(air, rise * scale)
    return (
        _Column(climbs.current_a, amps, current[:, 1], scale * amps),
        _Column(60.0 * climbs.speed_rev_s, 60.0 * speed[:, 0], 60.0 * rpm_error, none),
        _Column(climbs.voltage_v, volts, volt_error, none),
        _Column(climbs.power_w, power, power * power_share, power * scale),
        _Column(climbs.climb_m_s, rise, climb[:, 1], np.full(len(runs), air)),
        _Column(
            3600.0 * climbs.climb_m_s / np.maximum(climbs.current_a, LEAST_DRAW),
            3600.0 * rise / amps,
            3600.0 * np.hypot(climb[:, 1], rise * current_share) / amps,
            3600.0 * shared / amps,
        ),
        _Column(
            3600.0 * climbs.climb_m_s / np.maximum(climbs.power_w, LEAST_DRAW),
            3600.0 * rise / power,
            3600.0 * np.hypot(climb[:, 1], rise * power_share) / power,
            3600.0 * shared / power,
        ),
    )


def _flight_items(columns: tuple[_Column, ...], seconds: Array) -> list[MatchItem]:
    """Means over the climbs; of the quotients, weighted with what they are over."""
    weights = {"climb per Ah": columns[0], "climb per Wh": columns[3]}
    items = []
    for (name, unit), column in zip(QUANTITIES, columns, strict=True):
        known = np.isfinite(column.measured)
        if known.any():
            over = weights[name].measured if name in weights else np.ones(seconds.size)
            share = np.where(known, seconds * over, 0.0)
            items.append(_item(name, unit, column, share / share.sum(), None))
    return items


def _item(name: str, unit: str, column: _Column, weight: Array, run_start_s: float | None) -> MatchItem:
    """A weighted mean of a quantity."""
    used = weight > 0.0
    weight = weight[used]
    value, low, high = (float(part) for part in interval(column.predicted[:, used] @ weight))
    measured = float(column.measured[used] @ weight)
    error = float(np.hypot(np.sqrt(weight**2 @ column.error[used] ** 2), weight @ column.shared[used]))
    room = high - value if measured > value else value - low
    within = abs(measured - value) <= float(np.hypot(room, NORMAL_95 * error))
    return MatchItem(
        quantity=name,
        predicted=value,
        measured=measured,
        unit=unit,
        difference_percent=100.0 * (measured / value - 1.0) if value else None,
        within_uncertainty=within,
        run_start_s=run_start_s,
        predicted_low=low,
        predicted_high=high,
        measured_se=error,
    )
