"""Which belief the logs bear out: propellers of the measured make, or of another."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from analyzer.match.climb_model import climb_model, conditions_of
from analyzer.match.estimate import Posterior, estimate
from analyzer.match.prior import priors, size_covariance
from analyzer.power_system.calibrated import MAKE, candidates_of
from analyzer.power_system.coefficients import setup_propeller

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.match.steady import SteadyRun
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.flown_shape import FlownPoint
    from analyzer.power_system.system import PowerSystem
    from analyzer.setup_file import Setup


def best_estimate(
    setup: Setup,
    system: PowerSystem,
    runs: Sequence[SteadyRun],
    drags: Sequence[tuple[float, float]],
    tuning: MatchTuning,
) -> Posterior:
    """Fit under every belief that is possible beforehand, and take the one that the logs bear out.

    Parameters
    ----------
    setup : Setup
        The combination flown.
    system : PowerSystem
        Its models.
    runs : sequence of SteadyRun
        The climbs.
    drags : sequence of (float, float)
        What glides say of the logarithm of the zero-lift drag over the setup's, each with its standard error.
    tuning : MatchTuning
        Tuning values.

    Notes
    -----
    The measured make must show by the odds (ratio of the evidences, both being as probable beforehand) of
    `MatchTuning.same_make_odds`; else the more cautious belief stands. What doubt is left widens what is believed of
    propellers that were not flown.
    """
    point = flown_point(setup, system, runs, tuning)
    own = setup_propeller(setup)
    usual = priors(setup.model_copy(update={"calibration": None}), system, own, point, tuning)[0].belief
    found = [estimate(system, prior, usual, runs, drags, tuning) for prior in priors(setup, system, own, point, tuning)]
    cautious, *others = found
    for one in others:
        odds = math.exp(min(one.log_evidence - cautious.log_evidence, 50.0))
        if odds > tuning.same_make_odds:
            return _hedged(one, cautious, 1.0 / (1.0 + odds), size_covariance(cautious.prior.curves, point, tuning))
    return cautious


def _hedged(same: Posterior, other: Posterior, doubt: float, size: Array) -> Posterior:
    """Widen what is believed of the make by the chance that it is another after all.

    With the probability `doubt`, a propeller that was not flown departs from its measurement as the other make's
    factors do, whose mean is another, and as one size does from the family's mean, twice: the measured one and the
    pilot's (covariance `size` each).
    """
    rows, make = same.belief.rows(MAKE), other.belief.of(*MAKE)
    away = make.mean - same.belief.mean[rows]
    covariance = same.belief.covariance.copy()
    covariance[np.ix_(rows, rows)] += doubt * (make.covariance + np.outer(away, away) + 2.0 * size)
    return replace(same, belief=replace(same.belief, covariance=covariance))


def flown_point(setup: Setup, system: PowerSystem, runs: Sequence[SteadyRun], tuning: MatchTuning) -> FlownPoint:
    """Mean advance ratio and speed of the climbs as the setup predicts them, and the air's viscosity."""
    candidate = candidates_of(setup, system, (setup_propeller(setup),))
    offsets = np.atleast_2d(candidate.calibration.offsets)[0]
    model = climb_model(system, candidate.curves[0], conditions_of(runs))
    airspeed = model.airspeeds_m_s(runs, offsets, tuning)
    rows, conditions = np.zeros(1, dtype=np.intp), model.conditions
    climbs = model.fly(offsets[None], rows, airspeed[None], conditions.rest_v[None], conditions.throttle[None])
    viscosity = system.air.kinematic_viscosity_m2_s
    return float(climbs.advance_ratio.mean()), float(climbs.speed_rev_s.mean()), viscosity
