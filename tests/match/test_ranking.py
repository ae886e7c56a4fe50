"""Which propeller to try next: order, what is left out, and the trade that is asked for."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from match_planted import planted_setup

from analyzer.errors import NoAnswerError, OptionError
from analyzer.match import AIMS, parse_aim, rank
from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import Prediction
from analyzer.power_system.propeller import Propeller, propeller_range

SETUP = planted_setup(
    "continuous_current_a = 60.0", "continuous_current_a = 40.0", "burst_current_a = 80.0", "burst_current_a = 60.0"
)
SIZES = (*propeller_range("10x5:13x8"), Propeller(12.0, 6.5))


@pytest.fixture(scope="module")
def prediction() -> Prediction:
    return predict(SETUP, SIZES)


def test_the_best_stands_first_and_all_stand_somewhere(prediction: Prediction) -> None:
    ranking = rank(prediction, parse_aim("climb_per_ah"), SETUP)
    values = [one.climb_per_ah_m.value for one in ranking.ranked]
    assert values == sorted(values, reverse=True)
    assert [one.place for one in ranking.ranked] == list(range(1, len(values) + 1))
    assert {one.propeller for one in (*ranking.ranked, *ranking.excluded)} == {size.name for size in SIZES}


@pytest.mark.parametrize("aim", [*AIMS, "climb_per_ah=2,level_speed=1"])
def test_no_candidate_passes_a_limit(prediction: Prediction, aim: str) -> None:
    ranking = rank(prediction, parse_aim(aim), SETUP)
    by_name = {one.propeller: one for one in prediction.propellers}
    assert ranking.ranked
    assert ranking.excluded
    for one in ranking.ranked:
        assert by_name[one.propeller].within_limits
        assert one.tightest.margin > 0.0
        assert one.tightest.odds_beyond == max(limit.odds_beyond for limit in by_name[one.propeller].limits)
    for left in ranking.excluded:
        assert not by_name[left.propeller].within_limits
        assert any("against 40 A" in reason for reason in left.reasons)


def test_gains_are_over_the_setups_own_propeller(prediction: Prediction) -> None:
    ranking = rank(prediction, parse_aim("level_speed"), SETUP)
    own = next(one for one in prediction.propellers if one.propeller == "12x6.5")
    first = ranking.ranked[0]
    assert ranking.reference == "12x6.5"
    assert first.gain_percent == pytest.approx(
        100.0 * (first.top_speed_m_s.value / own.level.top_speed_m_s.value - 1.0)
    )


def test_a_trade_is_the_weighted_geometric_mean(prediction: Prediction) -> None:
    ranking = rank(prediction, parse_aim("climb_per_ah=3,level_speed=1"), SETUP)
    own = next(one for one in prediction.propellers if one.propeller == ranking.reference)
    first = ranking.ranked[0]
    climb = first.climb_per_ah_m.value / own.best_climb.climb_per_ah_m.value
    speed = first.top_speed_m_s.value / own.level.top_speed_m_s.value
    assert first.gain_percent == pytest.approx(100.0 * (climb**0.75 * speed**0.25 - 1.0))


def test_the_users_own_diameter_limit(prediction: Prediction) -> None:
    ranking = rank(prediction, parse_aim("climb_per_ah"), SETUP, max_diameter_in=11.0)
    assert all(one.propeller.startswith(("10x", "11x")) for one in ranking.ranked)
    larger = next(one for one in ranking.excluded if one.propeller == "12x5")
    assert larger.reasons[0] == "larger than 11 inch"


@pytest.mark.parametrize(
    ("change", "most_in", "why"),
    [
        (("continuous_current_a = 60.0", "continuous_current_a = 2.0"), None, r"controller current, continuous \("),
        (("pitch_in", "pitch_in"), 9.0, "10x5, for one: larger than 9 inch"),
        (("mass_kg = 2.1", ""), None, r"the setup lacks \[airframe\] mass_kg"),
    ],
    ids=["limits", "room", "no airframe"],
)
def test_where_no_candidate_is_left_it_is_said_why(change: tuple[str, str], most_in: float | None, why: str) -> None:
    setup = planted_setup(*change)
    with pytest.raises(NoAnswerError, match=why):
        rank(predict(setup, SIZES[:2]), parse_aim("climb_rate"), setup, most_in)


@pytest.mark.parametrize(
    "text", ["", "speed", "climb_rate,climb_rate", "climb_rate=0", "climb_rate=-1", "climb_rate=x", "climb_rate=nan"]
)
def test_aims_that_are_none(text: str) -> None:
    with pytest.raises(OptionError) as error:
        parse_aim(text)
    assert error.value.remedy


@given(st.text(max_size=40))
def test_any_text_is_an_aim_or_one_clear_error(text: str) -> None:
    try:
        aim = parse_aim(text)
    except OptionError:
        return
    assert math.isclose(sum(share for _, share in aim.shares), 1.0)


def test_a_range_is_every_whole_inch() -> None:
    assert [one.name for one in propeller_range("12x6:13x8")] == ["12x6", "12x7", "12x8", "13x6", "13x7", "13x8"]
    assert [one.name for one in propeller_range("12.5x6x3:13.2x6x3")] == ["12.5x6x3"]


@pytest.mark.parametrize("text", ["12x6", "13x6:12x8", "12x8:13x6", "12x6:13x8x3", "a:b", ":"])
def test_ranges_that_are_none(text: str) -> None:
    with pytest.raises(OptionError):
        propeller_range(text)
