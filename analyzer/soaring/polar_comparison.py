"""Two polars side by side: two flight modes of one log, or two ballast states in two logs."""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import ISA_SEA_LEVEL_DENSITY_KG_M3
from analyzer.errors import NoAnswerError
from analyzer.soaring.records import PolarComparison, PolarDifference

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.arrays import Array
    from analyzer.soaring.records import PolarReport


POINTS: Final = 9
MOST_COMPARED: Final = 4
"""More polars than this make more pairs than anyone reads."""


def compare_polars(first: PolarReport, second: PolarReport) -> tuple[PolarDifference, ...]:
    """Difference in sink, second minus first, with its 95 % interval at speeds that both flew.

    Parameters
    ----------
    first, second : PolarReport
        Measured polars; both are brought to sea-level density first, at the mass that each was flown with.

    Raises
    ------
    NoAnswerError
        When the ranges of speed do not overlap.

    Notes
    -----
    The two bands are taken as independent, so their half-widths add in quadrature. Glides flown in the same air share
    its mean motion, which then cancels out of the difference; flown on different days, it does not, and the true
    interval is wider than this by about 0.2 m/s.
    """
    one, other = _at_sea_level(first), _at_sea_level(second)
    low, high = max(one[0, 0], other[0, 0]), min(one[0, -1], other[0, -1])
    if low >= high:
        raise NoAnswerError("the two were flown at different speeds: nothing to compare")
    speeds = np.linspace(low, high, POINTS)
    (sink, half), (other_sink, other_half) = (
        (np.interp(speeds, curve[0], curve[1]), np.interp(speeds, curve[0], curve[2])) for curve in (one, other)
    )
    middle, reach = other_sink - sink, np.hypot(half, other_half)
    rows = zip(speeds, middle, middle - reach, middle + reach, strict=True)
    return tuple(PolarDifference(*map(float, row)) for row in rows)


def compare_all(polars: Mapping[str, PolarReport]) -> tuple[PolarComparison, ...]:
    """Compare every pair of named polars that were flown at common speeds; none when there are too many to read."""
    if len(polars) > MOST_COMPARED:
        return ()
    found = []
    for (first, one), (second, other) in combinations(polars.items(), 2):
        try:
            found.append(PolarComparison(first, second, compare_polars(one, other)))
        except NoAnswerError:
            continue
    return tuple(found)


def _at_sea_level(polar: PolarReport) -> Array:
    """Speeds, sinks and half-widths of the band, rows, scaled to sea-level density."""
    stretch = math.sqrt(polar.flown.density_kg_m3 / ISA_SEA_LEVEL_DENSITY_KG_M3)
    rows = [(point.airspeed_m_s, point.sink_m_s, 0.5 * (point.high_m_s - point.low_m_s)) for point in polar.curve]
    return stretch * np.array(rows).T
