"""Means and pairwise differences of a fitted comparison, with intervals, odds and what more flying would show."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.comparison.multiple import adjusted_p_value, critical_t
from analyzer.comparison.power import Plan, detectable, units_needed
from analyzer.comparison.records import Difference, GroupResult

if TYPE_CHECKING:
    from analyzer.comparison.group_model import GroupModel
    from analyzer.comparison.mixed_model import Contrast
    from analyzer.comparison.tuning import ComparisonTuning


def group_result(model: GroupModel, code: int, tuning: ComparisonTuning) -> GroupResult:
    """Mean of one group, by its code, with the interval of that mean alone."""
    mean = model.mean(code)
    mine = model.table.groups == code
    low = high = None
    if not model.flights_are_confounded:
        low, high = _interval(mean, critical_t(2, mean.degrees_of_freedom, tuning.confidence))
    return GroupResult(
        name=model.table.names[code],
        runs=int(mine.sum()),
        flights=len(np.unique(model.table.flights[mine])),
        mean=mean.estimate,
        low=low,
        high=high,
    )


def _interval(contrast: Contrast, critical: float) -> tuple[float, float]:
    half_width = critical * contrast.standard_error
    return contrast.estimate - half_width, contrast.estimate + half_width


def difference_of(model: GroupModel, a: int, b: int, by: str, tuning: ComparisonTuning) -> Difference:
    """Compare two groups, by their codes; the intervals of all pairs hold together.

    Parameters
    ----------
    model : GroupModel
        The fit.
    a, b : int
        Codes of the groups; a is the one with the higher mean.
    by : str
        What the groups are, in words.
    tuning : ComparisonTuning
        Confidence, power and the worthwhile difference.
    """
    contrast = model.difference(a, b)
    mean_a, mean_b = model.mean(a).estimate, model.mean(b).estimate
    percent = 100.0 * contrast.estimate / mean_b if mean_b > 0.0 else None
    name_a, name_b = model.table.names[a], model.table.names[b]
    why_not = model.why_not(a, b).format(by=by)
    if why_not:
        return Difference(name_a, name_b, contrast.estimate, percent, None, None, False, None, why_not=why_not)
    groups = int(np.sum(model.design.component == model.design.component[a]))
    critical = critical_t(groups, contrast.degrees_of_freedom, tuning.confidence)
    low, high = _interval(contrast, critical)
    chance = adjusted_p_value(contrast.estimate / contrast.standard_error, groups, contrast.degrees_of_freedom)
    ratios = ratio_interval(
        mean_a, mean_b, model.covariance(a, a), model.covariance(b, b), model.covariance(a, b), critical
    )
    decided = low > 0.0 or high < 0.0
    more = 0 if decided else _more_runs(model, a, b, mean_b, groups, tuning)
    shown = detectable(contrast.standard_error, critical, contrast.degrees_of_freedom, tuning.power)
    return Difference(
        a=name_a,
        b=name_b,
        difference=contrast.estimate,
        percent=percent,
        low_percent=None if ratios is None else 100.0 * (ratios[0] - 1.0),
        high_percent=None if ratios is None else 100.0 * (ratios[1] - 1.0),
        decided=decided,
        more_runs_needed=more,
        low=low,
        high=high,
        p_value=chance,
        odds=(1.0 - 0.5 * chance) / max(0.5 * chance, 1e-12),
        detectable_percent=100.0 * shown / mean_b if mean_b > 0.0 else None,
        degrees_of_freedom=contrast.degrees_of_freedom,
        unlike=model.unlike(a, b) if more is None else "",
    )


def ratio_interval(
    a: float, b: float, variance_a: float, variance_b: float, covariance: float, critical: float
) -> tuple[float, float] | None:
    """Interval of a ratio of two means (Fieller 1954, *JRSS B* 16, 175-185).

    All ratios r for which ``a - r b`` is within `critical` standard errors of zero; it leaves out 1 exactly when the
    difference's interval leaves out 0.

    Parameters
    ----------
    a, b : float
        Estimated means.
    variance_a, variance_b, covariance : float
        Of the estimates.
    critical : float
        Critical t.

    Returns
    -------
    tuple of float or None
        None when b is not surely above zero: then the ratios have no bound.
    """
    square = b * b - critical**2 * variance_b
    if b <= 0.0 or square <= 0.0:
        return None
    middle = a * b - critical**2 * covariance
    root = math.sqrt(max(middle**2 - square * (a * a - critical**2 * variance_a), 0.0))
    return (middle - root) / square, (middle + root) / square


def _more_runs(model: GroupModel, a: int, b: int, mean_b: float, groups: int, tuning: ComparisonTuning) -> int | None:
    if mean_b <= 0.0:
        return None
    table, by_flight = model.table, model.design.flight_degrees is not None
    runs = np.bincount(table.groups)
    flights = np.array([len(np.unique(table.flights[table.groups == code])) for code in range(len(runs))])
    units = flights if by_flight else runs
    runs_per_unit = max(1, round(float(runs.sum() / units.sum())))
    plan = Plan(
        unit_variance=model.flight_variance + model.run_variance / runs_per_unit,
        units_a=int(units[a]),
        units_b=int(units[b]),
        units_elsewhere=int(units.sum() - units[a] - units[b]),
        groups=groups,
        shared_error=model.shared_error(a, b),
    )
    worthwhile = tuning.worthwhile_percent / 100.0 * mean_b
    most = tuning.most_runs_asked // runs_per_unit
    more = units_needed(plan, worthwhile, tuning.confidence, tuning.power, most)
    return None if more is None else more * runs_per_unit
