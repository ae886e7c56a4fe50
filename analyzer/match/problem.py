"""The climbs as one estimation problem: what is fitted, what each climb depends on, what each climb gives.

Fitted along with the parameters, each around what was logged or what is usual, are the airspeed of each climb (a
pilot's habit or a probe's scale for the whole log, and a departure for each climb), throttle and rest voltage of each
climb, the scale of a log's current sensor, the vertical motion of the air over a log, and a log's departure of thrust
from the steady climb. What the climbs leave open about these, the parameters' covariance then contains.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.calibrated import SHARED
from analyzer.power_system.variants import PARAMETERS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.match.climb_model import ClimbModel, Climbs
    from analyzer.match.steady import Reading, SteadyRun
    from analyzer.match.tuning import MatchTuning


GIVEN: Final = ("current", "speed", "voltage", "climb")
"""What each climb gives: ln I, ln n, V and vertical speed."""

INPUTS: Final = (*PARAMETERS, "airspeed", "throttle", "rest")
"""What a climb depends on: the parameters, ln of airspeed and of throttle, and rest voltage."""

STEP: Final = 0.01
"""Of the central differences: wider than the kinks of the propellers' tables, which are linear between nodes."""


@dataclass(frozen=True)
class Problem:
    """The climbs of some logs with one propeller.

    Attributes
    ----------
    model : ClimbModel
        The propeller's curves stand in row 0 of its bank.
    airspeed_m_s : array, shape (runs,)
        As logged, else as usual.
    names : tuple of str
        What is fitted: the parameters by their names, then the climbs' and the logs' own quantities.
    spreads : array, shape (n,)
        Standard deviations of the latter beforehand; NaN for the parameters.
    inputs : array, shape (runs, inputs, n)
        How much of each fitted quantity goes into each input of each climb.
    added : array, shape (runs, 4, n)
        How much of each is added to what a climb gives.
    given : array, shape (runs, 4)
        Measured; NaN where it is not.
    variance : array, shape (runs, 4)
        Of the measurement.
    """

    model: ClimbModel
    airspeed_m_s: Array
    names: tuple[str, ...]
    spreads: Array
    inputs: Array
    added: Array
    given: Array
    variance: Array

    def modelled(self, values: Array) -> tuple[Array, Array]:
        """What the climbs would give, shape (runs, 4), and its derivatives by the fitted quantities (runs, 4, n)."""
        at = self.inputs @ values
        nudges = np.zeros((1 + 2 * len(INPUTS), len(INPUTS)))
        nudges[1::2] = STEP * np.eye(len(INPUTS))
        nudges[2::2] = -STEP * np.eye(len(INPUTS))
        made = _given(self.fly(at[None] + nudges[:, None]))
        slopes = (made[1::2] - made[2::2]) / (2.0 * STEP)
        derivatives = np.einsum("irg,rin->rgn", slopes, self.inputs) + self.added
        return made[0] + self.added @ values, derivatives

    def airspeeds_m_s(self, values: Array, covariance: Array) -> tuple[Array, Array]:
        """Airspeed of each climb and its relative standard error, both of shape (runs,)."""
        shares = self.inputs[:, INPUTS.index("airspeed")]
        spread = np.sqrt(np.einsum("rn,nm,rm->r", shares, covariance, shares))
        return self.airspeed_m_s * np.exp(shares @ values), spread

    def fly(self, at: Array) -> Climbs:
        """The climbs for inputs of shape (s, runs, inputs): they share the parameters, and differ in the rest."""
        conditions, count = self.model.conditions, len(PARAMETERS)
        return self.model.fly(
            at[:, 0, :count],
            np.zeros(len(at), dtype=np.intp),
            self.airspeed_m_s * np.exp(at[..., INPUTS.index("airspeed")]),
            conditions.rest_v + at[..., INPUTS.index("rest")],
            np.minimum(conditions.throttle * np.exp(at[..., INPUTS.index("throttle")]), 1.0),
        )


def _given(climbs: Climbs) -> Array:
    """What climbs give, shape (s, runs, 4)."""
    current, speed = np.maximum(climbs.current_a, 1e-3), climbs.speed_rev_s
    return np.stack((np.log(current), np.log(speed), climbs.voltage_v, climbs.climb_m_s), axis=-1)


def problem(
    model: ClimbModel,
    runs: Sequence[SteadyRun],
    own: tuple[str, str],
    parameters: Sequence[str],
    offsets: Array,
    tuning: MatchTuning,
) -> Problem:
    """Lay out the climbs of some logs.

    Parameters
    ----------
    model : ClimbModel
        With the climbs' conditions.
    runs : sequence of SteadyRun
        At least one, each with a known throttle.
    own : (str, str)
        Names of the propeller's factors on C_P and C_T.
    parameters : sequence of str
        Names of all parameters, `SHARED` and `own` among them.
    offsets : array, shape (p,)
        `PARAMETERS` as they are believed beforehand: where airspeed is not logged, the usual one follows from them.
    tuning : MatchTuning
        Tuning values.
    """
    logs = list(dict.fromkeys(run.log for run in runs))
    pitot = [any(run.airspeed_m_s is not None for run in runs if run.log == log) for log in logs]
    for_logs = [
        (f"{what} of {log}", spread)
        for log, probed in zip(logs, pitot, strict=True)
        for what, spread in (
            ("airspeed", tuning.pitot if probed else tuning.habit),
            ("current scale", tuning.current_scale),
            ("air", tuning.air_log_m_s),
            ("thrust", tuning.thrust_log),
        )
    ]
    for_runs = [
        (f"{what} of climb {number}", spread)
        for number, run in enumerate(runs)
        for what, spread in (
            ("airspeed", _airspeed_spread(run, tuning)),
            ("throttle", max(run.throttle.se / run.throttle.value if run.throttle is not None else 0.0, 1e-4)),
            ("rest", run.rest_v.se),
        )
    ]
    names = (*parameters, *(name for name, _ in for_logs), *(name for name, _ in for_runs))
    spreads = np.array([np.nan] * len(parameters) + [spread for _, spread in (*for_logs, *for_runs)])
    airspeed = model.airspeeds_m_s(runs, offsets, tuning)
    return Problem(model, airspeed, names, spreads, *_wiring(names, runs, own), *_data(runs, tuning))


def _airspeed_spread(run: SteadyRun, tuning: MatchTuning) -> float:
    if run.airspeed_m_s is None:
        return tuning.habit_run
    return float(np.hypot(tuning.pitot_run, run.airspeed_m_s.se / run.airspeed_m_s.value))


def _wiring(names: tuple[str, ...], runs: Sequence[SteadyRun], own: tuple[str, str]) -> tuple[Array, Array]:
    """Which fitted quantity goes into which input, and is added to what is given."""
    column = {name: place for place, name in enumerate(names)}
    inputs = np.zeros((len(runs), len(INPUTS), len(names)))
    added = np.zeros((len(runs), len(GIVEN), len(names)))
    sources = dict(zip(PARAMETERS, (*own, *SHARED), strict=True))
    for number, run in enumerate(runs):
        into = [
            *sources.items(),
            ("thrust", f"thrust of {run.log}"),
            ("airspeed", f"airspeed of {run.log}"),
            *((what, f"{what} of climb {number}") for what in ("airspeed", "throttle", "rest")),
        ]
        for what, name in into:
            inputs[number, INPUTS.index(what), column[name]] = 1.0
        added[number, GIVEN.index("current"), column[f"current scale of {run.log}"]] = 1.0
        added[number, GIVEN.index("climb"), column[f"air of {run.log}"]] = 1.0
    return inputs, added


def _data(runs: Sequence[SteadyRun], tuning: MatchTuning) -> tuple[Array, Array]:
    """What the climbs gave and the variance of each, shape (runs, 4); the air's share of the climb is not in it."""

    def row(run: SteadyRun) -> list[tuple[float, float]]:
        return [
            _logarithm(run.current_a, tuning.current_run),
            _logarithm(run.speed_rev_s, tuning.rpm_run),
            _plain(run.voltage_v, tuning.voltage_run_v),
            (run.climb_m_s.value, run.climb_m_s.se**2),
        ]

    table = np.array([row(run) for run in runs])
    return table[..., 0], table[..., 1]


def _logarithm(reading: Reading | None, spread: float) -> tuple[float, float]:
    if reading is None or reading.value <= 0.0:
        return np.nan, np.nan
    return float(np.log(reading.value)), (reading.se / reading.value) ** 2 + spread**2


def _plain(reading: Reading | None, spread: float) -> tuple[float, float]:
    return (np.nan, np.nan) if reading is None else (reading.value, reading.se**2 + spread**2)
