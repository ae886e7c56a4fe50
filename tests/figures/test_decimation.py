"""Thinning a curve for the screen loses no extreme and no gap."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from analyzer.figures.decimation import decimated

curves = hnp.arrays(
    np.float64,
    st.integers(0, 3000),
    elements=st.floats(-1e6, 1e6) | st.just(float("nan")),
    fill=st.floats(-1e6, 1e6) | st.just(float("nan")),
)


@given(curves, st.integers(4, 400))
def test_extremes_gaps_and_ends_survive(values: np.ndarray, limit: int) -> None:
    kept = decimated(values, limit)
    assert np.all(np.diff(kept) > 0)
    if values.size:
        assert kept[0] == 0
        assert kept[-1] == values.size - 1
    if np.isfinite(values).any():
        assert np.nanmin(values[kept]) == np.nanmin(values)
        assert np.nanmax(values[kept]) == np.nanmax(values)
    edges = np.flatnonzero(np.diff(np.isnan(values).astype(int)))
    assert np.isin(edges, kept).all()
    assert np.isin(edges + 1, kept).all()


@given(curves, st.integers(4, 400))
def test_every_stretch_of_samples_keeps_its_own_extremes(values: np.ndarray, limit: int) -> None:
    kept = decimated(values, limit)
    if values.size > limit:
        edges = np.linspace(0, values.size, limit // 4 + 1).astype(int)
        for begin, end in itertools.pairwise(edges):
            inside = kept[(kept >= begin) & (kept < end)]
            if np.isfinite(values[begin:end]).any():
                assert np.nanmax(values[inside]) == np.nanmax(values[begin:end])
                assert np.nanmin(values[inside]) == np.nanmin(values[begin:end])


def test_few_samples_are_all_drawn() -> None:
    assert decimated(np.arange(50.0), 100).tolist() == list(range(50))


@pytest.mark.parametrize("count", [10_000, 1_000_000])
def test_a_long_curve_becomes_short(count: int) -> None:
    noise = np.random.default_rng(7).normal(size=count)
    assert decimated(noise, 1000).size <= 1000
