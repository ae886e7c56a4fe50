"""Heading against the direction of flight."""

import numpy as np
import pytest

from analyzer.circling.compass import check_compass

TRACK = np.linspace(0.0, 1080.0, 200) % 360.0


def test_a_good_compass_agrees():
    check = check_compass(TRACK + np.random.default_rng(0).normal(0.0, 8.0, TRACK.size), TRACK)
    assert check.agrees
    assert check.offset_deg == pytest.approx(0.0, abs=2.0)
    assert check.spread_deg == pytest.approx(8.0, abs=1.5)


@pytest.mark.parametrize("offset", [-170.0, -35.0, 35.0, 90.0])
def test_a_turned_compass_agrees_but_for_its_offset(offset):
    check = check_compass((TRACK + offset) % 360.0, TRACK)
    assert check.agrees
    assert check.offset_deg == pytest.approx(offset)


def test_hard_iron_does_not_agree():
    """A disturbing field 1.5 times the earth's: the heading only swings about one direction."""
    angle = np.radians(TRACK)
    heading = np.degrees(np.arctan2(np.sin(angle), np.cos(angle) + 1.5))
    assert not check_compass(heading, TRACK).agrees


def test_too_few_samples():
    assert check_compass([1.0, 2.0], [1.0, 2.0]) is None
    assert check_compass(np.full(50, np.nan), np.zeros(50)) is None
