"""The scale of a channel between idle and full power, in logs so long that only pieces of them are looked at."""

import numpy as np
import pandas as pd
import pytest

from analyzer.records import Log
from analyzer.segmentation.motor.signals import motor_signal
from analyzer.segmentation.tuning import SEGMENTATION

ROWS = 200_000


@pytest.mark.parametrize("first", [4_500, 50_000, 120_000])
def test_full_power_is_found_wherever_the_only_run_of_a_long_log_lies(first):
    power = np.full(ROWS, 2.0)
    power[first : first + 40] = 250.0 + np.arange(40.0)
    frame = pd.DataFrame({"time_s": 0.1 * np.arange(ROWS), "climb_m_s": 0.0, "power_w": power})
    signal = motor_signal(Log("made.csv", "0" * 64, frame), "power_w", SEGMENTATION.motor)
    assert signal is not None
    # Full power is the one that ten readings, a second of them, reach.
    assert np.count_nonzero(signal.level >= 1.0) == 10
    assert signal.level[0] == pytest.approx(0.0)


def test_a_long_log_in_which_nothing_stands_out_shows_no_motor():
    frame = pd.DataFrame({"time_s": 0.1 * np.arange(ROWS), "climb_m_s": 0.0, "power_w": np.full(ROWS, 2.0)})
    assert motor_signal(Log("made.csv", "0" * 64, frame), "power_w", SEGMENTATION.motor) is None
