"""The aircraft's own sink from polar, setup or glides."""

import numpy as np
import pytest

from analyzer.soaring.own_sink import choose_own_sink
from analyzer.soaring.polar import Polar
from analyzer.soaring.polar_fit import PolarFit

POLAR = Polar(2.2e-4, 2.1)


def _fit(relative_error):
    covariance = np.diag([(relative_error * 2.2e-4) ** 2, (relative_error * 2.1) ** 2])
    return PolarFit(POLAR, covariance, 7.0, 14.0, 600.0, 0.1)


def test_the_more_certain_of_measurement_and_setup_counts():
    assert choose_own_sink(_fit(0.02), Polar(5e-4, 6.0), None).basis == "polar measured in this log"
    assert choose_own_sink(_fit(0.6), POLAR, None).basis == "polar of the setup"
    assert choose_own_sink(_fit(0.2), None, (0.5, 0.01)).basis == "polar measured in this log"


def test_a_hopeless_polar_gives_way_to_the_glides():
    assert choose_own_sink(_fit(2.0), None, (0.5, 0.02)).basis == "glides of this log"


def test_without_any_polar_the_glides_count():
    own = choose_own_sink(None, None, (0.5, 0.02))
    assert own.basis == "glides of this log"
    assert own.at(np.nan, 1.2) == pytest.approx(0.5 * 1.2**1.5)
    assert own.at(9.0, 1.0) == pytest.approx(0.5)
    assert own.se(None) > 0.1  # the air's own motion over the glides
    assert choose_own_sink(None, None, None) is None


def test_polar_at_speed_and_bank():
    own = choose_own_sink(_fit(0.02), None, None)
    speeds = np.array([8.0, np.nan, 0.0])
    sinks = own.at(speeds, 1.3)
    assert sinks[0] == pytest.approx(float(POLAR.sink_m_s(8.0, 1.3)))
    assert sinks[1] == sinks[2] == pytest.approx(own.straight_sink_m_s * 1.3**1.5)


def test_sink_in_a_circle_uses_the_turn():
    own = choose_own_sink(None, None, (0.4, 0.0))
    assert own.at(9.0, 2.0**0.5) == pytest.approx(0.4 * 1.6818, abs=1e-4)  # table of load factors, 45 degrees


@pytest.mark.parametrize("airspeed_m_s", [0.0, float("nan")])
def test_an_airspeed_that_reads_nothing_has_the_error_of_the_usual_one(airspeed_m_s):
    own = choose_own_sink(None, POLAR, None)
    assert own.se(airspeed_m_s) == own.se(None) > 0.0
