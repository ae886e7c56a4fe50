"""The ends of climbs against the change points that a general-purpose library finds in the same series."""

import warnings

import numpy as np
import pytest
from segmentation.invented_flight import InventedFlight

from analyzer.conditioning import condition
from analyzer.segmentation import segment


@pytest.mark.parametrize("seed", range(4))
def test_ends_of_climbs_are_change_points_of_ruptures(seed):
    """ruptures 1.1 (C. Truong, L. Oudre, N. Vayatis, Signal Processing 167, 2020), optimal segmentation, least squares.

    It is told how many changes of mean there are in the vertical speed; where they are must agree within half a circle.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import ruptures

    flight = InventedFlight(seed).rest(20).run(20).glide(60).thermal(70, 1.6, 9.0, 0.5)
    log = condition(flight.glide(60).thermal(50, 1.2, 8.0, 0.5).glide(60).log())
    climbs = segment(log).of_kind("thermal_climb")
    start = 45.0
    grid = np.arange(start, log.frame["time_s"].iloc[-1], 1.0)
    speed = np.interp(grid, log.frame["time_s"], log.frame["climb_m_s"])
    breaks = ruptures.Dynp(model="l2", min_size=15, jump=1).fit(speed[:, None]).predict(n_bkps=4)[:-1]
    edges = [edge for climb in climbs for edge in (climb.start_s, climb.end_s)]
    assert edges == pytest.approx([start + place for place in breaks], abs=4.5)
