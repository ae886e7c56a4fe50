"""Glides at a logged airspeed tell the airframe's drag, as far as they can."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from match_flight import climbing_log, summary_of
from match_planted import planted_setup

from analyzer.match.glide_drag import drag_from_glides
from analyzer.match.tuning import TUNING
from analyzer.power_system import airframe as frames
from analyzer.power_system.system import power_system
from analyzer.records import Glide

SETUP = planted_setup()
SYSTEM = power_system(SETUP)


def told(true_drag: float, airspeeds: list[float], lift_m_s: float = 0.0) -> tuple[float, float] | None:
    """What glides at these airspeeds say of an airframe whose drag is off by a factor's logarithm."""
    log = climbing_log(8)
    summary = summary_of(log, 8)
    airframe = replace(
        SYSTEM.airframe, zero_lift_drag_coefficient=SYSTEM.airframe.zero_lift_drag_coefficient * np.exp(true_drag)
    )
    empty = [segment for segment in summary.segments if segment.kind == "glide"]
    glides = []
    for segment, airspeed in zip(empty, airspeeds, strict=False):
        sink = float(frames.sink_rate_m_s(airframe, airspeed, 1.19)) - lift_m_s
        glides.append(Glide(segment.start_s, segment.end_s, 0.0, sink, 0.02, None, airspeed))
    return drag_from_glides(replace(summary, glides=tuple(glides)), SETUP, SYSTEM, log, TUNING)


def test_fast_glides_tell_the_drag() -> None:
    value, error = told(0.3, [12.0, 16.0, 20.0, 18.0, 14.0, 22.0])
    assert error < 0.15
    assert value == pytest.approx(0.3, abs=error)


def test_slow_glides_hardly_tell_it() -> None:
    fast, slow = told(0.0, [18.0, 20.0, 19.0, 20.0]), told(0.0, [8.0, 8.5, 8.2, 8.4])
    assert slow[1] > 2.0 * fast[1]


def test_lift_is_not_taken_for_a_clean_airframe() -> None:
    value, error = told(0.0, [9.0, 10.0, 16.0, 20.0, 18.0], lift_m_s=0.15)
    assert abs(value) < 2.0 * error


def test_the_landing_and_glides_without_airspeed_say_nothing() -> None:
    assert told(0.0, []) is None
    log = climbing_log(1)
    summary = summary_of(log, 1)
    last = summary.segments[-1]
    landing = Glide(last.start_s, last.end_s, 0.0, 1.5, 0.02, None, 10.0)
    assert drag_from_glides(replace(summary, glides=(landing,)), SETUP, SYSTEM, log, TUNING) is None
    silent = replace(landing, mean_airspeed_m_s=None)
    assert drag_from_glides(replace(summary, glides=(silent,)), SETUP, SYSTEM, log, TUNING) is None
