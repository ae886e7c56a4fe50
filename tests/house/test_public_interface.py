"""Everything that the commands do can be done with the public names alone, as the package's docstring says it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

import analyzer

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def samples(root: Path) -> Path:
    return root / "sample_logs"


def test_from_a_log_to_the_next_propeller(samples: Path) -> None:
    stated = samples / "morning_14x8.setup.toml"
    setup = analyzer.read_setup(stated)
    analysis = analyzer.analyze_log(samples / "morning_14x8.csv", setup)
    result = analyzer.calibrate([analysis], setup)
    assert "[calibration]" in analyzer.calibrated_toml(result, stated.read_text(encoding="utf-8"))
    prediction = analyzer.predict(result.setup, analyzer.propeller_range("12x6:13x8"))
    ranking = analyzer.rank(prediction, analyzer.parse_aim("climb_per_ah"), result.setup)
    assert analyzer.parse_propeller(ranking.ranked[0].propeller) in analyzer.propeller_range("12x6:13x8")
    assert json.loads(json.dumps(analyzer.to_plain(ranking)))["aim"] == "climb per Ah"


def test_stage_by_stage_is_the_whole_flow(samples: Path) -> None:
    setup = analyzer.read_setup(samples / "morning_14x8.setup.toml")
    log = analyzer.condition(analyzer.read_log(samples / "morning_14x8.csv", columns=setup.telemetry.columns))
    cut = analyzer.segment(log, setup)
    summary = analyzer.match_summary(analyzer.measure(log, cut, setup), setup, log)
    assert summary == analyzer.analyze_log(samples / "morning_14x8.csv", setup).summary


def test_the_air_of_a_session(samples: Path) -> None:
    analysis = analyzer.analyze_log(samples / "thermal_day.csv")
    report = analyzer.soar(analysis.log, analysis.segmentation, analysis.summary)
    session = analyzer.session_of([analysis.summary], [report])
    assert len(session.climbs) == len(report.thermals) > 0


def test_a_logbook_is_compared(samples: Path, tmp_path: Path) -> None:
    with analyzer.open_logbook(tmp_path / "book.sqlite") as logbook:
        for name in ("morning_14x8", "morning_12x6", "evening_14x8", "evening_12x6"):
            path = samples / f"{name}.csv"
            logbook.add(path.read_bytes(), path.name, setup=analyzer.read_setup(samples / f"{name}.setup.toml"))
        comparison = analyzer.compare_flights(logbook.flights())
    assert {group.name for group in comparison.groups} == {"14x8", "12x6"}
