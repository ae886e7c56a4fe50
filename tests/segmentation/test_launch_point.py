"""Heights count from the launch point, wherever the log begins."""

import numpy as np
import pytest
from segmentation.invented_flight import STEP_S, InventedFlight

from analyzer.analysis import analyze_conditioned
from analyzer.conditioning import condition


def walked(flight, up_m, pace_m_s=0.35):
    return flight.add("ground", np.full(round(abs(up_m) / pace_m_s / STEP_S), np.sign(up_m) * pace_m_s)).rest(20)


def analysed(flight):
    return analyze_conditioned(condition(flight.log(channels=("current_a", "airspeed_m_s"))))


@pytest.mark.parametrize("up_m", [40.0, -40.0])
def test_heights_are_above_the_launch_point_though_the_log_begins_below_or_above_it(up_m):
    below = analysed(walked(InventedFlight(48).rest(20), up_m).run(20).glide(60).land(on_m=up_m).rest(30))
    there = analysed(InventedFlight(48).rest(20).run(20).glide(60).land().rest(30))
    assert below.summary.totals.max_altitude_m == pytest.approx(there.summary.totals.max_altitude_m, abs=1.5)
    run = below.segmentation.of_kind("motor_run")[0]
    assert run.start_altitude_m == pytest.approx(0.0, abs=1.0)
    for name in ("altitude_m", "height_m", "energy_height_m"):
        assert np.interp(run.start_s, below.log.frame["time_s"], below.log.frame[name]) == pytest.approx(0.0, abs=6.0)
    told = [notice.message for notice in below.log.notices if notice.code == "launch-point"]
    assert len(told) == 1
    assert ("above" if up_m > 0 else "below") in told[0]
    assert not [notice for notice in there.log.notices if notice.code == "launch-point"]


@pytest.mark.parametrize("sink_m_s", [0.3, 1.5])
def test_a_log_that_begins_in_flight_says_so_and_keeps_its_first_reading_for_zero(sink_m_s):
    found = analysed(InventedFlight(49).glide(60, sink=sink_m_s).run(20).glide(90, sink=1.0).land(on_m=-120.0).rest(30))
    assert [one.code for one in found.summary.log.notices if "launch" in one.code] == ["launch-level-unknown"]
    assert found.log.frame["altitude_m"].iloc[0] == pytest.approx(0.0, abs=0.5)
