"""Stretches of rows: where something holds, and where a value stays the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.arrays import Indices, Mask


def stretches_of(where: Mask) -> Indices:
    """First row and one past the last of every stretch of True, in order, shape (n, 2)."""
    return np.flatnonzero(np.diff(where, prepend=False, append=False)).reshape(-1, 2)


def changes_of(values: NDArray[np.generic]) -> Indices:
    """First row of every stretch of one value, and one past the last row; some values."""
    return np.concatenate(([0], np.flatnonzero(values[1:] != values[:-1]) + 1, [len(values)]))
