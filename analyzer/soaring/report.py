"""The soaring stage as a whole: one log in, what its air and its glide were out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.circling.climb_circles import circles_of_climb
from analyzer.circling.compass import OFFSET_WORTH_SAYING_DEG
from analyzer.circling.position import Track, ground_velocity_m_s
from analyzer.circling.wind import Wind, mean_wind, wind_from_legs
from analyzer.errors import NoAnswerError
from analyzer.measures.traces import traces_of
from analyzer.power_system.airframe import airframe_model
from analyzer.records import Notice
from analyzer.soaring.air_motion import VELOCITY_WINDOW_S, air_motion
from analyzer.soaring.flight_track import flight_track
from analyzer.soaring.flown_air import flown_density_kg_m3
from analyzer.soaring.glide_report import fit_polars, glide_report, usual_sink
from analyzer.soaring.glide_stretches import glide_stretches
from analyzer.soaring.own_sink import choose_own_sink
from analyzer.soaring.polar import polar_of_airframe
from analyzer.soaring.records import SoaringReport
from analyzer.soaring.searching import NO_CELLS, air_cells, lift_passed, searches
from analyzer.soaring.start_height import score_starts
from analyzer.soaring.thermal_detail import thermal_detail
from analyzer.soaring.zooms import zoom_spans

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.circling.climb_circles import ClimbCircles
    from analyzer.measures.traces import Traces
    from analyzer.records import FlightSummary, Log, Segmentation
    from analyzer.setup_file import Setup
    from analyzer.soaring.air_motion import AirMotion
    from analyzer.soaring.glide_stretches import Stretch
    from analyzer.soaring.own_sink import OwnSink
    from analyzer.soaring.polar import Polar
    from analyzer.soaring.searching import AirCells


def soar(
    log: Log,
    segmentation: Segmentation,
    summary: FlightSummary,
    setup: Setup | None = None,
    next_climbs_m_s: Sequence[float] = (),
) -> SoaringReport:
    """Find what a log says of the air and of the glide.

    Parameters
    ----------
    log : Log
        Conditioned.
    segmentation : Segmentation
        Its flights and segments.
    summary : FlightSummary
        Its measures: climbs, glides and totals are taken from there.
    setup : Setup, optional
        Its airframe gives a polar where the log cannot, its mass and area the drag coefficients, its air the density.
    next_climbs_m_s : sequence of float
        Expected climbs to add to the table of speeds to fly [m/s].

    Returns
    -------
    SoaringReport
        With None for what the log cannot give, and notices that say why.
    """
    traces = traces_of(log)
    time_s, height_m = traces.time_s, traces.channels["height_m"]
    track, positions = flight_track(traces, segmentation)
    climbs = summary.thermal_climbs
    circles = [circles_of_climb(time_s, traces.channels, climb.start_s, climb.end_s, track) for climb in climbs]
    stretches = glide_stretches(time_s, height_m, traces.labels.get("flight_mode"), segmentation)
    wind = mean_wind([found.wind for found in circles if found.wind is not None])
    wind = wind or _wind_without_circles(traces, track, stretches)
    motion = air_motion(time_s, traces.channels, track, wind)
    density = _density_kg_m3(traces, segmentation, setup)
    fits, unfitted = fit_polars(motion, stretches)
    airframe = setup.airframe if setup is not None else None
    glide = glide_report(fits, summary.single_mode_glides, density, airframe, next_climbs_m_s)
    own_sink = choose_own_sink(
        next(iter(fits.values()), None), _setup_polar(setup, density), usual_sink(motion, stretches)
    )
    cells = _cells(traces, motion, own_sink, stretches)
    return SoaringReport(
        name=log.name,
        sha256=log.sha256,
        started_at=summary.log.started_at,
        thermals=tuple(
            thermal_detail(climb, found, traces, motion, own_sink, track)
            for climb, found in zip(climbs, circles, strict=True)
        ),
        wind=wind,
        airspeed_source=motion.source,
        searches=searches(segmentation, cells),
        lift_passed=() if own_sink is None else lift_passed(cells, own_sink, time_s, height_m, track),
        glide=glide,
        starts=score_starts(time_s, height_m, segmentation),
        thermal_gain_m=summary.totals.thermal_gain_m,
        motor_gain_m=summary.totals.motor_gain_m,
        lift_share=summary.totals.lift_share,
        notices=(
            *_motor_notices(segmentation, summary),
            *positions,
            *_motion_notices(motion, own_sink),
            *_compass_notices(circles),
            *unfitted,
        ),
    )


def _wind_without_circles(traces: Traces, track: Track | None, stretches: Sequence[Stretch]) -> Wind | None:
    """Wind from the glides in all directions, once a second; needs positions and a logged airspeed."""
    airspeed = traces.get("airspeed_m_s")
    if track is None or airspeed is None or not stretches:
        return None
    parts = [ground_velocity_m_s(track, part.start_s, part.end_s, VELOCITY_WINDOW_S) for part in stretches]
    at, east, north = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    chosen = np.unique(np.floor(at), return_index=True)[1]
    try:
        speed = np.interp(at[chosen], traces.time_s, airspeed)
        return wind_from_legs(at[chosen], east[chosen], north[chosen], speed)
    except NoAnswerError:
        return None


def _density_kg_m3(traces: Traces, segmentation: Segmentation, setup: Setup | None) -> float:
    """Air density from the first flight's release to the last one's landing."""
    flights = segmentation.flights
    start_s, end_s = (flights[0].start_s, flights[-1].end_s) if flights else (0.0, 0.0)
    return flown_density_kg_m3(traces, setup, start_s, end_s)


def _setup_polar(setup: Setup | None, density_kg_m3: float) -> Polar | None:
    """The polar of the setup's airframe, where it says enough for one."""
    if setup is None or setup.airframe is None:
        return None
    frame = setup.airframe
    if None in (frame.mass_kg, frame.wing_area_m2, frame.wingspan_m, frame.zero_lift_drag_coefficient):
        return None
    return polar_of_airframe(airframe_model(frame), density_kg_m3)


def _cells(traces: Traces, motion: AirMotion, own_sink: OwnSink | None, stretches: Sequence[Stretch]) -> AirCells:
    """Air along the glides; where the airspeed is not known, zooms are left out by their shape."""
    if own_sink is None:
        return NO_CELLS
    zooms: list[tuple[float, float]] = []
    if motion.source == "none":
        for stretch in stretches:
            inside = motion.inside(stretch)
            climb = traces.channels["climb_m_s"][inside]
            zooms += zoom_spans(motion.time_s[inside], climb, own_sink.straight_sink_m_s)
    return air_cells(motion, own_sink, stretches, zooms)


def _motor_notices(segmentation: Segmentation, summary: FlightSummary) -> list[Notice]:
    """How far climbs in lift are told from those under power, where no channel shows the motor."""
    codes = {"motor-from-climb", "motor-unknown"} if summary.motor_unknown else {"motor-from-climb"}
    return [notice for notice in segmentation.notices if notice.code in codes]


def _motion_notices(motion: AirMotion, own_sink: OwnSink | None) -> tuple[Notice, ...]:
    notices = []
    if motion.source == "ground speed and wind":
        message = "No airspeed is logged: it was taken from the ground velocity and the wind found in the circles."
        notices.append(Notice("airspeed-from-ground", message))
    elif motion.source == "none":
        message = "Neither airspeed nor wind is known: total energy is height alone, zooms are left out by their shape."
        notices.append(Notice("no-total-energy", message))
    if own_sink is None:
        notices.append(Notice("no-own-sink", "No glide, and no airframe in a setup: the air's own speed is not known."))
    return tuple(notices)


def _compass_notices(circles: Sequence[ClimbCircles]) -> tuple[Notice, ...]:
    """What the heading is worth, judged by the track over the air."""
    checks = [found.compass for found in circles if found.compass is not None]
    if not checks:
        return ()
    worst = max(checks, key=lambda check: check.spread_deg)
    if not worst.agrees:
        message = (
            f"The heading strays by {worst.spread_deg:.0f}° from the track, like an uncalibrated compass: set aside."
        )
        return (Notice("compass-uncalibrated", message),)
    offset = float(np.degrees(np.angle(np.exp(1j * np.radians([check.offset_deg for check in checks])).sum())))
    if abs(offset) > OFFSET_WORTH_SAYING_DEG:
        return (
            Notice("compass-offset", f"The heading reads {abs(offset):.0f}° too {'high' if offset > 0 else 'low'}."),
        )
    return ()
