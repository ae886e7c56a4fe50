"""A ranking and a calibration as documents: units, foreign text, what is told and what is not."""

from __future__ import annotations

import json
from dataclasses import replace
from html import unescape

import pytest
from match_flight import climbing_log, summary_of
from match_planted import offsets, planted_runs, planted_setup

from analyzer.analysis import Analysis
from analyzer.export.calibration_text import calibration_text
from analyzer.export.json_document import json_document
from analyzer.export.prediction_json import prediction_plain
from analyzer.export.ranking_html import best_of, ranking_page
from analyzer.export.ranking_tables import MOST_SHOWN, advice, excluded_table, ranking_table
from analyzer.export.ranking_text import ranking_text
from analyzer.match import CalibrationResult, Ranking, calibrate, parse_aim, rank
from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import Prediction
from analyzer.power_system.propeller import propeller_range
from analyzer.records import Segmentation

HOSTILE = '</script><script>alert("x")</script>\x1b[31m'
SETUP = planted_setup("continuous_current_a = 60.0", "continuous_current_a = 40.0").model_copy(update={"name": HOSTILE})


@pytest.fixture(scope="module")
def prediction() -> Prediction:
    return predict(SETUP, propeller_range("10x4:13x8"))


@pytest.fixture(scope="module")
def ranking(prediction: Prediction) -> Ranking:
    return rank(prediction, parse_aim("climb_per_ah"), SETUP)


def test_units_change_and_the_order_does_not(ranking: Ranking) -> None:
    metric, feet = (ranking_table(ranking, system) for system in ("metric", "feet"))
    assert [row[1] for row in metric.rows] == [row[1] for row in feet.rows]
    units = {column.title: column.unit for column in feet.columns}
    assert (units["per Ah"], units["climb"], units["level speed"]) == ("ft/Ah", "ft/min", "mph")
    shown = next(at for at, column in enumerate(feet.columns) if column.title == "per Ah")
    assert feet.rows[0][shown] != metric.rows[0][shown]


def test_the_terminal_shows_the_first_places_and_says_how_many_are_left(
    ranking: Ranking, prediction: Prediction
) -> None:
    many = replace(ranking, ranked=ranking.ranked * 5, excluded=ranking.excluded * 20)
    text = " ".join(ranking_text(many, prediction).split())
    for whole in (many.ranked, many.excluded):
        assert f"{len(whole) - MOST_SHOWN} more stand in the document" in text
    assert len(ranking_table(many).rows) == len(many.ranked)


def test_the_first_to_try_is_one_that_hardly_overloads(ranking: Ranking, prediction: Prediction) -> None:
    risky, safe, own = (
        replace(one, tightest=replace(one.tightest, odds_beyond=odds))
        for one, odds in zip(ranking.ranked[:3], (0.4, 0.004, 0.001), strict=True)
    )
    said = {
        (risky, safe): f"Try {safe.propeller} first: the best by this aim of those with a risk of at most 5 %.",
        (safe, own): f"Try {safe.propeller} first: the best by this aim, at a risk of <1 %.",
        (risky,): "Each candidate has a risk of more than 5 % of passing a limit",
    }
    for ranked, sentence in said.items():
        assert sentence in " ".join(ranking_text(replace(ranking, ranked=ranked), prediction).split())
        assert sentence in unescape(ranking_page(replace(ranking, ranked=ranked), prediction))
    assert best_of(prediction, replace(ranking, ranked=(risky, safe))).propellers[0].propeller == safe.propeller
    stays = replace(ranking, ranked=(risky, own), reference=own.propeller, own=own.propeller)
    assert advice(stays).startswith(f"Stay with {own.propeller}:")


def test_a_candidate_that_is_not_on_the_model_is_none_to_stay_with(prediction: Prediction) -> None:
    """Where the setup's own propeller is no candidate, the gains are over the best one: it is still to be tried."""
    found = rank(prediction, parse_aim("climb_per_ah"), SETUP.model_copy(update={"propeller": None}))
    best = replace(found.ranked[0], tightest=replace(found.ranked[0].tightest, odds_beyond=0.01))
    assert (found.own, found.reference) == (None, best.propeller)
    assert advice(replace(found, ranked=(best,))).startswith(f"Try {best.propeller} first:")


def test_what_is_left_out_has_its_reason(ranking: Ranking) -> None:
    rows = excluded_table(ranking).rows
    assert rows
    assert all(row[1].count("over the limit: ") == 1 for row in rows)


def test_foreign_text_stays_text(ranking: Ranking, prediction: Prediction) -> None:
    page = ranking_page(ranking, prediction)
    assert "<script>alert" not in page
    assert "\x1b" not in ranking_text(ranking, prediction)


def test_the_document_is_strict_json(ranking: Ranking, prediction: Prediction) -> None:
    plain = json.loads(json_document(prediction_plain(prediction, ranking)))
    first = plain["ranking"]["ranked"][0]
    assert first["climb_per_ah_m_low"] < first["climb_per_ah_m"] < first["climb_per_ah_m_high"]
    assert plain["units"]["climb_per_ah_m"] == "m/Ah"
    assert "ranking" not in prediction_plain(prediction)


@pytest.fixture(scope="module")
def result() -> CalibrationResult:
    setup = planted_setup().model_copy(update={"name": HOSTILE})
    run = planted_runs(setup, offsets(power=0.3, thrust=0.28), count=1)[0]
    log = climbing_log(
        3,
        current_a=run.current_a.value,
        loaded_v=run.voltage_v.value,
        rest_v=12.66,
        rpm=72.0 * run.speed_rev_s.value,
        climb_m_s=run.climb_m_s.value,
    )
    return calibrate([Analysis(log, Segmentation((), ()), summary_of(log))], setup)


def test_a_calibration_is_told_in_words_with_its_effect(result: CalibrationResult) -> None:
    text = calibration_text(result)
    assert "\x1b" not in text
    assert "more power than modelled" in text
    assert "mean of the measured family" in text
    stated, calibrated = (line.split() for line in text.splitlines() if line.strip().startswith(("as st", "calibr")))
    assert float(calibrated[1]) > float(stated[2])
    assert "ft/min" in calibration_text(result, "feet")
