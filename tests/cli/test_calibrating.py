"""``analyze --calibrate`` and the ranking of ``predict``, from outside: files, text, exit status."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from analyzer.setup_file import read_setup

SAMPLES = Path(__file__).parents[2] / "sample_logs"
LOG, OTHER_LOG = SAMPLES / "morning_12x6.csv", SAMPLES / "evening_12x6.csv"
SETUP = SAMPLES / "morning_12x6.setup.toml"


@pytest.fixture(scope="module")
def as_flown(tmp_path_factory) -> Path:
    """A setup calibrated by both logs of one propeller."""
    from analyzer.cli.main import run

    path = tmp_path_factory.mktemp("calibrated") / "as_flown.toml"
    assert run(["analyze", str(LOG), str(OTHER_LOG), "--setup", str(SETUP), "--calibrate", str(path)]) == 0
    return path


def test_logs_are_fitted_together_and_the_users_file_stays(as_flown: Path) -> None:
    before = SETUP.read_bytes()
    setup = read_setup(as_flown)
    assert setup.calibration.flown[0].logs == [LOG.name, OTHER_LOG.name]
    assert "Invented setup" in as_flown.read_text()
    assert SETUP.read_bytes() == before


def test_the_text_says_what_the_flights_say(call, tmp_path: Path) -> None:
    done = call("analyze", LOG, "--setup", SETUP, "--calibrate", tmp_path / "out.toml")
    assert done.status == 0
    titles = ("PREDICTION AGAINST FLIGHT", "WHAT THE CLIMBS SAY OF THE SETUP", "WHAT THE FLIGHTS SAY")
    for part in (*titles, "as stated", "calibrated"):
        assert part in done.out
    assert done.complaint == f"climbledger: wrote {tmp_path / 'out.toml'}"


def test_a_dash_gives_standard_output_to_the_toml_alone(call) -> None:
    done = call("analyze", LOG, "--setup", SETUP, "--calibrate", "-")
    assert done.status == 0
    assert tomllib.loads(done.out)["calibration"]["flown"][0]["propeller"] == "12x6"


def test_the_setup_is_not_overwritten(call, tmp_path: Path) -> None:
    own = tmp_path / "mine.toml"
    own.write_bytes(SETUP.read_bytes())
    done = call("analyze", LOG, "--setup", own, "--calibrate", own)
    assert done.status == 2
    assert "would overwrite the input" in done.complaint
    assert own.read_bytes() == SETUP.read_bytes()


def test_calibration_needs_a_setup(call, tmp_path: Path) -> None:
    done = call("analyze", LOG, "--calibrate", tmp_path / "out.toml")
    assert done.status == 2
    assert "'--calibrate' needs '--setup'" in done.complaint


def test_a_log_that_tells_nothing_leaves_nothing_behind(call, tmp_path: Path) -> None:
    out = tmp_path / "out.toml"
    done = call("analyze", SAMPLES / "thermal_recorder.igc", "--setup", SETUP, "--calibrate", out)
    assert done.status == 1
    assert "no climb with" in done.complaint
    assert not out.exists()


def test_a_log_that_cannot_be_read_stops_the_calibration(call, tmp_path: Path) -> None:
    out = tmp_path / "out.toml"
    done = call("analyze", LOG, tmp_path / "gone.csv", "--setup", SETUP, "--calibrate", out)
    assert done.status == 2
    assert "1 of 2 logs could not be read" in done.err
    assert not out.exists()


def test_a_log_counts_once(call, as_flown: Path, tmp_path: Path) -> None:
    done = call("analyze", LOG, "--setup", as_flown, "--calibrate", tmp_path / "twice.toml")
    assert done.status == 2
    assert "already in this calibration" in done.complaint


def test_candidates_are_ranked_from_the_calibrated_setup(call, as_flown: Path, tmp_path: Path) -> None:
    page, document = tmp_path / "next.html", tmp_path / "next.json"
    done = call(
        *("predict", "--setup", as_flown, "--propeller-range", "11x6:14x9", "--aim", "climb_per_ah=2,level_speed=1"),
        *("--max-diameter", 13, "--report", page, "--json", document),
    )
    assert done.status == 0
    for part in ("WHICH TO TRY NEXT", "AS FLOWN", "LEFT OUT", "larger than 13 inch", "67 % climb per Ah", "CAUTIONS"):
        assert part in done.out
    ranking = json.loads(document.read_text())["ranking"]
    assert ranking["schema"] == "climbledger/ranking/1"
    assert ranking["reference"] == "12x6"
    assert [one["place"] for one in ranking["ranked"]] == list(range(1, len(ranking["ranked"]) + 1))
    assert all(0.0 <= one["tightest"]["odds_beyond"] <= 1.0 for one in ranking["ranked"])
    assert ranking["flown"][0]["propeller"] == "12x6"
    text = page.read_text()
    assert "measured in flight" in text
    assert text.count("<svg") >= 3


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--aim", "beauty"), "'beauty' is no aim"),
        (("--propeller-range", "14x8"), "no range of sizes"),
        (("--propeller-range", "14x8:12x6"), "does not run upwards"),
    ],
)
def test_wrong_use_is_one_clear_line(call, options: tuple[str, str], words: str) -> None:
    done = call("predict", "--setup", SETUP, *options)
    assert done.status == 2
    assert words in done.complaint


def test_no_candidate_that_keeps_the_limits(call) -> None:
    done = call("predict", "--setup", SETUP, "--propeller-range", "20x16:21x16", "--max-diameter", 11)
    assert done.status == 1
    assert "none will do" in done.complaint
    assert "20x16, for one: " in done.complaint
    assert "larger than 11 inch" in done.complaint
