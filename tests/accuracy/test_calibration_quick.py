"""A few invented days of calibrating on one propeller and predicting another: a reduced calibration_days.py.

The limits are wide, because so few days can be unlucky; the study itself is run by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from accuracy.calibration_days import Study, run_study

QUICK_SEEDS = range(500, 508)


@pytest.fixture(scope="module")
def study() -> Study:
    return run_study(QUICK_SEEDS)


def test_every_day_gives_an_answer(study: Study) -> None:
    assert study.silent == 0
    assert study.without_climb == 0
    assert {case.of_measured_make for case in study.cases} == {True, False}


@pytest.mark.parametrize("calibrated", [True, False])
def test_most_intervals_hold_the_truth(study: Study, calibrated: bool) -> None:
    for quantity in ("current_a", "climb_per_ah_m"):
        held = [case.held for case in study.some(quantity, calibrated=calibrated)]
        assert sum(held) >= len(QUICK_SEEDS) - 2


def test_the_errors_are_of_the_size_that_the_study_reports(study: Study) -> None:
    for quantity, limit in (("current_a", 10.0), ("climb_per_ah_m", 10.0)):
        errors = [case.error_percent for case in study.some(quantity, calibrated=True)]
        assert np.median(errors) < limit
