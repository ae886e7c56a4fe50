"""Averages of close readings, and the level of the launch point."""

import numpy as np
import pytest

from analyzer.conditioning.height import averaged
from analyzer.conditioning.launch_level import launch_level
from analyzer.conditioning.tuning import CONDITIONING


def test_fast_readings_are_averaged_and_nothing_is_lost():
    time_s = np.arange(0.0, 20.0, 0.02)
    nodes, levels, counts = averaged(time_s, 3.0 * time_s, 0.2)
    assert counts.sum() == len(time_s)
    assert levels == pytest.approx(3.0 * nodes)
    assert np.diff(nodes).min() > 0.2 / 3.0


def test_slow_readings_are_left_alone():
    time_s = np.arange(0.0, 60.0, 1.0)
    nodes, _, counts = averaged(time_s, time_s, 0.2)
    assert nodes.tolist() == time_s.tolist()
    assert (counts == 1).all()


def test_readings_on_top_of_each_other_become_one():
    time_s = np.array([0.0, 1.0, 1.001, 1.002, 2.0, 3.0, 3.0005])
    nodes, levels, counts = averaged(time_s, np.array([0.0, 1.0, 2.0, 3.0, 5.0, 6.0, 8.0]), 0.2)
    assert counts.tolist() == [1, 3, 1, 2]
    assert levels.tolist() == [0.0, 2.0, 5.0, 7.0]
    assert len(nodes) == 4


def test_the_level_is_that_of_the_stationary_start():
    rng = np.random.default_rng(0)
    time_s = np.arange(0.0, 60.0, 0.2)
    altitude = 250.0 + np.maximum(time_s - 30.0, 0.0) * 6.0 + rng.normal(0.0, 0.3, len(time_s))
    assert launch_level(time_s, altitude, CONDITIONING) == pytest.approx(250.0, abs=0.15)


def test_a_hand_that_lifts_the_model_does_not_move_the_level_far():
    time_s = np.arange(0.0, 80.0, 0.2)
    altitude = 1.5 * (time_s > 20) * (time_s < 40) + np.maximum(time_s - 60.0, 0.0) * 6.0
    assert launch_level(time_s, altitude, CONDITIONING) == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("rate", [-1.5, -0.5, 2.0])
def test_of_a_start_in_the_air_the_first_reading_is_the_level(rate):
    time_s = np.arange(0.0, 60.0, 0.2)
    assert launch_level(time_s, 400.0 + rate * time_s, CONDITIONING) == 400.0


def test_a_log_that_never_leaves_the_ground_has_its_level():
    assert launch_level(np.arange(30.0), np.full(30, 7.0), CONDITIONING) == 7.0
