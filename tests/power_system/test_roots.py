"""The array root finder against scipy's brentq."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from analyzer.power_system.roots import bracketed_root


@given(st.lists(st.floats(-5.0, 5.0), min_size=1, max_size=20))
def test_each_point_gets_its_own_root(values: list[float]) -> None:
    target = np.array(values)
    found = bracketed_root(
        lambda x: np.tanh(0.3 * x) + 0.1 * x - target, np.full(target.shape, -60.0), np.full(target.shape, 60.0)
    )
    for want, root in zip(values, found, strict=True):
        expected = brentq(lambda x, want=want: np.tanh(0.3 * x) + 0.1 * x - want, -60.0, 60.0, xtol=1e-13)
        assert abs(root - expected) < 1e-9


def test_a_step_is_found_by_halving() -> None:
    found = bracketed_root(lambda x: np.where(x < 0.3, -1.0, 1.0), np.zeros(3), np.ones(3))
    np.testing.assert_allclose(found, 0.3, atol=1e-12)


def test_an_end_that_is_the_root_is_returned() -> None:
    found = bracketed_root(lambda x: x, np.array([0.0, -1.0]), np.array([1.0, 0.0]))
    np.testing.assert_allclose(found, 0.0, atol=1e-15)


def test_without_a_sign_change_the_better_end_is_returned() -> None:
    found = bracketed_root(lambda x: x + 1.0, np.zeros(1), np.ones(1))
    np.testing.assert_allclose(found, 0.0)
