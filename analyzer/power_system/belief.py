"""What is known of several quantities together: a joint normal distribution with names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices


@dataclass(frozen=True)
class Belief:
    """A joint normal distribution.

    Attributes
    ----------
    names : tuple of str
        The quantities.
    mean : array, shape (n,)
        Best values.
    covariance : array, shape (n, n)
        What is still uncertain, and what goes with what.
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array

    def rows(self, names: Sequence[str]) -> Indices:
        """Places of some quantities.

        Raises
        ------
        ValueError
            When one of them is not there.
        """
        return np.array([self.names.index(name) for name in names], dtype=np.intp)

    def of(self, *names: str) -> Belief:
        """Some of the quantities, in the order asked for; the others are left open (integrated out)."""
        rows = self.rows(names)
        return Belief(names, self.mean[rows], self.covariance[np.ix_(rows, rows)])

    def spread(self, name: str) -> float:
        """Standard deviation of one quantity."""
        row = self.names.index(name)
        return float(np.sqrt(self.covariance[row, row]))

    def beside(self, names: Sequence[str], covariance: Array) -> Belief:
        """Add quantities of mean 0 that know nothing of these."""
        count, added = len(self.names), len(names)
        whole = np.zeros((count + added, count + added))
        whole[:count, :count], whole[count:, count:] = self.covariance, covariance
        return Belief((*self.names, *names), np.append(self.mean, np.zeros(added)), whole)

    def with_sum(self, names: Sequence[str], of: Sequence[str], covariance: Array) -> Belief:
        """Add quantities that are others plus an independent part of mean 0.

        Parameters
        ----------
        names : sequence of str
            What the new quantities are called.
        of : sequence of str
            The known quantity that each contains.
        covariance : array
            Of the independent parts.
        """
        rows = self.rows(of)
        cross = self.covariance[:, rows]
        corner = self.covariance[np.ix_(rows, rows)] + covariance
        return Belief(
            (*self.names, *names),
            np.append(self.mean, self.mean[rows]),
            np.block([[self.covariance, cross], [cross.T, corner]]),
        )

    def given(self, names: Sequence[str], values: Array, covariance: Array) -> Belief:
        """What is believed after some quantities were measured, with errors of a covariance (Bayes' rule)."""
        rows = self.rows(names)
        gain = np.linalg.solve(self.covariance[np.ix_(rows, rows)] + covariance, self.covariance[rows]).T
        mean = self.mean + gain @ (values - self.mean[rows])
        reduced = self.covariance - gain @ self.covariance[rows]
        return Belief(self.names, mean, 0.5 * (reduced + reduced.T))

    def replaced(self, names: Sequence[str], values: Array, covariance: Array) -> Belief:
        """What is believed where some quantities are known from elsewhere, whatever was believed of them.

        They become exactly what is given; of the others stays what is believed for any value of these (R. C. Jeffrey,
        *The Logic of Decision*, 1965, ch. 11: probability kinematics).
        """
        rows = self.rows(names)
        gain = np.linalg.solve(self.covariance[np.ix_(rows, rows)], self.covariance[rows]).T
        mean = self.mean + gain @ (values - self.mean[rows])
        changed = self.covariance - gain @ self.covariance[rows] + gain @ covariance @ gain.T
        return Belief(self.names, mean, 0.5 * (changed + changed.T))

    def directions(self) -> Array:
        """Independent directions, one standard deviation each, shape (d, n): principal axes, the certain left out."""
        values, vectors = np.linalg.eigh(self.covariance)
        kept = values > 1e-14
        directions: Array = (vectors[:, kept] * np.sqrt(values[kept])).T
        return directions


def independent(spreads: dict[str, float]) -> Belief:
    """Belief in quantities of mean 0 that know nothing of one another, from their standard deviations."""
    deviations = np.array(list(spreads.values()))
    return Belief(tuple(spreads), np.zeros(len(spreads)), np.diag(deviations**2))
