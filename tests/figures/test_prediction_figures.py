"""Figures of a prediction draw its numbers, with their intervals and the limit."""

from __future__ import annotations

import numpy as np
import plotly.graph_objects as go
import pytest
from made_setup import made_setup

from analyzer.figures.prediction import (
    MOST_CURVES,
    MOST_LABELS,
    climb_rate_figure,
    current_figure,
    thrust_figure,
    trade_off_figure,
)
from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import Prediction
from analyzer.power_system.propeller import Propeller


@pytest.fixture(scope="module")
def prediction() -> Prediction:
    sizes = [Propeller(diameter, pitch) for diameter in (10.0, 11.0, 12.0, 13.0) for pitch in (5.0, 6.0, 7.0, 8.0)]
    return predict(made_setup("continuous_current_a = 60.0", "continuous_current_a = 45.0"), sizes)


def curves(figure: go.Figure) -> list[go.Scatter]:
    return [trace for trace in figure.data if trace.mode == "lines"]


def test_current_over_airspeed_with_the_controllers_limit(prediction: Prediction) -> None:
    figure = current_figure(prediction)
    drawn = curves(figure)
    assert [trace.name for trace in drawn] == [one.propeller for one in prediction.propellers[:MOST_CURVES]]
    points = prediction.propellers[0].points
    np.testing.assert_allclose(drawn[0].y, [point.current_a.value for point in points])
    np.testing.assert_allclose(drawn[0].x, [point.airspeed_m_s for point in points])
    assert figure.layout.shapes[0].y0 == 45.0
    assert "45 A" in figure.layout.annotations[0].text


def test_the_band_is_the_interval(prediction: Prediction) -> None:
    band = next(trace for trace in current_figure(prediction).data if trace.fill == "toself")
    points = prediction.propellers[0].points
    assert max(band.y) == pytest.approx(max(point.current_a.high for point in points))
    assert min(band.y) == pytest.approx(min(point.current_a.low for point in points))


def test_thrust_and_drag_meet_at_the_top_speed(prediction: Prediction) -> None:
    figure = thrust_figure(prediction)
    drag = next(trace for trace in figure.data if trace.name == "drag")
    one = prediction.propellers[0]
    thrust = next(trace for trace in figure.data if trace.name == one.propeller)
    speed = one.level.top_speed_m_s.value
    assert np.interp(speed, thrust.x, thrust.y) == pytest.approx(np.interp(speed, drag.x, drag.y), rel=0.05)


def test_climb_rate_in_the_readers_units(prediction: Prediction) -> None:
    metric, feet = (curves(climb_rate_figure(prediction, system=system))[0] for system in ("metric", "feet"))
    np.testing.assert_allclose(np.array(feet.y), np.array(metric.y) / 0.3048 * 60.0)
    assert "ft/min" in climb_rate_figure(prediction, system="feet").layout.yaxis.title.text


def test_the_trade_off_tells_who_keeps_the_limits_and_names_the_unbeaten(prediction: Prediction) -> None:
    inside, beyond = trade_off_figure(prediction).data
    keeps = [one for one in prediction.propellers if one.within_limits]
    assert len(prediction.propellers) > MOST_LABELS
    assert len(inside.x) == len(keeps)
    assert len(inside.x) + len(beyond.x) == len(prediction.propellers)
    fastest = max(keeps, key=lambda one: one.level.top_speed_m_s.value)
    cheapest = max(keeps, key=lambda one: one.best_climb.climb_per_ah_m.value)
    assert {fastest.propeller, cheapest.propeller} <= set(inside.text)
    assert "" in inside.text
    assert any("passes" in text for text in beyond.hovertext)


def test_of_many_only_the_best_trades_and_the_current_propeller_have_name_and_intervals(prediction: Prediction) -> None:
    dull = min(
        (one for one in prediction.propellers if one.within_limits), key=lambda one: one.level.top_speed_m_s.value
    ).propeller
    without, _ = trade_off_figure(prediction).data
    inside, beyond = trade_off_figure(prediction, named=[dull]).data
    assert dull not in without.text
    assert dull in inside.text
    assert not any(beyond.text)
    for trace in (inside, beyond):
        for bars in (trace.error_x, trace.error_y):
            assert [width > 0 for width in bars.array] == [bool(name) for name in trace.text]
    assert all(" to " in text for text in (*inside.hovertext, *beyond.hovertext))


def test_nothing_to_draw_is_an_empty_figure() -> None:
    empty = Prediction("nothing", 1.0, 1.2, ())
    for figure in (current_figure(empty), thrust_figure(empty), climb_rate_figure(empty), trade_off_figure(empty)):
        assert isinstance(figure, go.Figure)
