"""Stretches of samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def spans_of(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First index and one past the last of every stretch of True, in order."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False]))))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
