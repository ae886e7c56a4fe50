"""The sample logs, read from their files in their dialects, against the truth beside them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from accuracy.score import ScoreCard, match_events, score_segments
from analyzer.analysis import Analysis, analyze_log
from analyzer.setup_file import read_setup
from analyzer.soaring import soar

FOLDER = Path(__file__).resolve().parents[2] / "sample_logs"
LOGS = sorted(path.name for pattern in ("*.csv", "*.igc") for path in FOLDER.glob(pattern))
MESSY = "messy_two_flights.csv"
FROM_THE_AIR = "thermal_recorder.igc"
"""Starts in the air, with no motor channel and no launch to tell by: compared by its thermals and glides only."""


@dataclass(frozen=True)
class Span:
    """A true segment or figure, as far as the comparison needs it."""

    kind: str
    start_s: float
    end_s: float
    height_gain_m: float | None = None
    climb_per_ah_m: float | None = None


@dataclass(frozen=True)
class Case:
    """One sample log: its analysis and its truth."""

    name: str
    analysis: Analysis
    truth: dict[str, Any]

    def spans(self, key: str, kind: str = "") -> list[Span]:
        names = Span.__dataclass_fields__
        return [Span(**{"kind": kind, **{k: v for k, v in record.items() if k in names}}) for record in self.truth[key]]


@pytest.fixture(scope="module", params=LOGS)
def case(request: pytest.FixtureRequest) -> Case:
    path = FOLDER / request.param
    setup = path.with_suffix(".setup.toml")
    analysis = analyze_log(path, read_setup(setup) if setup.is_file() else None)
    return Case(path.name, analysis, json.loads(path.with_suffix(".truth.json").read_text(encoding="utf-8")))


def test_segments_agree_with_the_truth(case: Case) -> None:
    card = ScoreCard()
    score_segments(card, case.analysis.segmentation.segments, case.spans("segments"), case.truth["duration_s"])
    if case.name == FROM_THE_AIR:
        assert card.overlap["glide"].f1 > 0.94
        assert card.overlap["thermal_climb"].f1 > 0.94
        return
    for kind, events in card.events.items():
        assert (events.missed, events.false) == (0, 0), kind
    assert all(overlap.f1 > 0.94 for overlap in card.overlap.values() if overlap.both_s + overlap.only_true_s > 0)


def test_every_flight_is_reported(case: Case) -> None:
    flights = case.analysis.summary.flights
    assert len(flights) == len(case.truth["flights"])
    if case.name == FROM_THE_AIR:
        return
    for flight, (start_s, end_s) in zip(flights, case.truth["flights"], strict=True):
        assert flight.start_s == pytest.approx(start_s, abs=3.0)
        assert flight.end_s == pytest.approx(end_s, abs=6.0)


def test_climbs_cost_what_they_cost(case: Case) -> None:
    tolerance = 0.05 if case.name == MESSY else 0.03
    climbs = [run for run in case.spans("motor_runs") if run.end_s - run.start_s > 10.0]
    pairs = match_events(case.analysis.summary.motor_runs, climbs)
    assert len(pairs) == len(climbs)
    for run, real in pairs:
        assert run.height_gain_m == pytest.approx(real.height_gain_m, rel=tolerance)
        assert run.climb_per_ah_m == pytest.approx(real.climb_per_ah_m, rel=tolerance)


def test_thermals_give_what_they_gave(case: Case) -> None:
    thermals = case.spans("thermal_climbs")
    pairs = match_events(case.analysis.summary.thermal_climbs, thermals)
    assert len(pairs) == len(thermals)
    for climb, real in pairs:
        assert climb.height_gain_m == pytest.approx(real.height_gain_m, rel=0.05, abs=2.0)


def test_circles_and_wind_are_found_where_each_sensor_has_a_stamp_of_its_own() -> None:
    """Every 0.2 s four rows milliseconds apart: most steps of time are no step of the positions."""
    path = FOLDER / "thermal_day.csv"
    analysis = analyze_log(path)
    report = soar(analysis.log, analysis.segmentation, analysis.summary)
    true = json.loads(path.with_suffix(".truth.json").read_text(encoding="utf-8"))["thermal_climbs"]
    for thermal, climb in zip(report.thermals, true, strict=True):
        assert thermal.circling is not None
        assert thermal.circling.period_s == pytest.approx(climb["circle_period_s"], rel=0.05)
        assert thermal.wind is not None
        assert thermal.wind.speed_m_s == pytest.approx(climb["wind_m_s"], abs=0.6)
        assert thermal.wind.from_deg == pytest.approx(climb["wind_from_deg"], abs=5.0)
    assert report.glide.polars
