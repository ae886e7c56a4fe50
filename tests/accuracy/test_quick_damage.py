"""A simulated flight with a fault of a sensor or of the link: a reduced damaged_logs.py."""

from __future__ import annotations

import pytest

from accuracy.damaged_logs import study


@pytest.mark.parametrize("fault", ["new zero behind a silence", "link lost at stops"])
def test_a_fault_of_a_sensor_is_not_flown(fault: str) -> None:
    card = study(range(500, 501), "normal", fault)
    runs = card.events["motor_run"]
    assert (runs.false, runs.missed) == (0, 0)
    assert card.overlap["ground"].f1 > 0.97
    assert card.overlap["thermal_climb"].f1 > 0.95
    assert card.figures["sink_rate_m_s"].coverage() > 0.8
