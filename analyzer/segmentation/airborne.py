"""Airborne or not: from launches, landings and stillness, at any height above the launch point.

The state is followed through the log, which may begin, or go on after a silence, in the air. On the ground, a motor run
that carries the model up, a tow or a throw is a launch; what is carried or driven is not. In the air, a stretch of rest
is a landing when it is near a known ground level, the heights of launches included, or lasts long enough that no lift
can have balanced the sink all the time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.landing import next_landing, rest_spans
from analyzer.segmentation.launch import launches_of, next_launch
from analyzer.segmentation.motion import sliding_mean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.segmentation.launch import Launches
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.spans import Span
    from analyzer.segmentation.tuning import FlightTuning


def airborne_spans(motion: Motion, runs: Sequence[Span], tuning: FlightTuning) -> list[Span]:
    """Release and touch-down of every flight, in order.

    Parameters
    ----------
    motion : Motion
        Vertical motion and speed.
    runs : sequence of (float, float)
        Motor runs, start and end times.
    tuning : FlightTuning
        The stage's tuning.
    """
    rests = rest_spans(motion, runs, tuning)
    launches = launches_of(motion, runs, tuning)
    flights: list[Span] = []
    levels: list[float] = []
    appears = [at_s for at_s in motion.heard_again() if _is_in_air(motion, at_s, rests, launches, tuning)]
    release = _next_release(motion, launches, 0.0, appears, tuning)
    while release is not None:
        levels += [motion.height_at(release)] if release > 0.0 else []
        landing = next_landing(motion, release, rests, levels, launches, tuning)
        if landing is None:
            flights.append((release, float(motion.time_s[-1])))
            break
        flights.append((release, landing))
        levels.append(motion.height_at(landing + 2.0))
        release = _next_release(motion, launches, landing + 2.0, appears, tuning)
    return _relaunched(flights, appears, launches, tuning)


def _next_release(
    motion: Motion, launches: Launches, after_s: float, appears: list[float], tuning: FlightTuning
) -> float | None:
    """When a model that is on the ground at a time is launched next, or found in the air; None when it stays there."""
    launch = next_launch(motion, launches, after_s, tuning)
    found = next((at_s for at_s in appears if at_s >= after_s), None)
    return min((at_s for at_s in (launch, found) if at_s is not None), default=None)


def _is_in_air(motion: Motion, at_s: float, rests: list[Span], launches: Launches, tuning: FlightTuning) -> bool:
    """Whether a log that begins, or goes on after a silence, shows a model in flight.

    It moves at once, or is not at rest before its height changes faster than on foot: on the ground a model waits for
    its launch, however far it was carried before. Gusts may make its barometer restless, but before a launch under
    power the height stays within a hand's reach.
    """
    if motion.speed_share[motion.window(at_s, at_s + tuning.rise_window_s)].min() > tuning.flying_share:
        return True
    launch, paced_s = launches.powered_after(at_s), launches.paced_after(at_s + tuning.rise_window_s)
    powered_s = np.inf if launch is None else launch[0]
    is_powered = powered_s <= paced_s
    until = powered_s if is_powered else paced_s - tuning.rise_window_s
    rested = sum(min(end, until) - max(start, at_s) for start, end in rests if at_s < end and start < until)
    waited = any(start < until - tuning.waits_s and end > until - tuning.waits_s for start, end in rests)
    if until == np.inf or waited or rested > tuning.waiting_share * (until - at_s):
        return False
    calmed_m = sliding_mean(motion.height_m[motion.window(at_s, until)], tuning.level_window_s)
    return not is_powered or bool(np.ptp(calmed_m) > tuning.reach_m)


def _relaunched(flights: list[Span], appears: list[float], launches: Launches, tuning: FlightTuning) -> list[Span]:
    """Flights, those made one between which nobody could have picked up the model and launched it again.

    A flight of a few seconds without the motor is the sensor's, or a stumble, and left out.
    """
    joined: list[Span] = []
    for release, landing in flights:
        powered = any(start - 1.0 <= release <= end for start, end in launches.powered)
        if release not in appears and not launches.flown(release, landing, 2.0 * tuning.rise_window_s):
            continue
        if joined and release - joined[-1][1] < tuning.pause_s:
            joined[-1] = (joined[-1][0], landing)
        elif powered or landing - release >= tuning.least_unpowered_s:
            joined.append((release, landing))
    return joined
