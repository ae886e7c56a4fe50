"""The segmentation stage as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.records import Flight, Notice, Segmentation
from analyzer.segmentation.airborne import airborne_spans
from analyzer.segmentation.cover import covering_segments, without
from analyzer.segmentation.lift import thermal_climbs
from analyzer.segmentation.motion import motion_of
from analyzer.segmentation.motor import motor_runs
from analyzer.segmentation.tuning import SEGMENTATION, SegmentationTuning

if TYPE_CHECKING:
    from analyzer.records import Log
    from analyzer.setup_file import Setup

_ROUGH_AIRSPEED = Notice(
    "airspeed-not-used", "total energy from this airspeed is rougher than height: climbs are told from height alone"
)

_STARTS_IN_AIR = Notice(
    "launch-level-unknown", "the log starts in the air or moving: heights are above where it begins"
)


def segment(log: Log, setup: Setup | None = None, tuning: SegmentationTuning = SEGMENTATION) -> Segmentation:
    """Cut a conditioned log into flights and segments.

    Parameters
    ----------
    log : Log
        Conditioned.
    setup : Setup, optional
        Taken for the interface that all stages share: the cut rests on the log alone.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    motion = motion_of(log, tuning.lift)
    last_s = float(log.frame["time_s"].iloc[-1])
    runs, notices, motor_seen = motor_runs(log, motion, tuning.motor)
    if log.has("energy_height_m") and not motion.total_energy:
        notices.append(_ROUGH_AIRSPEED)
    flights = [(start, min(end, last_s)) for start, end in airborne_spans(motion, runs, tuning.flight)]
    if flights and flights[0][0] == 0.0:
        notices.append(_STARTS_IN_AIR)
    stops, releases = {end for _, end in runs}, {start for start, _ in flights}
    climbs = [
        climb
        for stretch in without(flights, runs)
        for climb in thermal_climbs(motion, stretch, stretch[0] in stops, stretch[0] in releases, tuning.lift)
    ]
    segments = covering_segments(last_s, motion.height_at, flights, runs, climbs)
    blips = tuple(
        index for index, s in enumerate(segments) if s.kind == "motor_run" and s.duration_s < tuning.motor.blip_s
    )
    return Segmentation(tuple(Flight(*flight) for flight in flights), segments, blips, tuple(notices), motor_seen)
