"""What is believed before the logs speak: the make, the propeller's own part, and a table that was measured."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_planted import planted_setup, table_setup

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
    (prior,) = of(table_setup(tmp_path, thrust_factor=1.2, power_factor=1.2))
    assert prior.basis == "table"
    for name in own_names("12x6.5"):
        assert prior.belief.of(name).mean[0] == pytest.approx(0.0, abs=0.03)
        assert prior.belief.spread(name) < 0.06
    # 20 % above the family's mean: about half of it is the make's, by their spreads
    assert 0.05 < prior.belief.of("make power").mean[0] < 0.15


def test_the_family_has_no_say_in_a_propeller_that_has_a_table(tmp_path) -> None:
    """Its spread of efficiency is narrower than a table's: weighed together, the table lost."""
    (prior,) = of(table_setup(tmp_path, thrust_factor=0.75, power_factor=1.0))
    np.testing.assert_allclose(prior.belief.of(*own_names("12x6.5")).mean, 0.0, atol=1e-9)


def test_make_and_size_share_a_departure_by_their_spreads() -> None:
    narrow = replace(TUNING, make_load=0.01)
    assert of(planted_setup(), narrow)[0].belief.spread("make power") == pytest.approx(0.01, rel=0.01)
