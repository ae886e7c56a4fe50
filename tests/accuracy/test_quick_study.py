"""A few simulated flights through conditioning, segmentation and measures: a reduced main_job.py.

The limits are wide, because so few flights can be unlucky; the study itself is run by hand.
"""

from __future__ import annotations

import numpy as np
import pytest
from simulator import Difficulty

from accuracy.main_job import Study, run_study

QUICK_SEEDS = range(500, 503)


@pytest.fixture(scope="module", params=["normal", "hard"])
def study(request: pytest.FixtureRequest) -> Study:
    difficulty: Difficulty = request.param
    return run_study(QUICK_SEEDS, difficulty)


def test_motor_runs_are_found_and_none_invented(study: Study) -> None:
    runs = study.card.events["motor_run"]
    assert runs.matched >= 3
    assert (runs.false, runs.missed) == (0, 0)
    assert study.card.overlap["motor_run"].f1 > 0.96


def test_thermals_are_told_from_glides_better_than_by_thresholds(study: Study) -> None:
    assert study.card.overlap["thermal_climb"].f1 > 0.85
    assert study.card.overlap["thermal_climb"].f1 > study.plain.overlap["thermal_climb"].f1
    assert study.card.zooms_as_thermals == 0


def test_figures_are_close_to_the_truth(study: Study) -> None:
    figures = study.card.figures
    for name, limit in (("charge_ah", 0.03), ("height_gain_m", 0.04), ("climb_per_ah_m", 0.05)):
        assert np.median(np.abs(figures[name].errors(relative=True))) < limit
    assert np.median(np.abs(figures["sink_rate_m_s"].errors(relative=False))) < 0.06
