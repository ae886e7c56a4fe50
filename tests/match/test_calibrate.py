"""Logs in, a calibrated setup out: values, words, the TOML, and logs that tell nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from match_flight import climbing_log, summary_of
from match_planted import SETUP, offsets, planted_runs, planted_setup

from analyzer.errors import NoAnswerError, OptionError, SetupFileError
from analyzer.match import calibrate, calibrated_toml, match_summary
from analyzer.match.calibration import CalibrationResult
from analyzer.power_system.prediction import predict
from analyzer.power_system.propeller import Propeller
from analyzer.records import FlightSummary, Log, Notice
from analyzer.setup_file import Setup, parse_setup, setup_toml


@dataclass(frozen=True)
class One:
    log: Log
    summary: FlightSummary


def flown(setup: Setup, true_offsets: np.ndarray, *, count: int = 4, name: str = "climbs.csv", **changes) -> One:
    """A log of climbs as the model flies them."""
    run = planted_runs(setup, true_offsets, count=1)[0]
    geared = setup.gearbox.ratio if setup.gearbox is not None else 1.0
    log = climbing_log(
        count,
        current_a=run.current_a.value,
        loaded_v=run.voltage_v.value,
        rest_v=12.66,  # 12.5 V in the middle of the climb
        rpm=60.0 * run.speed_rev_s.value * geared * changes.pop("rpm_factor", 1.0),
        climb_m_s=run.climb_m_s.value,
        **changes,
    )
    log = replace(log, name=name, sha256=name.ljust(64, "0"))
    return One(log, summary_of(log, count))


HEAVY = offsets(power=0.15, thrust=0.13, pack_resistance=np.log(2.0))


@pytest.fixture(scope="module")
def result() -> CalibrationResult:
    setup = planted_setup()
    return calibrate([flown(setup, HEAVY)], setup)


def test_what_differs_is_written_and_the_rest_is_left(result: CalibrationResult) -> None:
    assert result.setup.pack.internal_resistance_ohm == pytest.approx(0.05, rel=0.1)
    assert result.setup.motor == result.stated.motor
    assert result.setup.airframe == result.stated.airframe
    assert result.stated.calibration is None


def test_the_words_of_a_pilot(result: CalibrationResult) -> None:
    said = {finding.quantity: finding.said for finding in result.findings}
    assert said["pack resistance"].startswith(
        tuple(f"Over a climb the pack has {milliohm} m" for milliohm in (49, 50, 51))
    )
    assert "twice the setup's: an old or cold pack" in said["pack resistance"]
    assert "more power than modelled" in said["propeller power"]
    verdicts = {finding.quantity: finding.verdict for finding in result.findings}
    assert verdicts["gearbox efficiency"] == verdicts["zero-lift drag"] == "open"
    assert result.findings[0].verdict == "differs"


def test_a_load_that_no_make_differs_by_may_be_another_propellers(result: CalibrationResult) -> None:
    setup = planted_setup()
    other = calibrate([flown(setup, offsets(power=0.6, thrust=0.5))], setup)
    (said,) = (finding.said for finding in other.findings if finding.quantity == "propeller power")
    assert "more power than modelled: perhaps another than the setup's (" in said
    assert not any("perhaps another" in finding.said for finding in result.findings)


def test_more_thrust_than_propellers_differ_by_may_be_a_wrong_mass(result: CalibrationResult) -> None:
    setup = planted_setup()
    heavier = setup.airframe.model_copy(update={"mass_kg": 1.3 * setup.airframe.mass_kg})
    wrong = setup.model_copy(update={"airframe": heavier})
    found = {one.quantity: one.said for one in calibrate([flown(setup, offsets())], wrong).findings}
    assert "or the model weighs less than stated: weigh it (" in found["propeller efficiency"]
    assert not any("weigh it" in one.said for one in result.findings)


def test_the_prediction_moves_to_the_flight_and_is_surer(result: CalibrationResult) -> None:
    own = Propeller(12.0, 6.5)
    truth = planted_setup("0.025       # as the shop says", "0.050")
    expected = planted_runs(truth, offsets(power=0.15, thrust=0.13), count=1)[0].current_a.value
    before, after = (predict(setup, [own]).propellers[0] for setup in (result.stated, result.setup))
    at_full = after.first_climb.current_a
    assert abs(at_full.value - expected) < abs(before.first_climb.current_a.value - expected)
    assert after.best_climb.current_a.half_width < 0.7 * before.best_climb.current_a.half_width


def test_the_users_text_keeps_its_comments_and_reads_back_as_the_result(result: CalibrationResult) -> None:
    text = calibrated_toml(result, SETUP)
    assert parse_setup(text, source="out") == result.setup
    line = next(line for line in text.splitlines() if line.startswith("internal_resistance_ohm"))
    assert "as the shop says" in line
    assert "was 0.025" in line
    assert "climbs.csv" in line
    assert "95 %" in line
    kv = next(line for line in text.splitlines() if line.startswith("kv_rpm_per_v"))
    assert kv.startswith("kv_rpm_per_v = 1100.0 # borne out: ")


def test_predictions_of_the_written_setup_are_those_of_the_result(result: CalibrationResult) -> None:
    again = parse_setup(calibrated_toml(result, SETUP), source="out")
    assert predict(again, [Propeller(13.0, 7.0)]) == predict(result.setup, [Propeller(13.0, 7.0)])


def test_the_logbook_keeps_a_calibrated_setup_as_it_is(result: CalibrationResult) -> None:
    assert parse_setup(setup_toml(result.setup), source="logbook") == result.setup


def test_a_prediction_says_what_it_rests_on(result: CalibrationResult) -> None:
    prediction = predict(result.setup, [Propeller(12.0, 6.5), Propeller(13.0, 7.0)])
    assert "12x6.5 by climbs.csv" in prediction.notices[-1].message
    assert prediction.propellers[0].basis.endswith("its own flights show")
    assert prediction.propellers[1].basis.endswith("of its siblings")


def test_a_coefficient_table_is_found_from_another_folder(tmp_path: Path) -> None:
    (tmp_path / "model").mkdir()
    (tmp_path / "model" / "own.csv").write_text("J,CT,CP\n0,0.11,0.05\n0.3,0.08,0.045\n0.6,0.01,0.02\n")
    text = SETUP.replace("pitch_in = 6.5", 'pitch_in = 6.5\ncoefficients_csv = "own.csv"')
    setup = parse_setup(text, source="test", folder=tmp_path / "model")
    one = flown(planted_setup(), HEAVY)
    found = calibrate([one], setup)
    (tmp_path / "out").mkdir()
    moved = parse_setup(calibrated_toml(found, text, tmp_path / "out"), source="out", folder=tmp_path / "out")
    assert moved.propeller.coefficients_csv == "../model/own.csv"
    assert predict(moved).propellers[0].tier == "table"


def test_calibrating_again_adds_what_is_new_and_takes_no_log_twice(result: CalibrationResult) -> None:
    with pytest.raises(OptionError, match="already in this calibration"):
        calibrate([flown(planted_setup(), HEAVY)], result.setup)
    second = calibrate([flown(planted_setup(), HEAVY, name="next.csv")], result.setup)
    assert second.setup.calibration.flown[0].logs == ["climbs.csv", "next.csv"]
    widths = [
        predict(setup, [Propeller(12.0, 6.5)]).propellers[0].best_climb.current_a.half_width
        for setup in (result.setup, second.setup)
    ]
    assert widths[1] < 1.02 * widths[0]


def test_another_propeller_joins_the_calibration(result: CalibrationResult) -> None:
    other = planted_setup("diameter_in = 12.0", "diameter_in = 13.0", "pitch_in = 6.5", "pitch_in = 7.0")
    known = result.setup.model_copy(update={"propeller": other.propeller})
    truth = planted_setup(
        "diameter_in = 12.0", "diameter_in = 13.0", "pitch_in = 6.5", "pitch_in = 7.0", "0.025       # as", "0.050 # as"
    )
    second = calibrate([flown(truth, offsets(power=0.15, thrust=0.13), name="next.csv")], known)
    assert [one.propeller for one in second.setup.calibration.flown] == ["12x6.5", "13x7"]
    found = predict(second.setup, [Propeller(12.0, 6.5), Propeller(13.0, 7.0), Propeller(12.5, 7.0)]).propellers
    widths = [one.best_climb.current_a.half_width / one.best_climb.current_a.value for one in found]
    assert max(widths[:2]) < 0.6 * widths[2]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('    "speed_constant",\n', "", "one offset and one row of covariance"),
        ("propellers_as_measured = false", "propellers_as_measured = 3", "propellers_as_measured"),
        ('basis = "family"', 'basis = "hearsay"', "basis"),
        ("[calibration]", "[calibration]\nmade_up = 1", "unknown key"),
    ],
)
def test_a_calibration_that_was_damaged_is_named(result: CalibrationResult, old: str, new: str, words: str) -> None:
    text = calibrated_toml(result, SETUP)
    assert old in text
    with pytest.raises(SetupFileError, match=words) as error:
        parse_setup(text.replace(old, new), source="out.toml")
    assert error.value.remedy


def test_the_same_log_given_twice_is_refused() -> None:
    one = flown(planted_setup(), HEAVY)
    with pytest.raises(OptionError, match="already"):
        calibrate([one, one], planted_setup())


def test_a_gear_a_little_wrong_is_named_where_rpm_is_the_propellers() -> None:
    """1.2:1 flown with a gear of 1.1:1: the speed constant alone cannot be told from it."""
    setup = planted_setup("[gearbox]", '[telemetry]\nrpm_measured_at = "propeller"\n[gearbox]')
    found = calibrate([flown(setup, offsets(), rpm_factor=1.0 / 1.1)], setup)
    (said,) = (one.said for one in found.findings if one.quantity == "speed constant")
    assert "; or a gear of 1.1:1 instead of 1.2:1" in said
    at_motor = calibrate([flown(planted_setup(), offsets(), rpm_factor=1.09)], planted_setup())
    assert not any("or a gear" in one.said for one in at_motor.findings)


def test_an_impossible_rpm_is_left_out_and_told() -> None:
    setup = planted_setup()
    found = calibrate([flown(setup, HEAVY, rpm_factor=7.0)], setup)
    assert found.notices[0].code == "rpm-contradicts"
    assert "pole pairs are set 7 times too low" in found.notices[0].message
    assert found.setup.pack.internal_resistance_ohm == pytest.approx(0.05, rel=0.1)


def test_a_log_without_a_steady_climb_tells_nothing() -> None:
    one = flown(planted_setup(), HEAVY, climb_s=6.0)
    short = One(one.log, summary_of(one.log, 4, 6.0))
    with pytest.raises(NoAnswerError, match="no climb with 5 steady seconds"):
        calibrate([short], planted_setup())


def test_a_log_without_current_tells_nothing() -> None:
    one = flown(planted_setup(), HEAVY)
    blind = One(replace(one.log, frame=one.log.frame.drop(columns="current_a")), one.summary)
    with pytest.raises(NoAnswerError, match="current"):
        calibrate([blind], planted_setup())


def test_logs_that_are_too_noisy_leave_the_setup_alone() -> None:
    setup = planted_setup()
    one = flown(setup, offsets(), count=1)
    rng = np.random.default_rng(1)
    frame = one.log.frame.drop(columns=["voltage_v", "rpm"])
    drift = 12.0 * np.sin(2.0 * np.pi * frame["time_s"] / 45.0 + rng.uniform(0.0, 6.0))
    frame["current_a"] += np.where(frame["current_a"] > 5.0, 0.0, drift)
    frame["height_se_m"] = 60.0
    noisy = One(replace(one.log, frame=frame), one.summary)
    with pytest.raises(NoAnswerError, match="too short, too steady or too noisy"):
        calibrate([noisy], setup)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (("kv_rpm_per_v = 1100.0", "kv_rpm_per_v = 5500.0"), "agree with this setup only"),
        (("kv_rpm_per_v = 1100.0", "kv_rpm_per_v = 110.0"), "agree with this setup only"),
        (("diameter_in = 12.0", "diameter_in = 3.0", "pitch_in = 6.5", "pitch_in = 1.0"), "times the 3x1 thrust"),
    ],
    ids=["five times the speed constant", "a tenth of it", "a toy's propeller"],
)
def test_a_setup_that_cannot_be_what_flew_is_refused(changes: tuple[str, ...], words: str) -> None:
    one = flown(planted_setup(), offsets())
    blind = One(replace(one.log, frame=one.log.frame.drop(columns="rpm")), one.summary)
    with pytest.raises(NoAnswerError, match=words) as error:
        calibrate([blind], planted_setup(*changes))
    assert "check the setup" in error.value.remedy
    summary = match_summary(blind.summary, planted_setup(*changes), blind.log)
    assert (summary.match, summary.findings) == ((), ())
    assert words in summary.log.notices[-1].message


def test_a_pack_that_cannot_have_the_setups_cells_is_refused() -> None:
    """A prediction for four cells says nothing of a flight on three; the measures have told so."""
    setup = planted_setup()
    one = flown(setup, offsets())
    told = One(one.log, one.summary.with_notices([Notice("cells-contradict", "3.15 V for each of 4 cells")]))
    with pytest.raises(NoAnswerError, match="cannot be the setup's"):
        calibrate([told], setup)
    assert match_summary(told.summary, setup, told.log).match == ()


def test_what_no_setup_could_hold_is_refused() -> None:
    """Steep descents that draw twenty milliamperes."""
    absurd = climbing_log(4, current_a=0.02, climb_m_s=-6.0, throttle=1.0, rest_v=12.66)
    absurd.frame["height_m"] = 3000.0 - 6.0 * absurd.frame["time_s"]
    with pytest.raises(NoAnswerError, match="beyond what a setup can hold"):
        calibrate([One(absurd, summary_of(absurd, 4))], planted_setup())
