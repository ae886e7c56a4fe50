"""Outside the measured range: continuous with the family, wider, and in the directions that physics says."""

from __future__ import annotations

import numpy as np
import pytest
from curve_spread import standard_deviations

from analyzer.power_system.family_model import folding_family, mean_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.tied_blade_element import anchor, tied_curves

AT = np.array([0.0, 0.2, 0.4])
LOG_RE = np.zeros(3)


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        (Propeller(16.0, 9.0), Propeller(16.01, 9.005625)),
        (Propeller(10.0, 5.0), Propeller(9.99, 4.995)),
        (Propeller(13.0, 15.6), Propeller(13.0, 15.61)),
        (Propeller(13.0, 4.728), Propeller(13.0, 4.726)),
    ],
    ids=lambda size: size.name,
)
def test_nothing_jumps_at_the_edge_of_the_measured_range(inside: Propeller, outside: Propeller) -> None:
    known, tied = mean_curves(inside), tied_curves(outside)
    assert tied.tier == "blade_element"
    for ours, theirs in zip(tied.coefficients(AT, LOG_RE), known.coefficients(AT, LOG_RE), strict=True):
        np.testing.assert_allclose(ours, theirs, rtol=0.01)


def test_the_interval_widens_with_the_distance() -> None:
    near, far = tied_curves(Propeller(17.0, 9.0)), tied_curves(Propeller(22.0, 11.65))
    assert (standard_deviations(near, AT, LOG_RE)[0] < standard_deviations(far, AT, LOG_RE)[0]).all()
    edge = mean_curves(anchor(Propeller(17.0, 9.0), folding_family()))
    assert (standard_deviations(edge, AT, LOG_RE)[0] < standard_deviations(near, AT, LOG_RE)[0]).all()


def test_three_blades_take_more_power_than_two() -> None:
    two, three = mean_curves(Propeller(13.0, 7.0)), tied_curves(Propeller(13.0, 7.0, blades=3))
    power, more = two.coefficients(AT, LOG_RE)[1], three.coefficients(AT, LOG_RE)[1]
    assert (more > 1.2 * power).all()
    assert (more < 1.6 * power).all()


def test_more_pitch_reaches_further() -> None:
    shallow, steep = tied_curves(Propeller(10.0, 13.0)), tied_curves(Propeller(10.0, 15.0))
    assert steep.advance_scale > shallow.advance_scale
    assert steep.coefficients(0.8, 0.0)[1] > shallow.coefficients(0.8, 0.0)[1]
    thrust, _ = steep.coefficients(0.95 * steep.advance_scale, 0.0)
    assert thrust < 0.35 * steep.coefficients(0.5, 0.0)[0]
