"""Start height and score.

Rules and examples: "Understanding F5J Start Height" (page updated 6 March 2025), which quotes FAI 5.5.11.1.3 h) and
5.5.11.12 e): 215 m costs 145 points, 180 m costs 90. Southern Soaring League's page on F5J: 201 m costs 103 points;
overflying the working time loses the landing points, by more than a minute the whole flight. Both read.
"""

import numpy as np
import pytest

from analyzer.soaring.start_height import height_deduction, score_start, start_height_m


@pytest.mark.parametrize(("height", "points"), [(215, 145), (180, 90), (201, 103), (200, 100), (0, 0)])
def test_published_deductions(height, points):
    assert height_deduction(height) == points


def _launch(top_s, top_m, late_m):
    time = np.arange(0.0, 120.0, 0.5)
    return time, np.interp(time, [0.0, top_s, 40.0, 80.0], [0.0, top_m, late_m, 300.0])


def test_the_highest_point_counts_not_the_height_ten_seconds_after():
    time, height = _launch(22.0, 150.0, 120.0)
    assert start_height_m(time, height, 0.0, 20.0) == pytest.approx(150.0)


def test_nothing_after_ten_seconds_counts():
    time, height = _launch(20.0, 100.0, 100.0)
    assert start_height_m(time, height, 0.0, 20.0) == pytest.approx(100.0)


def test_score_of_a_full_flight():
    score = score_start(1, 150.0, 598.7, 22.0, 1)
    assert (score.time_points, score.height_deduction, score.score_without_landing) == (598.0, 75.0, 523.0)
    assert score.valid
    assert "2014" in score.rules


@pytest.mark.parametrize(
    ("time_s", "motor_s", "runs", "valid", "word"),
    [
        (500.0, 40.0, 1, False, "30 s"),
        (500.0, 20.0, 2, False, "started 2"),
        (620.0, 20.0, 1, True, "past ten"),
        (661.0, 20.0, 1, False, "a minute past"),
    ],
)
def test_remarks(time_s, motor_s, runs, valid, word):
    score = score_start(1, 100.0, time_s, motor_s, runs)
    assert score.valid is valid
    assert word in score.remark
    assert (score.score_without_landing > 0.0) is valid
