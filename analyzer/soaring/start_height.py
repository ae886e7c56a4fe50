"""Start height and flight score by the published rules of thermal-duration electric gliders."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.soaring.records import StartScore

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.records import Segmentation

RULES: Final = "FAI Sporting Code, Section 4, Volume F5, class F5J, 2014 edition (Rev. 1), 5.5.11"
"""The edition whose rules are applied. Start height (5.5.11.1.3 h) and deduction (5.5.11.12 e) as quoted there and,
unchanged, on a page of March 2025, the overflown minute on a league's page; check the edition in force before a
contest."""

AFTER_STOP_S: Final = 10.0
LONGEST_RUN_S: Final = 30.0
WORKING_TIME_S: Final = 600.0
MOST_OVERFLOWN_S: Final = 60.0
CHEAP_HEIGHT_M: Final = 200.0
POINTS_PER_M: Final = 0.5
POINTS_PER_M_ABOVE: Final = 3.0
RUN_SLACK_S: Final = 0.5
"""Edges of a run are no better known than this, so a run is only called too long beyond it."""


def start_height_m(time_s: ArrayLike, height_m: ArrayLike, release_s: float, motor_stop_s: float) -> float:
    """Highest point between release and ten seconds after the motor stops.

    Parameters
    ----------
    time_s, height_m : array_like, shape (n,)
        Height above the launch point [s, m]; NaN is left out.
    release_s, motor_stop_s : float
        Release of the model and end of the first motor run [s].
    """
    time, height = np.asarray(time_s, dtype=float), np.asarray(height_m, dtype=float)
    inside = (time >= release_s) & (time <= motor_stop_s + AFTER_STOP_S) & np.isfinite(height)
    return float(height[inside].max()) if inside.any() else math.nan


def height_deduction(start_height_m: float) -> float:
    """Points taken for a start height [m]: half a point a metre up to 200 m, three points a metre above."""
    low = min(max(start_height_m, 0.0), CHEAP_HEIGHT_M)
    return POINTS_PER_M * low + POINTS_PER_M_ABOVE * max(start_height_m - CHEAP_HEIGHT_M, 0.0)


def score_starts(time_s: ArrayLike, height_m: ArrayLike, segmentation: Segmentation) -> tuple[StartScore, ...]:
    """Score every flight of a log that began with the motor.

    Parameters
    ----------
    time_s, height_m : array_like, shape (n,)
        Height above the launch point [s, m].
    segmentation : Segmentation
        Flights and motor runs.
    """
    runs = segmentation.of_kind("motor_run")
    scores = []
    for number, flight in enumerate(segmentation.flights, start=1):
        own = [run for run in runs if run.end_s > flight.start_s and run.start_s < flight.end_s]
        if own and own[0].start_s <= flight.start_s + AFTER_STOP_S:
            height = start_height_m(time_s, height_m, flight.start_s, own[0].end_s)
            if math.isfinite(height):
                scores.append(score_start(number, height, flight.duration_s, own[0].duration_s, len(own)))
    return tuple(scores)


def score_start(
    flight_number: int, start_height_m: float, flight_time_s: float, motor_time_s: float, motor_runs: int
) -> StartScore:
    """Score one flight without its landing points.

    One point per full second of flight within the ten minutes of working time, less the deduction for start height.
    The flight is not valid when the motor ran longer than 30 s or was started again, or when it went on for more than a
    minute past the working time, which began no later than the flight.
    """
    problem = remark = ""
    if motor_runs > 1:
        problem = f"the motor was started {motor_runs} times"
    elif motor_time_s > LONGEST_RUN_S + RUN_SLACK_S:
        problem = f"the motor ran for {motor_time_s:.0f} s, more than {LONGEST_RUN_S:.0f} s"
    elif flight_time_s > WORKING_TIME_S + MOST_OVERFLOWN_S:
        problem = "flown more than a minute past the ten of the working time"
    elif flight_time_s > WORKING_TIME_S:
        remark = "flown past ten minutes: no landing points, and only ten minutes count"
    points = math.floor(min(flight_time_s, WORKING_TIME_S))
    deduction = height_deduction(start_height_m)
    return StartScore(
        flight_number=flight_number,
        start_height_m=start_height_m,
        flight_time_s=flight_time_s,
        motor_time_s=motor_time_s,
        motor_runs=motor_runs,
        time_points=float(points),
        height_deduction=deduction,
        score_without_landing=0.0 if problem else max(points - deduction, 0.0),
        valid=not problem,
        remark=f"in a contest not valid: {problem}" if problem else remark,
        rules=RULES,
    )
