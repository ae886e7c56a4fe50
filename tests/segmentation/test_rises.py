"""Which rises of an averaged height are one climb: told by the dip between them, not by its ripples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.segmentation.motion import GRID_S
from analyzer.segmentation.rises import joined_rises
from analyzer.segmentation.tuning import SEGMENTATION


def height(*pieces):
    """Height in metres from pieces of (seconds, metres gained), each in line."""
    steps = [np.full(round(lasts / GRID_S), gain / round(lasts / GRID_S)) for lasts, gain in pieces]
    return np.concatenate(([0.0], np.cumsum(np.concatenate(steps))))


def rises(mean_m):
    return joined_rises(mean_m, SEGMENTATION.lift)


def climbs(mean_m):
    """Rises that gain what a climb must."""
    return [(a, b) for a, b in rises(mean_m) if mean_m[b] - mean_m[a] >= SEGMENTATION.lift.least_gain_m]


@pytest.mark.parametrize(
    ("dip", "parts"),
    [
        pytest.param([(8.0, -4.0)], False, id="made good within a circle"),
        pytest.param([(8.0, -10.0)], False, id="within a circle, made good later"),
        pytest.param([(12.0, -4.0)], True, id="longer than a circle"),
        pytest.param([(8.0, -20.0)], True, id="more than half is lost"),
        pytest.param([(3.5, -1.5), (1.0, 0.05), (3.5, -1.5)], False, id="a ripple within the dip"),
        pytest.param([(1.0, -0.05), (1.0, 0.06), (1.0, -0.05)], False, id="two ripples at the crest"),
        pytest.param([(6.0, -2.0), (1.0, 0.05), (6.0, -2.0)], True, id="a ripple within a longer dip"),
    ],
)
def test_what_a_dip_parts(dip, parts):
    mean = height((20, -15.0), (30, 30.0), *dip, (30, 30.0), (20, -15.0))
    assert len(climbs(mean)) == 1 + parts


def test_a_climb_of_its_own_between_two_long_glides_stays():
    mean = height((30, 40.0), (60, -50.0), (25, 12.0), (60, -50.0), (30, 40.0))
    assert len(climbs(mean)) == 3


def test_long_shallow_dips_part_climbs():
    assert len(climbs(height((30, 30.0), (15, -0.3), (30, 30.0)))) == 2


@given(st.lists(st.tuples(st.floats(1.0, 30.0), st.floats(0.01, 40.0)), min_size=1, max_size=25))
def test_rises_lie_apart_in_order_and_rise(pieces):
    mean = height(*[(lasts, gain * (-1) ** at) for at, (lasts, gain) in enumerate(pieces)])
    turns = [turn for rise in rises(mean) for turn in rise]
    assert turns == sorted(set(turns))
    assert all(mean[b] > mean[a] for a, b in rises(mean))
