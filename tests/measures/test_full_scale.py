"""A current sensor at its end is told from one that reads what is drawn."""

import numpy as np
import pytest

from analyzer.measures.draw import Draw
from analyzer.measures.full_scale import full_scale
from analyzer.measures.idle import idle_of
from analyzer.measures.integrals import Signal
from analyzer.measures.tuning import TUNING
from analyzer.records import Segment

TIME = np.arange(0.0, 200.0, 0.1)
RUNS = (Segment("motor_run", 40.0, 60.0, 0.0, 120.0), Segment("motor_run", 120.0, 140.0, 60.0, 180.0))


def found(most_a=np.inf, step_a=0.1, noise_a=0.1):
    """40 A that fall by 2 A over each run, as the pack's voltage does."""
    current = np.random.default_rng(3).normal(0.3, noise_a, TIME.size)
    for run in RUNS:
        inside = slice(*np.searchsorted(TIME, [run.start_s, run.end_s]))
        current[inside] += 40.0 - 0.1 * (TIME[inside] - run.start_s)
    signal = Signal(TIME, np.minimum(np.round(current / step_a) * step_a, most_a))
    return full_scale(Draw(signal, idle_of(signal, RUNS, TUNING, hidden=0.0), RUNS, TUNING))


@pytest.mark.parametrize("most_a", [25.0, 39.0])
def test_a_sensor_that_reads_its_most_for_long_is_at_its_end(most_a):
    reading, share = found(most_a)
    assert reading == most_a
    assert share > 0.3


@pytest.mark.parametrize(("step_a", "noise_a"), [(0.1, 0.1), (1.0, 0.1), (0.1, 0.02), (0.1, 0.0), (5.0, 0.1)])
def test_a_sensor_that_reads_what_is_drawn_is_not(step_a, noise_a):
    assert found(step_a=step_a, noise_a=noise_a) is None


def test_a_sensor_too_coarse_to_show_noise_tells_nothing():
    assert found(most_a=25.0, step_a=5.0) is None
