"""Turning flight against a published table.

Source: R. Hanson, St Olaf College (rev. 2002), table "turning flight" after A. Welch, L. Welch & F. Irving, *The
Complete Soaring Pilot's Handbook*: a sailplane of best glide 26 at 46 mph. Values read on that page. Its speed is that
of the best-glide lift coefficient; printed roundings are the tolerances.
"""

import numpy as np
import pytest

from analyzer.circling.banked_turn import bank_from_turn_deg, load_factor, sink_in_turn

MPH_M_S = 0.44704
FOOT_M = 0.3048
# bank deg, load factor, speed multiplier, sink m/s, radius ft, time s
HANSON = [
    (5, 1.00, 1.00, 0.8, 1624, 151),
    (10, 1.02, 1.01, 0.8, 815, 75),
    (20, 1.06, 1.03, 0.9, 414, 37),
    (30, 1.15, 1.07, 1.0, 283, 25),
    (40, 1.31, 1.14, 1.2, 220, 18),
    (45, 1.41, 1.19, 1.3, 200, 16),
    (50, 1.56, 1.25, 1.5, 185, 14),
    (60, 2.00, 1.41, 2.2, 163, 11),
]
STRAIGHT_M_S = 46 * MPH_M_S
STRAIGHT_SINK_M_S = STRAIGHT_M_S / 26


@pytest.mark.parametrize(("bank", "load", "speed", "sink", "radius_ft", "time_s"), HANSON)
def test_published_table(bank, load, speed, sink, radius_ft, time_s):
    flown = STRAIGHT_M_S * speed
    assert load_factor(bank) == pytest.approx(load, abs=0.006)
    assert np.sqrt(load_factor(bank)) == pytest.approx(speed, abs=0.006)
    assert sink_in_turn(STRAIGHT_SINK_M_S, load_factor(bank)) == pytest.approx(sink, abs=0.056)
    assert bank_from_turn_deg(flown, 2.0 * np.pi * radius_ft * FOOT_M / flown) == pytest.approx(bank, abs=0.5)
    assert bank_from_turn_deg(flown, time_s) == pytest.approx(bank, abs=2.0)


@pytest.mark.parametrize(("bank", "period"), [(30, 9.433), (45, 5.446)])
def test_model_size_circles(bank, period):
    """At 8.5 m/s; computed by hand from r = v^2/(g tan phi)."""
    assert bank_from_turn_deg(8.5, period) == pytest.approx(bank, abs=0.01)


def test_straight_flight_is_the_limit():
    assert load_factor(0.0) == 1.0
    assert sink_in_turn(0.4, load_factor(0.0)) == 0.4
    assert bank_from_turn_deg(10.0, np.inf) == 0.0
