"""Which parts of a glide show the aircraft."""

import numpy as np
import pytest

from analyzer.records import Flight, Segment, Segmentation
from analyzer.soaring.glide_stretches import glide_stretches

TIME = np.arange(0.0, 600.0, 0.5)
SEGMENTS = (
    Segment("motor_run", 0.0, 30.0, 0.0, 200.0),
    Segment("glide", 30.0, 200.0, 200.0, 115.0),
    Segment("thermal_climb", 200.0, 300.0, 115.0, 250.0),
    Segment("glide", 300.0, 590.0, 250.0, 0.0),
    Segment("ground", 590.0, 600.0, 0.0, 0.0),
)
SEGMENTATION = Segmentation((Flight(0.0, 590.0),), SEGMENTS)
CLEAN_HEIGHT = np.interp(TIME, [0.0, 30.0, 200.0, 300.0, 590.0], [0.0, 200.0, 115.0, 250.0, 0.0])


def test_settling_and_the_landing_are_left_out():
    first, last = glide_stretches(TIME, CLEAN_HEIGHT, None, SEGMENTATION)
    assert (first.start_s, first.end_s) == (34.0, 200.0)
    assert last.start_s == 304.0
    assert np.interp(last.end_s, TIME, CLEAN_HEIGHT) == pytest.approx(40.0, abs=0.5)


def test_brakes_on_the_last_glide_are_left_out():
    height = np.interp(
        TIME, [0.0, 30.0, 200.0, 300.0, 450.0, 480.0, 590.0], [0.0, 200.0, 115.0, 250.0, 175.0, 45.0, 0.0]
    )
    last = glide_stretches(TIME, height, None, SEGMENTATION)[-1]
    assert last.end_s == pytest.approx(450.0, abs=12.0)


def test_brakes_from_the_start_of_the_last_glide():
    height = np.interp(TIME, [0.0, 30.0, 200.0, 300.0, 400.0, 590.0], [0.0, 200.0, 115.0, 250.0, 45.0, 0.0])
    assert len(glide_stretches(TIME, height, None, SEGMENTATION)) == 1


def test_brakes_after_glides_in_rising_air():
    """What counts as braked is no lower where the other glides rose: the clean part of the last one is kept."""
    height = np.interp(TIME, [0.0, 30.0, 200.0, 300.0, 380.0, 590.0], [0.0, 200.0, 230.0, 250.0, 238.0, 0.0])
    last = glide_stretches(TIME, height, None, SEGMENTATION)[-1]
    assert last.end_s == pytest.approx(380.0, abs=12.0)


def test_flight_modes_are_kept_apart_and_landing_modes_left_out():
    modes = np.full(TIME.size, "cruise", dtype=object)
    modes[(TIME >= 100.0) & (TIME < 150.0)] = "speed"
    modes[(TIME >= 150.0) & (TIME < 200.5)] = "Landing"
    found = glide_stretches(TIME, CLEAN_HEIGHT, modes, SEGMENTATION)
    assert [stretch.flight_mode for stretch in found] == ["cruise", "speed", "cruise"]
    assert (found[1].start_s, found[1].end_s) == (100.0, 149.5)


def test_no_flight_no_stretch():
    ground = Segmentation((), (Segment("ground", 0.0, 600.0, 0.0, 0.0),))
    assert glide_stretches(TIME, 0.0 * TIME, None, ground) == ()
