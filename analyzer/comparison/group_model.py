"""Which random effects a table of runs can bear, and the groups' means and differences under them.

Runs of one flight share its air, and flights of one day share its weather: both are random effects. What a design can
say about them is counted before anything is fitted:

- the flight has ``rank[groups, days, flights] - rank[groups, days]`` degrees of freedom. With none (each group flown in
  one flight) the groups cannot be told from the air of their flights, and there is no interval at all;
- the day has ``rank[groups, days] - groups``. With fewer than `ComparisonTuning.fewest_degrees` its scatter cannot be
  estimated, and groups are compared inside days only; groups that never share a day, not even through others, are then
  not comparable.

An effect whose scatter is estimated as zero stays in the model: to leave it out would count runs of one flight as
independent whenever chance makes a few flights look alike (measured on invented days without a true difference: 7 to
9 % of days decide for one instead of 5 %; `tests/accuracy/comparison_days.py`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analyzer.comparison.mixed_model import fit_mixed_model
from analyzer.comparison.restricted_likelihood import connected

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices
    from analyzer.comparison.mixed_model import Contrast, MixedFit
    from analyzer.comparison.records import ComparedRun
    from analyzer.comparison.tuning import ComparisonTuning


ONE_FLIGHT_EACH = (
    "each was flown in one flight only, whose air cannot be told from the {by}; fly two more flights of each, in turn, "
    "on one day"
)
NO_COMMON_DAY = (
    "they were never flown on the same day, and the days' air cannot be told from the {by}; fly both on one day, two "
    "flights of each"
)


SHARED_SOURCES = ("length", "the share of launches", "mass", "air density", "pack voltage")
"""Where the errors that all runs have in common come from: the altimeter's lag, launches, and the corrections."""


@dataclass(frozen=True)
class RunTable:
    """Runs as columns; codes count from 0 and `names` are the groups in code order.

    `shared_errors` has a column for each of `SHARED_SOURCES`.
    """

    names: tuple[str, ...]
    values: Array
    groups: Indices
    flights: Indices
    days: Indices
    weights: Array
    shared_errors: Array

    def without(self, rows: Sequence[int]) -> RunTable:
        """The table with some rows taken out; a group that loses all its rows loses its code too."""
        keep = np.ones(len(self.values), dtype=bool)
        keep[list(rows)] = False
        used, groups = np.unique(self.groups[keep], return_inverse=True)
        return RunTable(
            names=tuple(self.names[code] for code in used),
            values=self.values[keep],
            groups=groups,
            flights=np.unique(self.flights[keep], return_inverse=True)[1],
            days=np.unique(self.days[keep], return_inverse=True)[1],
            weights=self.weights[keep],
            shared_errors=self.shared_errors[keep],
        )


def table_of(runs: Sequence[ComparedRun]) -> RunTable:
    """Put runs into columns; unless all are dated, days are not told apart."""
    is_dated = all(run.day for run in runs)
    names, groups = np.unique([run.group for run in runs], return_inverse=True)
    weights = np.array([run.weight for run in runs], dtype=np.float64)
    return RunTable(
        names=tuple(str(name) for name in names),
        values=np.array([run.value for run in runs], dtype=np.float64),
        groups=groups,
        flights=np.unique([run.flight for run in runs], return_inverse=True)[1],
        days=np.unique([run.day if is_dated else run.flight for run in runs], return_inverse=True)[1],
        weights=weights / weights.mean(),
        shared_errors=np.array(
            [(run.shared_error, run.launch_error, *run.correction_errors) for run in runs], dtype=np.float64
        ),
    )


@dataclass(frozen=True)
class Design:
    """What the table's layout can bear.

    Attributes
    ----------
    flight_degrees : int or None
        Degrees of freedom of the flight; None where every flight has one run and the flight is the run.
    day_degrees : int
        Degrees of freedom of the day; 0 where days need no effect of their own.
    day_is_random : bool
        Whether the day's scatter can be estimated; if not, and there are degrees, days are fixed blocks.
    component : ndarray, shape (groups,)
        Groups of one label are comparable.
    """

    flight_degrees: int | None
    day_degrees: int
    day_is_random: bool
    component: Indices


def design_of(table: RunTable, tuning: ComparisonTuning) -> Design:
    """Count degrees of freedom and find which groups can be compared."""
    groups, flights, days = (int(codes.max()) + 1 for codes in (table.groups, table.flights, table.days))
    rows = len(table.values)
    by_day = connected([table.groups, table.days], rows)
    day_is_flight = days == flights
    day_degrees = 0 if days == 1 or day_is_flight else days - len(np.unique(by_day))
    day_is_random = day_degrees >= tuning.fewest_degrees
    all_ranks = groups + flights - len(np.unique(connected([table.groups, table.flights], rows)))
    # Days confounded with groups add nothing, yet keep groups of different days from being compared.
    blocked = days > 1 and not day_is_flight and not day_is_random
    first = np.unique(table.groups, return_index=True)[1]
    return Design(
        flight_degrees=None if flights == rows else all_ranks - groups - day_degrees,
        day_degrees=day_degrees,
        day_is_random=day_is_random,
        component=by_day[first] if blocked else np.zeros(groups, dtype=np.intp),
    )


@dataclass(frozen=True)
class GroupModel:
    """A fitted comparison.

    Attributes
    ----------
    table : RunTable
        What was fitted.
    design : Design
        What it could bear.
    fit : MixedFit
        The model; without the flight where that could not be told from the groups.
    rows : ndarray, shape (groups, p)
        Each group's mean as a contrast of the coefficients.
    flight_variance, run_variance : float
        Components of variance; the flight's is 0 where it is not in the model.
    least_degrees : float
        Degrees of freedom that the layout alone guarantees.
    shared_errors : ndarray, shape (groups, sources)
        Standard errors of each group's mean that all groups have in common, from independent sources, with signs.
    """

    table: RunTable
    design: Design
    fit: MixedFit
    rows: Array
    flight_variance: float
    run_variance: float
    least_degrees: float
    shared_errors: Array

    @property
    def flights_are_confounded(self) -> bool:
        """Whether each group was flown in one flight only."""
        return self.design.flight_degrees == 0

    def mean(self, group: int) -> Contrast:
        """Mean of a group, by its code."""
        return self._contrast(self.rows[group], float(np.linalg.norm(self.shared_errors[group])))

    def difference(self, a: int, b: int) -> Contrast:
        """Mean of one group minus that of another, by their codes."""
        return self._contrast(self.rows[a] - self.rows[b], self.shared_error(a, b))

    def shared_error(self, a: int, b: int) -> float:
        """Standard error of the difference of two means that all runs have in common."""
        return float(np.linalg.norm(self.shared_errors[a] - self.shared_errors[b]))

    def unlike(self, a: int, b: int) -> str:
        """In what two groups differ so much that most of their difference's error comes from it; "" where in none."""
        shared = np.abs(self.shared_errors[a] - self.shared_errors[b])
        own = self.fit.contrast(self.rows[a] - self.rows[b]).standard_error
        return SHARED_SOURCES[int(np.argmax(shared))] if float(np.linalg.norm(shared)) > own else ""

    def covariance(self, a: int, b: int) -> float:
        """Covariance of the estimated means of two groups."""
        own = float(self.rows[a] @ self.fit.adjusted_covariance @ self.rows[b])
        return own + float(self.shared_errors[a] @ self.shared_errors[b])

    def why_not(self, a: int, b: int) -> str:
        """Why two groups cannot be compared, with a place for what they are; "" when they can."""
        if self.flights_are_confounded:
            return ONE_FLIGHT_EACH
        return NO_COMMON_DAY if self.design.component[a] != self.design.component[b] else ""

    def _contrast(self, row: Array, shared_error: float) -> Contrast:
        """A combination of the coefficients with its shared error; degrees of freedom as the layout guarantees."""
        own = self.fit.contrast(row)
        degrees = max(own.degrees_of_freedom, self.least_degrees)
        return replace(own, degrees_of_freedom=degrees).with_known_error(shared_error)


def fit_groups(table: RunTable, tuning: ComparisonTuning) -> GroupModel:
    """Fit the groups' means with the random effects that the table can bear.

    Raises
    ------
    NoAnswerError
        When there are no degrees of freedom at all, or all runs of each group are alike.
    """
    design = design_of(table, tuning)
    x, rows = _fixed_effects(table, design)
    factors, degrees = [], []
    if design.flight_degrees:
        factors.append(table.flights)
        degrees.append(design.flight_degrees)
    if design.day_is_random:
        factors.append(table.days)
        degrees.append(design.day_degrees)
    fit = fit_mixed_model(table.values, x, factors, table.weights)
    return GroupModel(
        table=table,
        design=design,
        fit=fit,
        rows=rows,
        flight_variance=float(fit.variances[1]) if design.flight_degrees else 0.0,
        run_variance=float(fit.variances[0]),
        least_degrees=float(min(degrees, default=len(table.values) - x.shape[1])),
        shared_errors=np.stack(
            [table.shared_errors[table.groups == code].mean(axis=0) for code in range(len(table.names))]
        ),
    )


def _fixed_effects(table: RunTable, design: Design) -> tuple[Array, Array]:
    """Design matrix, and each group's mean (over the days it is compared on) as a row of it."""
    groups = len(table.names)
    x = np.eye(groups)[table.groups]
    rows = np.eye(groups)
    if design.day_degrees == 0 or design.day_is_random:
        return x, rows
    day_component = np.empty(int(table.days.max()) + 1, dtype=np.intp)
    day_component[table.days] = design.component[table.groups]
    # One day of each connected set is the baseline; the others are shifts from it.
    baseline = np.unique(day_component, return_index=True)[1]
    for day in np.setdiff1d(np.arange(len(day_component)), baseline):
        same = day_component == day_component[day]
        x = np.column_stack([x, table.days == day])
        rows = np.column_stack([rows, np.where(design.component == day_component[day], 1.0 / same.sum(), 0.0)])
    return x, rows
