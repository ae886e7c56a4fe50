"""Motor runs that no channel shows: their gains own up to edges that are told from the climb."""

from dataclasses import replace

from segmentation.invented_flight import InventedFlight

from analyzer.conditioning import condition
from analyzer.measures import measure
from analyzer.segmentation import segment


def test_a_climb_told_by_its_shape_is_as_uncertain_as_its_edges():
    flight = InventedFlight(23).rest(20).run(15).glide(60).run(15).glide(60).land().rest(25)
    log = condition(flight.log(channels=()))
    found = segment(log)
    inferred = measure(log, found).motor_runs
    as_if_seen = measure(log, replace(found, motor_seen=True)).motor_runs
    assert len(inferred) == len(as_if_seen) == 2
    for mine, seen in zip(inferred, as_if_seen, strict=True):
        assert abs(mine.height_gain_m - 15 * 6.0) < 2.0 * mine.height_gain_m_se
        assert mine.height_gain_m_se > max(0.4 * 6.0, seen.height_gain_m_se)
