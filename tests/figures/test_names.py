"""Names of points that stand close are set where they can be read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.figures.names import PLACES, name_places


def test_a_name_alone_stands_above_its_point():
    assert name_places([(27.0, 1300.0)], ["14x8"], (10.0, 300.0)) == ["top center"]


def test_three_close_points_have_their_names_on_three_sides():
    """They were printed over each other on a phone: a few pixels lie between these points there."""
    points = [(27.1, 1318.0), (27.5, 1284.0), (27.9, 1276.0)]
    places = name_places(points, ["14x8", "13x9", "12x10"], (13.0, 350.0))
    assert len(set(places)) == 3


def test_a_name_keeps_off_its_neighbour_s_point():
    (place, _) = name_places([(0.0, 0.0), (0.0, 5.0)], ["14x8", "13x9"], (100.0, 100.0))
    assert place == "bottom center"


@pytest.mark.parametrize("spans", [(0.0, 0.0), (1.0, 0.0)])
def test_points_in_one_place_have_a_place_each(spans):
    assert len(name_places([(1.0, 1.0)] * 3, ["a", "b", "c"], spans)) == 3


@given(st.lists(st.tuples(st.floats(-1e3, 1e3), st.floats(-1e3, 1e3)), max_size=12))
def test_every_name_has_a_place_that_the_figure_library_knows(points):
    places = name_places(points, [str(index) for index in range(len(points))], (2e3, 2e3))
    assert len(places) == len(points)
    assert set(places) <= {place for place, _, _ in PLACES}
