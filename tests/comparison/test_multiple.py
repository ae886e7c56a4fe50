"""Simultaneous intervals against printed tables, a published example and the definition."""

from __future__ import annotations

import math

import numpy as np
import pytest

from analyzer.comparison.multiple import adjusted_p_value, critical_t, studentised_range_cdf


@pytest.mark.parametrize(
    ("groups", "degrees", "level", "printed"),
    [
        (3, 10, 0.95, 3.88),
        (4, 12, 0.95, 4.20),
        (5, 20, 0.95, 4.23),
        (3, 5, 0.95, 4.60),
        (10, 30, 0.95, 4.82),
        (3, 10, 0.99, 5.27),
        (4, 12, 0.99, 5.50),
        (3, 1e18, 0.95, 3.31),
        (4, 1e18, 0.95, 3.63),
    ],
)
def test_the_range_matches_the_printed_table(groups: int, degrees: float, level: float, printed: float) -> None:
    """Upper points of the studentised range, Harter (1960), Annals of Mathematical Statistics 31, 1122-1147, as
    reprinted in textbooks with two decimals (from memory); half a unit of the last digit."""
    assert math.sqrt(2.0) * critical_t(groups, degrees, level) == pytest.approx(printed, abs=0.0051)


@pytest.mark.parametrize(("groups", "degrees"), [(3, 1.0), (3, 2.5), (4, 7.3), (6, 20.0), (4, 1e4)])
def test_the_range_matches_scipy(groups: int, degrees: float) -> None:
    from scipy.stats import studentized_range

    for q in (1.0, 3.5, 8.0):
        assert studentised_range_cdf(q, groups, degrees) == pytest.approx(
            studentized_range.cdf(q, groups, degrees), abs=1e-8
        )


@pytest.mark.parametrize("degrees", [1.0, 3.3, 40.0])
def test_two_groups_are_students_t(degrees: float) -> None:
    from scipy.stats import t

    assert critical_t(2, degrees, 0.95) == pytest.approx(t.ppf(0.975, degrees), rel=1e-9)
    assert adjusted_p_value(2.0, 2, degrees) == pytest.approx(2 * t.sf(2.0, degrees), rel=1e-9)
    assert studentised_range_cdf(2.0 * math.sqrt(2.0), 2, degrees) == pytest.approx(
        1 - 2 * t.sf(2.0, degrees), abs=1e-8
    )


FEEDS = {
    "casein": (323.5833, 12), "horsebean": (160.2, 10), "linseed": (218.75, 12),
    "meatmeal": (276.9091, 11), "soybean": (246.4286, 14), "sunflower": (328.9167, 12),
}  # fmt: skip
"""Mean weight and number of chicks by feed: McNeil (1977), Interactive Data Analysis (R's data set chickwts)."""


@pytest.mark.parametrize(
    ("a", "b", "low", "high", "p"),
    [
        ("horsebean", "casein", -232.346876, -94.41979, 0.0),
        ("meatmeal", "casein", -113.906207, 20.55772, 0.3324584),
        ("soybean", "casein", -140.517054, -13.79247, 0.0083653),
        ("linseed", "horsebean", -10.413543, 127.51354, 0.1413329),
    ],
)
def test_unequal_groups_match_the_published_tukey_kramer_intervals(
    a: str, b: str, low: float, high: float, p: float
) -> None:
    """TukeyHSD(aov(weight ~ feed)) in R, published with the data set's analyses (intervals from memory; the residual
    line "65 df, sum of squares 195556" read)."""
    variance = 195556 / 65
    (mean_a, n_a), (mean_b, n_b) = FEEDS[a], FEEDS[b]
    error = math.sqrt(variance * (1 / n_a + 1 / n_b))
    half = critical_t(6, 65, 0.95) * error
    assert mean_a - mean_b - half == pytest.approx(low, abs=2e-3)
    assert mean_a - mean_b + half == pytest.approx(high, abs=2e-3)
    assert adjusted_p_value((mean_a - mean_b) / error, 6, 65) == pytest.approx(p, abs=2e-6)


def test_decision_and_p_value_agree() -> None:
    for groups in (2, 3, 5):
        for degrees in (2.0, 9.5, 60.0):
            critical = critical_t(groups, degrees, 0.95)
            assert adjusted_p_value(critical, groups, degrees) == pytest.approx(0.05, abs=1e-6)


def test_all_intervals_hold_together_as_often_as_promised() -> None:
    """Straight from the definition: the range of independent means over an estimated error."""
    rng = np.random.default_rng(4)
    means, spread = rng.normal(size=(40_000, 4)), np.sqrt(rng.chisquare(6, 40_000) / 6)
    together = np.ptp(means, axis=1) / spread <= math.sqrt(2.0) * critical_t(4, 6, 0.95)
    assert together.mean() == pytest.approx(0.95, abs=0.004)
