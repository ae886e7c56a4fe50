"""Between the climbs: searches, the air along the glides, lift passed by."""

import numpy as np
import pytest

from analyzer.records import Flight, Segment, Segmentation
from analyzer.soaring.air_motion import AirMotion
from analyzer.soaring.glide_stretches import Stretch
from analyzer.soaring.own_sink import choose_own_sink
from analyzer.soaring.searching import air_cells, lift_passed, searches

TIME = np.arange(0.0, 400.0, 0.2)
OWN = choose_own_sink(None, None, (0.5, 0.0))
STRETCHES = (Stretch(30.0, 200.0, None), Stretch(260.0, 390.0, None))
SEGMENTATION = Segmentation(
    (Flight(5.0, 395.0),),
    (
        Segment("motor_run", 0.0, 25.0, 0.0, 200.0),
        Segment("glide", 25.0, 200.0, 200.0, 120.0),
        Segment("thermal_climb", 200.0, 255.0, 120.0, 220.0),
        Segment("glide", 255.0, 395.0, 220.0, 0.0),
        Segment("ground", 395.0, 400.0, 0.0, 0.0),
    ),
)


def _motion(*patches, gust=0.0, seed=0):
    """Glide at 0.5 m/s sink with patches of air (start, end, rise) and gusts set in."""
    air = gust * np.random.default_rng(seed).standard_normal(TIME.size // 25).repeat(25)
    for start, end, rise in patches:
        air[(start <= TIME) & (end > TIME)] += rise
    nothing = np.full(TIME.size, np.nan)
    return AirMotion(TIME, nothing, np.ones(TIME.size), air - 0.5, "none")


def test_cells_give_the_air_back():
    cells = air_cells(_motion((100.0, 110.0, 1.5)), OWN, STRETCHES)
    inside = (cells.start_s >= 100.0) & (cells.end_s <= 110.0)
    assert cells.air_m_s[inside] == pytest.approx(1.5)
    assert cells.air_m_s[~inside] == pytest.approx(0.0)
    assert cells.start_s.size == 34 + 26


def test_zooms_are_left_out():
    cells = air_cells(_motion(), OWN, STRETCHES, left_out=[(50.0, 58.0)])
    assert not np.any((cells.start_s < 58.0) & (cells.end_s > 50.0))


def test_searches_say_how_they_ended():
    cells = air_cells(_motion((40.0, 90.0, -0.6)), OWN, STRETCHES)
    first, second = searches(SEGMENTATION, cells)
    assert (first.start_s, first.end_s, first.outcome) == (25.0, 200.0, "thermal_climb")
    assert first.height_change_m == -80.0
    assert first.sinking_share == pytest.approx(10 / 34)
    assert second.outcome == "landing"
    assert second.mean_air_m_s == pytest.approx(0.0)


def test_a_search_without_cells_still_has_its_time():
    (search, _) = searches(SEGMENTATION, air_cells(_motion(), OWN, ()))
    assert search.mean_air_m_s is None
    assert search.end_s - search.start_s == 175.0


def test_strong_wide_lift_is_nearly_certain_and_a_gust_is_not():
    height = np.full(TIME.size, 100.0)
    motion = _motion((100.0, 125.0, 2.0), (300.0, 305.0, 0.8), gust=0.25)
    passed = lift_passed(air_cells(motion, OWN, STRETCHES), OWN, TIME, height)
    wide = max(passed, key=lambda item: item.probability)
    assert wide.probability > 0.9
    assert wide.start_s < 110.0 < wide.end_s
    assert wide.altitude_m == 100.0
    assert all(item.probability < wide.probability for item in passed if item.start_s > 250.0)


def test_still_air_has_nothing_to_pass():
    height = np.full(TIME.size, 100.0)
    cells = air_cells(_motion(gust=0.1), OWN, STRETCHES)
    assert lift_passed(cells, OWN, TIME, height) == ()


def test_too_little_glide_to_judge():
    height = np.full(TIME.size, 100.0)
    cells = air_cells(_motion((35.0, 45.0, 3.0)), OWN, (Stretch(30.0, 60.0, None),))
    assert lift_passed(cells, OWN, TIME, height) == ()
