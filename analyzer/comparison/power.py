"""How many more climbs would show a difference.

Power of a two-sided t test (Cohen 1988, *Statistical Power Analysis for the Behavioral Sciences*, 2nd ed., chapter 2),
by the noncentral t distribution.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

from analyzer.comparison.mixed_model import Contrast
from analyzer.comparison.multiple import critical_t


def power_of(noncentrality: float, critical: float, degrees_of_freedom: float) -> float:
    """Chance that |t| passes its critical value.

    Parameters
    ----------
    noncentrality : float
        True difference over its standard error.
    critical : float
        Critical |t|.
    degrees_of_freedom : float
        Of t.
    """
    from scipy.special import nctdtr

    size = abs(noncentrality)
    if size > critical + 8.0:
        return 1.0  # beyond what the distribution's series is good for
    upper = 1.0 - float(nctdtr(degrees_of_freedom, size, critical))
    lower = float(nctdtr(degrees_of_freedom, size, -critical))
    return upper + (0.0 if math.isnan(lower) else lower)


def detectable(standard_error: float, critical: float, degrees_of_freedom: float, power: float) -> float:
    """Smallest true difference that would be decided with the wanted chance."""
    low, high = 0.0, critical + 8.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        if power_of(middle, critical, degrees_of_freedom) < power:
            low = middle
        else:
            high = middle
    return high * standard_error


@dataclass(frozen=True, slots=True)
class Plan:
    """A comparison that can be extended, unit by unit.

    Attributes
    ----------
    unit_variance : float
        Variance of one unit's mean: of a flight with its runs, or of a run where the flight makes no difference.
    units_a, units_b : int
        Units flown so far with the two groups.
    units_elsewhere : int
        Units of all other groups; they help to know the variance.
    groups : int
        Groups compared.
    shared_error : float
        Standard error of the difference that all units have in common: no further unit makes it smaller.
    """

    unit_variance: float
    units_a: int
    units_b: int
    units_elsewhere: int
    groups: int
    shared_error: float = 0.0

    def power(self, difference: float, more: int, confidence: float) -> float:
        """Chance of deciding a true difference after `more` units with each group.

        With fewer than one degree of freedom, none.
        """
        units = self.units_a + self.units_b + self.units_elsewhere + self.groups * more
        degrees = units - self.groups
        if degrees < 1:
            return 0.0
        own = math.sqrt(self.unit_variance * (1.0 / (self.units_a + more) + 1.0 / (self.units_b + more)))
        planned = Contrast(difference, own, float(degrees)).with_known_error(self.shared_error)
        critical = critical_t(self.groups, planned.degrees_of_freedom, confidence)
        return power_of(difference / planned.standard_error, critical, planned.degrees_of_freedom)


def units_needed(plan: Plan, difference: float, confidence: float, power: float, most: int) -> int | None:
    """Fewest further units with each group that show a true difference with the wanted chance.

    Parameters
    ----------
    plan : Plan
        What was flown so far.
    difference : float
        The true difference to show, > 0.
    confidence, power : float
        Of the verdict, and the chance of reaching it.
    most : int
        Where the search ends.

    Returns
    -------
    int or None
        None when `most` are not enough.
    """
    if plan.power(difference, most, confidence) < power:
        return None
    return bisect_left(range(most), power, key=lambda more: plan.power(difference, more, confidence))
