"""Runs that do not fit with the others: one bad run must not decide a comparison.

The generalised extreme studentised deviate procedure (Rosner 1983, *Technometrics* 25, 165-172), with the mixed model's
residuals in the place of deviations from one mean: the most foreign run is taken out and the model fitted again, up to
the largest number allowed; then as many are set apart as the last significant step says, so that two bad runs cannot
hide each other.

The procedure assumes that all groups scatter alike. Where one scatters more than the others, its good runs look foreign
beside them; that shows in their number. An exception is a small part of its own group (`most_outliers`): where more
of a group look foreign they are its scatter, and none of them is set apart. So a group of fewer than five keeps all.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.comparison.group_model import fit_groups
from analyzer.errors import NoAnswerError

if TYPE_CHECKING:
    from analyzer.comparison.group_model import GroupModel, RunTable
    from analyzer.comparison.tuning import ComparisonTuning

_MOST_STEPS: Final = 25
"""Runs looked at one by one; a comparison with more bad runs than that is large enough to bear the rest."""


def find_outliers(table: RunTable, tuning: ComparisonTuning) -> tuple[int, ...]:
    """Find the rows that do not fit with the others.

    Parameters
    ----------
    table : RunTable
        The runs.
    tuning : ComparisonTuning
        Level, and the largest share of a group.

    Returns
    -------
    tuple of int
        Row numbers, the most foreign first.
    """
    allowed = min(_MOST_STEPS, int(tuning.most_outliers * len(table.values)))
    suspects: list[int] = []
    foreign = 0
    left = np.arange(len(table.values))
    for step in range(1, allowed + 1):
        try:
            model = fit_groups(table.without(suspects), tuning)
        except NoAnswerError:
            break
        worst, chance = _most_foreign(model)
        suspects.append(int(left[worst]))
        left = np.delete(left, worst)
        if chance < tuning.outlier_level:
            foreign = step
        elif chance >= 1.0:
            break  # the largest residual is of the size that chance makes: nothing is hiding behind it
    found = suspects[:foreign]
    groups = len(table.names)
    numbers, of = np.bincount(table.groups[found], minlength=groups), np.bincount(table.groups, minlength=groups)
    is_exception = numbers <= tuning.most_outliers * of
    return tuple(row for row in found if is_exception[table.groups[row]])


def _most_foreign(model: GroupModel) -> tuple[int, float]:
    """Row of the largest residual, and the chance that the largest of so many is that large.

    The residual with its row left out is Student-t with one degree of freedom fewer than the residuals; Bonferroni for
    the number of rows (Rosner's critical values are the same numbers in another form).
    """
    from scipy.special import stdtr

    scores = model.fit.outlyingness
    worst = int(np.argmax(np.abs(scores)))
    degrees = len(scores) - len(model.fit.coefficients) - 1
    if degrees < 1:
        return worst, 1.0
    squared = float(scores[worst]) ** 2
    room = degrees + 1.0 - squared
    t = math.inf if room <= 0.0 else math.sqrt(squared * degrees / room)
    return worst, min(1.0, 2.0 * len(scores) * float(stdtr(degrees, -t)))
