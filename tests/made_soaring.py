"""A hand-made soaring report of the hand-made flight, for the tests of outputs: plain numbers, without the analysis."""

from __future__ import annotations

import numpy as np
from made_flight import made_summary

from analyzer.circling.position import Track, track_of
from analyzer.circling.wind import Wind
from analyzer.records import Notice
from analyzer.soaring.glide_report import glide_report
from analyzer.soaring.polar import Polar
from analyzer.soaring.polar_fit import PolarFit
from analyzer.soaring.records import Circling, Netto, PassedLift, ProfileBand, Search, SoaringReport, Thermal
from analyzer.soaring.start_height import score_start

WIND = Wind(4.2, 0.2, 245.0, 3.0, 9.1, None, 0.5, 12.0)


def made_track() -> Track:
    """A straight leg eastwards over 900 s, starting at 47 N, 8 E."""
    time = np.arange(0.0, 900.0, 1.0)
    track, _ = track_of(time, np.full(time.size, 47.0), 8.0 + 1e-5 * time, np.zeros(time.size, dtype=bool))
    assert track is not None
    return track


def made_fit(sink_factor: float = 1.0) -> PolarFit:
    polar = Polar(2.2e-4 * sink_factor, 2.1 * sink_factor)
    covariance = np.diag([(0.05 * polar.parasite_s2_m2) ** 2, (0.05 * polar.induced_m2_s2) ** 2])
    return PolarFit(polar, covariance, 7.0, 14.0, 320.0, 0.12)


def made_report() -> SoaringReport:
    summary = made_summary()
    latitude, longitude = made_track().to_degrees(200.0, 50.0)
    circling = Circling("left", 9.4, 12.3, "track", 9.1, 31.0, 13.2, 4.4, 240.0, latitude, longitude)
    profile = (ProfileBand(120.0, 140.0, 15.0, 1.2, None), ProfileBand(140.0, 160.0, 25.0, 1.6, 0.2))
    netto = Netto(2.05, 0.12, 0.58, "polar measured in this log")
    thermal = Thermal(summary.thermal_climbs[0], 14.0, netto, circling, WIND, profile)
    return SoaringReport(
        name=summary.log.name,
        sha256=summary.log.sha256,
        started_at=summary.log.started_at,
        thermals=(thermal,),
        wind=WIND,
        airspeed_source="airspeed",
        searches=(
            Search(40.0, 160.0, "thermal_climb", -44.0, -0.12, 0.2, 0.5),
            Search(280.0, 500.0, "motor_run", -124.0, None, None, None),
            Search(515.0, 890.0, "landing", -266.0, 0.05, 0.3, 0.3),
        ),
        lift_passed=(PassedLift(330.0, 345.0, 260.0, 0.9, 0.63, latitude, longitude),),
        glide=glide_report({"cruise": made_fit(), "speed": made_fit(1.6)}, summary.glides, 1.15, None),
        starts=(score_start(1, 188.0, 590.0, 28.0, 1),),
        thermal_gain_m=176.0,
        motor_gain_m=259.0,
        lift_share=0.4046,
        notices=(Notice("position-jump", "position: 3 samples beside the track, first at 412 s; set aside"),),
    )
