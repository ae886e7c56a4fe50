"""Figures of the air: what is drawn is what was found, in the reader's units."""

from dataclasses import replace

import numpy as np
import pytest
from made_flight import made_summary
from made_soaring import made_report, made_track

from analyzer.figures.flight_map import flight_map_figure, round_length
from analyzer.figures.lift import (
    LEAST_S,
    height_distribution_figure,
    hour_distribution_figure,
    lift_profile_figure,
)
from analyzer.figures.polar import polar_figure
from analyzer.figures.template import DAY, NIGHT, SUN
from analyzer.soaring.session import session_of


def test_the_map_is_to_scale_and_north_up():
    report, track = made_report(), made_track()
    figure = flight_map_figure(track, made_summary().segments, report)
    assert figure.layout.yaxis.scaleanchor == "x"
    assert figure.layout.yaxis.scaleratio == 1.0
    arrows = [note for note in figure.layout.annotations if note.showarrow]
    assert min(min(note.y, note.ay) for note in arrows) > np.nanmax(track.north_m)  # not on the track
    assert max(max(note.y, note.ay) for note in arrows) < figure.layout.yaxis.range[1]
    bar = figure.layout.shapes[0]
    label = next(note.text for note in figure.layout.annotations if note.text.endswith(" m"))
    assert bar.x1 - bar.x0 == pytest.approx(float(label.removesuffix(" m")))
    texts = [note.text for note in figure.layout.annotations]
    assert "N" in texts
    assert "wind" in texts


def test_the_map_in_feet_has_a_bar_of_round_feet():
    figure = flight_map_figure(made_track(), made_summary().segments, made_report(), system="feet")
    label = next(note.text for note in figure.layout.annotations if note.text.endswith(" ft"))
    bar = figure.layout.shapes[0]
    assert (bar.x1 - bar.x0) / 0.3048 == pytest.approx(float(label.removesuffix(" ft")))


def test_the_map_names_the_thermals_where_they_were():
    figure = flight_map_figure(made_track(), made_summary().segments, made_report())
    thermals = next(trace for trace in figure.data if trace.text is not None)
    assert list(thermals.text) == ["T1"]
    assert (thermals.x[0], thermals.y[0]) == pytest.approx((200.0, 50.0), abs=0.5)


def test_the_map_without_wind_or_thermals():
    bare = replace(made_report(), thermals=(), lift_passed=(), wind=None)
    figure = flight_map_figure(made_track(), made_summary().segments, bare)
    assert "wind" not in [note.text for note in figure.layout.annotations]


@pytest.mark.parametrize(("longest", "chosen"), [(7.0, 5.0), (10.0, 10.0), (199.0, 100.0), (0.3, 0.2)])
def test_round_lengths(longest, chosen):
    assert round_length(longest) == pytest.approx(chosen)


def test_the_polar_has_its_band_and_landmarks():
    report = made_report()
    figure = polar_figure(report.glide.polars)
    band, curve, marks = figure.data[:3]
    assert band.fill == "toself"
    polar = report.glide.polars[0]
    assert list(curve.y) == pytest.approx([point.sink_m_s for point in polar.curve])
    assert marks.x[0] == pytest.approx(polar.flown.least_sink_speed_m_s)
    assert figure.layout.yaxis.autorange == "reversed"
    feet = polar_figure(report.glide.polars, system="feet").data[1]
    assert np.array(feet.y) == pytest.approx(np.array(curve.y) * 196.8504, rel=1e-4)


def test_the_profile_draws_every_band():
    thermals = made_report().thermals
    figure = lift_profile_figure(thermals)
    (trace,) = figure.data
    assert trace.name == "T1"
    assert list(trace.x) == pytest.approx([band.climb_m_s for band in thermals[0].profile])
    assert lift_profile_figure([replace(thermals[0], profile=())]).data == ()


def test_distributions_by_height_and_hour():
    summary = made_summary()
    session = session_of([replace(summary, log=replace(summary.log, started_at="2026-05-02T14:31:00"))])
    (heights,) = height_distribution_figure(session).data
    assert list(heights.x) == [band.climb_rate_m_s for band in session.by_height if band.time_s >= LEAST_S]
    assert 0 < len(heights.x) < len(session.by_height)
    (hours,) = hour_distribution_figure(session).data
    assert list(hours.x) == [14.5]


def _luminance(red_green_blue):
    """Relative luminance (WCAG 2.2, definition)."""
    share = np.array(red_green_blue) / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return float(linear @ (0.2126, 0.7152, 0.0722))


def _parts(color):
    return np.array([int(color[at : at + 2], 16) for at in (1, 3, 5)])


@pytest.mark.parametrize("look", [DAY, NIGHT, SUN], ids=["day", "night", "sun"])
def test_the_words_in_a_bar_can_be_read(look):
    session = session_of([made_summary()])
    (bars,) = height_distribution_figure(session, look=look).data
    *color, alpha = (float(part) for part in bars.marker.color.removeprefix("rgba(").rstrip(")").split(","))
    behind = alpha * np.array(color) + (1.0 - alpha) * _parts(look.paper)
    lighter, darker = sorted((_luminance(behind), _luminance(_parts(bars.insidetextfont.color))), reverse=True)
    assert (lighter + 0.05) / (darker + 0.05) > 7.0
