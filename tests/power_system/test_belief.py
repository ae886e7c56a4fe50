"""A joint normal distribution: sums, Bayes' rule and principal axes against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.power_system.belief import Belief, independent

PAIR = Belief(("a", "b"), np.array([1.0, -2.0]), np.array([[4.0, 1.0], [1.0, 2.0]]))


def test_some_quantities_in_the_order_asked_for() -> None:
    swapped = PAIR.of("b", "a")
    np.testing.assert_array_equal(swapped.mean, [-2.0, 1.0])
    np.testing.assert_array_equal(swapped.covariance, [[2.0, 1.0], [1.0, 4.0]])
    with pytest.raises(ValueError, match="not in tuple"):
        PAIR.of("c")


def test_a_sum_has_the_variance_of_its_parts() -> None:
    whole = PAIR.with_sum(("s",), ("a",), np.array([[9.0]]))
    assert whole.of("s").mean[0] == 1.0
    assert whole.spread("s") == pytest.approx(np.sqrt(13.0))
    np.testing.assert_allclose(whole.of("s", "b").covariance[0, 1], 1.0)


def test_what_stands_beside_knows_nothing_of_the_rest() -> None:
    whole = PAIR.beside(("c",), np.array([[9.0]]))
    np.testing.assert_array_equal(whole.of("a", "b").covariance, PAIR.covariance)
    np.testing.assert_array_equal(whole.of("a", "c").covariance, [[4.0, 0.0], [0.0, 9.0]])
    assert whole.of("c").mean[0] == 0.0


def test_bayes_rule_for_one_measured_quantity() -> None:
    told = PAIR.given(("a",), np.array([3.0]), np.array([[4.0]]))
    assert told.of("a").mean[0] == pytest.approx(2.0)  # half way: as sure of both
    assert told.spread("a") == pytest.approx(np.sqrt(2.0))
    assert told.of("b").mean[0] == pytest.approx(-2.0 + 1.0 / 8.0 * 2.0)
    assert told.spread("b") == pytest.approx(np.sqrt(2.0 - 1.0 / 8.0))


def test_what_is_known_from_elsewhere_stands_against_what_was_believed() -> None:
    known = PAIR.replaced(("a",), np.array([9.0]), np.array([[25.0]]))
    assert known.of("a").mean[0] == pytest.approx(9.0)
    assert known.spread("a") == pytest.approx(5.0)  # wider than before, too
    # b given a has the mean -2 + (a - 1)/4 and the variance 2 - 1/4
    assert known.of("b").mean[0] == pytest.approx(0.0)
    assert known.spread("b") == pytest.approx(np.sqrt(1.75 + 25.0 / 16.0))


def test_telling_both_parts_tells_the_sum_exactly() -> None:
    whole = PAIR.with_sum(("s",), ("a",), np.array([[1e-12]]))
    told = whole.given(("a",), np.array([3.0]), np.array([[1e-12]]))
    assert told.of("s").mean[0] == pytest.approx(3.0, abs=1e-5)
    assert told.spread("s") < 1e-5


def test_directions_make_up_the_covariance() -> None:
    directions = PAIR.directions()
    np.testing.assert_allclose(directions.T @ directions, PAIR.covariance)


def test_what_is_certain_has_no_direction() -> None:
    assert len(independent({"a": 1.0, "b": 0.0}).directions()) == 1
