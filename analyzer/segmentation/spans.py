"""Stretches of samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def spans_of(mask: NDArray[np.bool_], least: int = 1) -> list[tuple[int, int]]:
    """First index and one past the last of every stretch of True that is at least so long, in order."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False]))))
    first, last = edges[::2], edges[1::2]
    long = last - first >= least
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))
