"""The soaring studies, reduced: a few simulated flights must stay within the limits that the studies report."""

import numpy as np

from accuracy import soaring_polar, soaring_thermals


def test_wind_circles_and_netto_of_a_few_flights():
    found = soaring_thermals.study("normal", count=3, first=100)
    assert len(found["wind m/s"]) >= 4
    assert np.median(np.abs(found["wind m/s"])) < 0.5
    assert np.median(np.abs(found["wind deg"])) < 15.0
    assert np.median(np.abs(found["period s"])) < 0.5
    assert np.median(np.abs(found["netto m/s"])) < 0.3
    assert "wind m/s" in soaring_thermals.table(found)


def test_polar_of_two_evenings():
    air = soaring_polar.AIRS[0]
    errors = [soaring_polar.error_of(*soaring_polar.measured_polar(seed, air)) for seed in (103, 104)]
    assert max(abs(error.least_sink_m_s) for error in errors) < 0.08
    assert max(abs(error.least_sink_speed_m_s) for error in errors) < 1.0
    assert "evening" in soaring_polar.table({"evening": errors})
