"""Stretches of samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.conditioning.stretches import stretches_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def spans_of(mask: NDArray[np.bool_], least: int = 1) -> list[tuple[int, int]]:
    """First index and one past the last of every stretch of True that is at least so long, in order."""
    first, last = stretches_of(mask).T
    long = last - first >= least
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))
