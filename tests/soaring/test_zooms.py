"""Zooms by their shape."""

import numpy as np

from analyzer.soaring.zooms import zoom_spans

TIME = np.arange(0.0, 100.0, 0.5)


def _glide(*pieces):
    """Climb rate of -0.5 m/s with pieces (start, end, rate) set in."""
    climb = np.full(TIME.size, -0.5)
    for start, end, rate in pieces:
        climb[(start <= TIME) & (end > TIME)] = rate
    return climb


def test_dive_and_zoom_are_one_span():
    spans = zoom_spans(TIME, _glide((30.0, 34.0, -8.0), (34.0, 39.0, 5.0)), 0.5)
    assert len(spans) == 1
    assert spans[0][0] == 30.0
    assert spans[0][1] == 39.0


def test_lift_without_a_dive_is_no_zoom():
    assert zoom_spans(TIME, _glide((30.0, 60.0, 2.0)), 0.5) == ()


def test_sinking_air_is_no_dive():
    assert zoom_spans(TIME, _glide((30.0, 60.0, -1.5)), 0.5) == ()


def test_dive_into_lift_ends_after_what_a_zoom_can_last():
    (start, end), *rest = zoom_spans(TIME, _glide((30.0, 34.0, -8.0), (34.0, 80.0, 2.0)), 0.5)
    assert rest == []
    assert start == 30.0
    assert end <= 34.0 + 15.0


def test_two_dives_in_a_row_are_one_span():
    spans = zoom_spans(TIME, _glide((30.0, 33.0, -8.0), (33.0, 36.0, 4.0), (34.5, 36.0, -8.0)), 0.5)
    assert len(spans) == 1


def test_missing_samples_count_as_usual_sink():
    climb = _glide()
    climb[50:80] = np.nan
    assert zoom_spans(TIME, climb, 0.5) == ()
