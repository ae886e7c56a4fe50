"""The trade-off chart with what was flown on it, and the same on paper."""

from __future__ import annotations

import numpy as np
import pytest
from match_planted import planted_setup

from analyzer.figures.prediction import current_figure, trade_off_figure
from analyzer.figures.still import still_svg
from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import Prediction
from analyzer.power_system.propeller import Propeller


@pytest.fixture(scope="module")
def prediction() -> Prediction:
    return predict(planted_setup(), [Propeller(11.0, 6.0), Propeller(12.0, 6.5), Propeller(13.0, 7.0)])


def test_the_flown_one_stands_at_what_was_measured(prediction: Prediction) -> None:
    star = trade_off_figure(prediction, {"12x6.5": (700.0, 10.0), "18x9": (500.0, None)}).data[-1]
    assert star.name == "measured in flight"
    np.testing.assert_allclose(star.y, [700.0])
    np.testing.assert_allclose(star.x, [prediction.propellers[1].level.top_speed_m_s.value])
    assert star.error_y.array[0] == pytest.approx(19.6, rel=1e-4)


def test_feet_move_the_measured_one_too(prediction: Prediction) -> None:
    star = trade_off_figure(prediction, {"12x6.5": (700.0, 10.0)}, system="feet").data[-1]
    assert star.y[0] == pytest.approx(700.0 / 0.3048)


def test_without_flights_the_chart_has_two_kinds_of_points(prediction: Prediction) -> None:
    assert len(trade_off_figure(prediction).data) == 2
    assert len(trade_off_figure(prediction, {"18x9": (500.0, None)}).data) == 2


def test_on_paper_points_have_names_shapes_and_a_legend(prediction: Prediction) -> None:
    drawn = still_svg(trade_off_figure(prediction, {"12x6.5": (700.0, 10.0)}))
    for text in ("12x6.5", "inside all limits", "measured in flight", "top level speed"):
        assert text in drawn
    assert drawn.count("<path") >= 4


def test_on_paper_every_curve_has_a_dash_of_its_own(prediction: Prediction) -> None:
    drawn = still_svg(current_figure(prediction))
    assert "controller, continuous 60 A" in drawn
    assert 'stroke-dasharray="7 4"' in drawn
    assert 'stroke-dasharray="2 3"' in drawn
