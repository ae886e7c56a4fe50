"""The parameters that explain the climbs of some logs: most probable values, and what is still open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.match.climb_model import climb_model, conditions_of
from analyzer.match.gauss_newton import Fit, fit, mixed
from analyzer.match.problem import GIVEN, Problem, problem
from analyzer.power_system.belief import Belief
from analyzer.power_system.calibrated import SHARED, own_names

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.match.prior import Prior
    from analyzer.match.steady import SteadyRun
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.system import PowerSystem


CLIMB: Final = GIVEN.index("climb")

HABITS_AWAY: Final = 2.0
"""How many spreads of a pilot's habit from the usual airspeed the searches begin."""

ROUNDS: Final = 3
"""How often the scatter of the climbs is estimated anew; it hardly moves after the second time."""


@dataclass(frozen=True)
class Posterior:
    """What is believed after some logs have spoken.

    Attributes
    ----------
    prior : Prior
        What was believed before.
    usual : Belief
        What is believed of a setup that was never calibrated: what a log tells is held against that.
    belief : Belief
        What is believed now, of the same quantities as before.
    runs : tuple of SteadyRun
        The climbs it rests on.
    airspeed_m_s, airspeed_share : array, shape (runs,)
        At which they were flown, as logged or as estimated, and the relative standard error.
    airspeed_ratio : array, shape (runs,)
        Over the airspeed that was logged, or is usual for this setup where none was.
    advance_ratio, speed_rev_s : float
        Mean over the climbs, as fitted.
    air_run_m_s : float
        Scatter of single climbs.
    log_evidence : float
        For comparing what was believed before.
    """

    prior: Prior
    usual: Belief
    belief: Belief
    runs: tuple[SteadyRun, ...]
    airspeed_m_s: Array
    airspeed_share: Array
    airspeed_ratio: Array
    advance_ratio: float
    speed_rev_s: float
    air_run_m_s: float
    log_evidence: float


def estimate(
    system: PowerSystem,
    prior: Prior,
    usual: Belief,
    runs: Sequence[SteadyRun],
    drags: Sequence[tuple[float, float]],
    tuning: MatchTuning,
) -> Posterior:
    """Fit the parameters to climbs.

    Parameters
    ----------
    system : PowerSystem
        All but the propeller.
    prior : Prior
        What is believed beforehand.
    usual : Belief
        What is believed of a setup that was never calibrated.
    runs : sequence of SteadyRun
        At least one, each with a known throttle.
    drags : sequence of (float, float)
        What glides say of the logarithm of the zero-lift drag over the setup's, each with its standard error.
    tuning : MatchTuning
        Tuning values.
    """
    belief, own = _with_drags(prior.belief, drags), own_names(prior.curves.propeller.name)
    offsets = belief.mean[belief.rows((*own, *SHARED))]
    model = climb_model(system, prior.curves, conditions_of(runs))
    asked = problem(model, runs, own, belief.names, offsets, tuning)
    start = np.concatenate((belief.mean, np.zeros(len(asked.names) - len(belief.names))))
    found, air = _fitted(asked, start, _covariance(belief, asked), tuning)
    count = len(belief.names)
    now = Belief(belief.names, found.values[:count], found.covariance[:count, :count])
    airspeed, airspeed_share = asked.airspeeds_m_s(found.values, found.covariance)
    climbs = asked.fly((asked.inputs @ found.values)[None])
    return Posterior(
        prior=prior,
        usual=usual,
        belief=now,
        runs=tuple(runs),
        airspeed_m_s=airspeed,
        airspeed_share=airspeed_share,
        airspeed_ratio=airspeed / asked.airspeed_m_s,
        advance_ratio=float(climbs.advance_ratio.mean()),
        speed_rev_s=float(climbs.speed_rev_s.mean()),
        air_run_m_s=air,
        log_evidence=found.log_evidence,
    )


def _with_drags(belief: Belief, drags: Sequence[tuple[float, float]]) -> Belief:
    for value, error in drags:
        belief = belief.given(("zero_lift_drag",), np.array([value]), np.array([[error**2]]))
    return belief


def _covariance(belief: Belief, asked: Problem) -> Array:
    """Of everything that is fitted: the parameters' own, and the other quantities', which know nothing of another."""
    covariance = np.diag(np.nan_to_num(asked.spreads) ** 2)
    count = len(belief.names)
    covariance[:count, :count] = belief.covariance
    return covariance


def _fitted(asked: Problem, start: Array, covariance: Array, tuning: MatchTuning) -> tuple[Fit, float]:
    """Fit from each beginning, and put together what is found; with it the scatter of single climbs of the best."""
    found = [_search(asked, start, covariance, tuning, begin) for begin in _beginnings(asked, start, tuning)]
    _, air = max(found, key=lambda pair: pair[0].log_evidence)
    return mixed([one for one, _ in found]), air


def _beginnings(asked: Problem, start: Array, tuning: MatchTuning) -> list[Array]:
    """Where to search from: slower and faster than usual, where no airspeed is logged.

    A climb weaker than the setup's best was flown too slow or too fast, and each goes with a load of the propeller of
    its own; from the usual airspeed, either may be found, and the other never seen.
    """
    names = enumerate(asked.names)
    guessed = [at for at, name in names if name.startswith("airspeed of ") and asked.spreads[at] == tuning.habit]
    if not guessed:
        return [start]
    begin = np.repeat(start[None], 2, axis=0)
    begin[:, guessed] = HABITS_AWAY * tuning.habit * np.array([[-1.0], [1.0]])
    return list(begin)


def _search(asked: Problem, start: Array, covariance: Array, tuning: MatchTuning, begin: Array) -> tuple[Fit, float]:
    """Fit with the scatter of single climbs estimated along: of this log, weighted with what is usual."""
    known = np.isfinite(asked.given)
    is_climb = np.broadcast_to(np.arange(len(GIVEN)) == CLIMB, known.shape)
    freedom = np.where(is_climb, tuning.gust_freedom, np.inf)[known]

    def modelled(values: Array) -> tuple[Array, Array]:
        made, slopes = asked.modelled(values)
        return made[known], slopes[known]

    air = tuning.air_run_m_s
    for _ in range(ROUNDS):
        variance = (asked.variance + np.where(is_climb, air**2, 0.0))[known]
        found = fit(modelled, asked.given[known], variance, start, covariance, freedom, begin)
        begin = found.values
        left = found.residuals[is_climb[known]]
        usual, weight = tuning.air_run_m_s, tuning.air_run_weight
        # Outliers are for Student's distribution: a residual counts as three times what is usual at most.
        squares = np.minimum(left**2, 9.0 * usual**2)
        air = float(np.sqrt((weight * usual**2 + squares.sum()) / (weight + left.size)))
    return found, air
