"""What is believed before the logs speak: the make, the propeller's own part, and a table that was measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_planted import planted_setup

from analyzer.match.prior import priors, size_covariance
from analyzer.match.tuning import TUNING
from analyzer.power_system.calibrated import MAKE, own_names
from analyzer.power_system.coefficients import setup_propeller
from analyzer.power_system.family_model import mean_curves
from analyzer.power_system.system import power_system

POINT = (0.4, 130.0, 1.5e-5)


def of(setup, tuning=TUNING):
    return priors(setup, power_system(setup), setup_propeller(setup), POINT, tuning)


def test_a_size_between_the_measured_ones_is_anywhere_around_the_mean() -> None:
    setup = planted_setup()
    (prior,) = of(setup)
    assert (prior.basis, prior.as_measured) == ("family", False)
    names = own_names("12x6.5")
    own = size_covariance(mean_curves(setup_propeller(setup)), POINT, TUNING)
    both = prior.belief.of(*names).covariance
    make = prior.belief.of(*MAKE).covariance
    np.testing.assert_allclose(both, make + own, rtol=1e-9)
    np.testing.assert_allclose(prior.belief.of(*MAKE, *names).covariance[:2, 2:], make, rtol=1e-9)


def test_a_measured_size_may_be_of_the_measured_make() -> None:
    other, same = of(planted_setup("pitch_in = 6.5", "pitch_in = 6.0"))
    assert (other.as_measured, same.as_measured) == (False, True)
    assert same.basis == "measured"
    for name in own_names("12x6"):
        assert same.belief.spread(name) < 0.4 * other.belief.spread(name)


def test_a_direct_drive_has_no_gear_to_doubt() -> None:
    direct = planted_setup("[gearbox]\nratio = 1.2\nefficiency = 0.95\n", "")
    assert of(direct)[0].belief.spread("gearbox_efficiency") < 1e-3


def test_a_missing_pack_resistance_is_doubted_more() -> None:
    missing = planted_setup("internal_resistance_ohm = 0.025       # as the shop says\n", "")
    assert of(missing)[0].belief.spread("pack_resistance") > of(planted_setup())[0].belief.spread("pack_resistance")


def test_a_table_tells_of_the_make(tmp_path) -> None:
    curves = mean_curves(setup_propeller(planted_setup()))
    advance = np.linspace(0.0, 1.1 * curves.advance_scale, 23)
    thrust, power = curves.coefficients(advance, 0.3)
    rows = "\n".join(f"{j:.5f},{1.2 * t:.6f},{1.2 * p:.6f}" for j, t, p in zip(advance, thrust, power, strict=True))
    (tmp_path / "own.csv").write_text(f"J,CT,CP\n{rows}\n")
    setup = planted_setup("pitch_in = 6.5", 'pitch_in = 6.5\ncoefficients_csv = "own.csv"').model_copy(
        update={"folder": tmp_path}
    )
    (prior,) = of(setup)
    assert prior.basis == "table"
    for name in own_names("12x6.5"):
        assert prior.belief.of(name).mean[0] == pytest.approx(0.0, abs=0.03)
        assert prior.belief.spread(name) < 0.06
    # 20 % above the family's mean: about half of it is the make's, by their spreads
    assert 0.05 < prior.belief.of("make power").mean[0] < 0.15


def test_make_and_size_share_a_departure_by_their_spreads() -> None:
    narrow = replace(TUNING, make_load=0.01)
    assert of(planted_setup(), narrow)[0].belief.spread("make power") == pytest.approx(0.01, rel=0.01)
