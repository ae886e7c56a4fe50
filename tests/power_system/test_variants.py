"""Intervals: known combinations of independent directions come out as they should."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from analyzer.constants import NORMAL_95
from analyzer.power_system.coefficients import propeller_curves
from analyzer.power_system.input_spread import default_calibration
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import (
    PARAMETERS,
    Calibration,
    interval,
    student_95,
    variants,
)


@pytest.mark.parametrize("degrees", [8, 15, 30, 200])
def test_students_quantile(degrees: int) -> None:
    assert student_95(degrees) == pytest.approx(student.ppf(0.975, degrees), rel=1e-3)


def test_without_limit_students_quantile_is_the_normal_one() -> None:
    assert student_95(np.inf) == pytest.approx(NORMAL_95)


def test_half_widths_add_in_squares_and_sides_are_kept_apart() -> None:
    values = np.array([10.0, 13.0, 7.0, 14.0, 9.0])[:, None]
    value, low, high = interval(values)
    assert value[0] == 10.0
    assert high[0] == pytest.approx(10.0 + 5.0)
    assert low[0] == pytest.approx(10.0 - np.sqrt(10.0))


def test_a_variant_without_a_result_widens_nothing() -> None:
    value, low, high = interval(np.array([1.0, np.nan, np.nan]))
    assert value == low == high == 1.0


def test_the_layout_moves_one_thing_at_a_time(setup) -> None:
    curves = [propeller_curves(Propeller(12.0, 6.0)), propeller_curves(Propeller(16.0, 10.0))]
    calibration = default_calibration(power_system(setup))
    laid = variants(curves, calibration)
    moved = 2 * len(calibration.directions)
    modes = 2 * len(curves[0].thrust_modes)
    assert laid.steps.shape == (1 + moved + modes, 1, len(PARAMETERS))
    assert (laid.steps[0] == 0.0).all()
    assert ((laid.steps[1 : 1 + moved] != 0.0).sum(axis=(1, 2)) == 1).all()
    assert (laid.steps[1 + moved :] == 0.0).all()
    each = 1 + modes
    assert (laid.rows[: 1 + moved, :, 0] == [0, each]).all()
    np.testing.assert_allclose(laid.bank.tables[0, each], curves[1].thrust)
    edges = laid.bank.tables[:, laid.rows[1 + moved :, 1, 0]]
    np.testing.assert_allclose(
        edges[0, 0] - curves[1].thrust, student_95(30) * curves[1].thrust_modes[0], rtol=1e-9, atol=1e-12
    )
    np.testing.assert_allclose(edges[:, 0::2] + edges[:, 1::2], 2.0 * laid.bank.tables[:, [each] * (modes // 2)])


def test_a_calibration_moves_the_centre(setup) -> None:
    offsets = np.zeros(len(PARAMETERS))
    offsets[PARAMETERS.index("power")] = np.log(1.1)
    laid = variants([propeller_curves(Propeller(12.0, 6.0))], Calibration(offsets, np.zeros((1, len(PARAMETERS)))))
    np.testing.assert_allclose(laid.factor("power"), 1.1)
    np.testing.assert_allclose(laid.factor("thrust"), 1.0)


def test_each_propeller_may_have_a_calibration_of_its_own(setup) -> None:
    sizes = [propeller_curves(Propeller(12.0, 6.0)), propeller_curves(Propeller(16.0, 10.0))]
    default = default_calibration(power_system(setup))
    offsets = np.zeros((2, len(PARAMETERS)))
    offsets[1, PARAMETERS.index("power")] = np.log(1.1)
    directions = np.repeat(default.directions[:, None], 2, axis=1)
    directions[:, 0] = 0.0
    laid = variants(sizes, Calibration(offsets, directions))
    np.testing.assert_allclose(laid.factor("power")[0, :, 0], [1.0, 1.1])
    alone = variants(sizes[1:], Calibration(offsets[1], default.directions))
    np.testing.assert_allclose(laid.steps[:, 1], alone.steps[:, 0])
    assert (laid.steps[:, 0] == 0.0).all()


def test_a_direct_drive_has_no_gear_to_doubt(changed) -> None:
    at = PARAMETERS.index("gearbox_efficiency")
    direct, geared = (
        default_calibration(power_system(setup)).directions[:, at].max()
        for setup in (changed(), changed("[propeller]", "[gearbox]\nratio = 3.0\n[propeller]"))
    )
    assert direct == 0.0
    assert geared == 0.015


def test_an_assumed_value_is_more_uncertain_than_a_stated_one(changed) -> None:
    stated, assumed = (
        default_calibration(power_system(setup)).directions.max(axis=0)
        for setup in (
            changed(),
            changed("internal_resistance_ohm = 0.025", "", "zero_lift_drag_coefficient = 0.018", ""),
        )
    )
    for parameter in ("pack_resistance", "zero_lift_drag"):
        at = PARAMETERS.index(parameter)
        assert assumed[at] > stated[at]
