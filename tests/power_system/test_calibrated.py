"""Predictions of a calibrated setup: the propeller flown, its siblings, and calibrations that are none."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.errors import SetupFileError
from analyzer.power_system.calibrated import MAKE, SHARED, candidates_of, own_names
from analyzer.power_system.coefficients import setup_propeller
from analyzer.power_system.family_model import family_curves, mean_curves
from analyzer.power_system.flown_shape import held_at, level_covariance, levels, mode_ratios
from analyzer.power_system.prediction import predict
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import PARAMETERS
from analyzer.setup_file import CalibrationSection, FlownPropeller, Setup

FLOWN, OTHER = Propeller(12.0, 6.0), Propeller(13.0, 8.0)
NAMES = (*SHARED, *MAKE, *own_names("12x6"))
POINT = (0.35, 110.0, 1.5e-5)


def calibration(
    offsets: dict[str, float], spreads: dict[str, float], *, as_measured: bool = False
) -> CalibrationSection:
    """Independent spreads of the parameters."""
    deviations = [spreads.get(name, 1e-4) for name in NAMES]
    covariance = [[0.0] * row + [deviation**2] for row, deviation in enumerate(deviations)]
    flown = FlownPropeller(
        propeller="12x6", basis="family", advance_ratio=POINT[0], rpm=60.0 * POINT[1], logs=["a.csv"], sha256=["ab"]
    )
    return CalibrationSection(
        propellers_as_measured=as_measured,
        parameters=list(NAMES),
        offsets=[offsets.get(name, 0.0) for name in NAMES],
        covariance=covariance,
        flown=[flown],
    )


def with_calibration(setup: Setup, *args, **kwargs) -> Setup:
    return setup.model_copy(update={"calibration": calibration(*args, **kwargs)})


def test_each_propeller_has_its_own_factors(setup) -> None:
    known = with_calibration(setup, {"12x6 power": 0.2, "make power": 0.1}, {})
    system = power_system(known)
    candidates = candidates_of(known, system, (FLOWN, OTHER))
    np.testing.assert_allclose(candidates.calibration.offsets[:, 0], [0.2, 0.1])


def test_the_flown_one_is_surer_than_its_siblings(setup) -> None:
    spreads = {"make power": 0.1, "make thrust": 0.1, "12x6 power": 0.02, "12x6 thrust": 0.02}
    known = with_calibration(setup, {}, spreads)
    flown, other = predict(known, [FLOWN, OTHER]).propellers
    assert flown.best_climb.current_a.half_width < 0.3 * other.best_climb.current_a.half_width
    alone = predict(known, [OTHER]).propellers[0]
    assert alone.best_climb.current_a.half_width == pytest.approx(other.best_climb.current_a.half_width, rel=1e-9)


def test_more_power_means_more_current_and_a_wider_interval_that_holds_both(setup) -> None:
    centre = predict(with_calibration(setup, {}, {}), [FLOWN]).propellers[0].best_climb.current_a
    more = predict(with_calibration(setup, {"12x6 power": 0.1, "12x6 thrust": 0.1}, {}), [FLOWN])
    unsure = predict(with_calibration(setup, {}, {"12x6 power": 0.1}), [FLOWN]).propellers[0].best_climb.current_a
    current = more.propellers[0].best_climb.current_a
    assert 1.05 * centre.value < current.value < 1.12 * centre.value
    assert unsure.high > current.value > unsure.low


def test_siblings_of_the_measured_make_are_as_measured(setup) -> None:
    for as_measured, curves in ((True, family_curves(OTHER)), (False, mean_curves(OTHER))):
        known = with_calibration(setup, {}, {}, as_measured=as_measured)
        found = candidates_of(known, power_system(known), (OTHER,)).curves[0]
        np.testing.assert_array_equal(found.power, curves.power)


def test_without_flights_the_make_is_open(setup) -> None:
    """A measured size keeps its measurement as the best guess, but may be anyone's: as wide as the family is."""
    found = candidates_of(setup, power_system(setup), (OTHER,))
    np.testing.assert_array_equal(found.curves[0].power, family_curves(OTHER).power)
    spreads = [level_covariance(curves, POINT)[0, 0] for curves in (family_curves(OTHER), found.curves[0])]
    assert spreads[1] > 4.0 * spreads[0]
    power, thrust = (found.calibration.directions[:, 0, PARAMETERS.index(name)] for name in ("power", "thrust"))
    assert np.hypot.reduce(power) == pytest.approx(0.12 / np.sqrt(2.0))
    assert np.hypot.reduce(power - thrust) == pytest.approx(0.03)


def test_a_table_of_ones_own_leaves_no_make_open(setup, tmp_path) -> None:
    (tmp_path / "own.csv").write_text("J,CT,CP\n0,0.1,0.05\n0.3,0.08,0.045\n0.6,0.0,0.02\n")
    own = setup.propeller.model_copy(update={"coefficients_csv": "own.csv"})
    known = setup.model_copy(update={"propeller": own, "folder": tmp_path})
    found = candidates_of(known, power_system(known), (setup_propeller(known), OTHER))
    power = np.abs(found.calibration.directions[:, :, PARAMETERS.index("power")]).max(axis=0)
    assert power[0] == 0.0
    assert power[1] > 0.0


def test_modes_that_vanish_where_it_was_flown() -> None:
    free, held = mean_curves(FLOWN), held_at(mean_curves(FLOWN), POINT)
    assert len(held.power_modes) == len(free.power_modes) - 2
    assert np.abs(mode_ratios(held, POINT)).max() < 1e-9
    still = (0.0, POINT[1], POINT[2])
    spread = np.sqrt(np.diag(level_covariance(held, still)))
    assert (spread > 0.01).all()
    assert (spread <= np.sqrt(np.diag(level_covariance(free, still)))).all()


def test_the_level_covariance_is_that_of_drawn_propellers() -> None:
    curves = mean_curves(FLOWN)
    rng = np.random.default_rng(5)
    drawn = mode_ratios(curves, POINT) @ rng.standard_t(curves.degrees_of_freedom, (len(curves.power_modes), 200_000))
    np.testing.assert_allclose(np.cov(drawn), level_covariance(curves, POINT), rtol=0.02)
    assert np.isfinite(levels(curves, POINT)).all()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"parameters": [*NAMES[:-1], "nonsense"]}, "parameters"),
        ({"covariance": [[0.0] * row + [0.01] for row in range(9)] + [[0.9] * 9 + [0.01]]}, "covariance"),
    ],
)
def test_a_calibration_that_is_none(setup, change: dict, words: str) -> None:
    broken = setup.model_copy(update={"calibration": calibration({}, {}).model_copy(update=change)})
    with pytest.raises(SetupFileError, match=words) as error:
        predict(broken, [FLOWN])
    assert "calibrate again" in str(error.value)
