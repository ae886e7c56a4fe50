"""The circles of one climb, from the best that the log has: position, ground speed and heading, heading, the beat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.banked_turn import bank_from_turn_deg
from analyzer.circling.circles import (
    Circle,
    Turning,
    air_track_deg,
    fit_drifting_circle,
    turning_from_climb,
    turning_from_heading,
)
from analyzer.circling.compass import CompassCheck, check_compass
from analyzer.circling.position import Track, ground_velocity_m_s, hodograph_shrinkage
from analyzer.circling.wind import Wind, rough_wind_m_s, wind_from_circles, wind_from_speed_and_heading
from analyzer.conditioning.stretches import stretches_of
from analyzer.errors import NoAnswerError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.arrays import Array


FIRST_WINDOW_S: Final = 2.0
"""Width over which velocities are first taken, before the period is known: a quarter of a tight circle."""
WINDOW_SHARE: Final = 0.25
"""Width as a share of the period, once known: the hodograph shrinks by 6 %, which is corrected; noise of the fixes
falls with the width to the power 1.5."""
SAMPLE_SHARE: Final = 0.2
"""Velocities are taken this share of a window apart: closer ones come from the same positions, and tell no more."""
LONGEST_FIX_S: Final = 5.0
"""Positions farther apart tell of no circle."""
FEWEST_FIXES: Final = 3.0
"""Times between fixes that a window is wide at least: it then holds three of them."""
MOST_RESIDUAL_SHARE: Final = 0.25
"""Ground speeds that stray by more than this share of the airspeed from those of any wind mean a wrong heading."""
FULL_TURN_SHARE: Final = 0.6
"""Of a full turn within one period: less is straight flight or a shift of the circle by more than its radius."""
MIN_AIRSPEED_M_S: Final = 3.0
"""A median below this is an airspeed sensor that does not work."""


@dataclass(frozen=True)
class ClimbCircles:
    """What is known of the circles of one climb.

    Attributes
    ----------
    turning : Turning or None
        Period, number, direction, and what showed them.
    wind : Wind or None
        Over the climb; needs position, or ground speed and heading.
    circle : Circle or None
        Radius, centre and drift; needs position.
    airspeed_m_s : float or None
        Mean over the climb: logged, else from the circles.
    compass : CompassCheck or None
        A logged heading against the track through the air.
    bank_deg : float or None
        From airspeed and period.
    """

    turning: Turning | None = None
    wind: Wind | None = None
    circle: Circle | None = None
    airspeed_m_s: float | None = None
    compass: CompassCheck | None = None

    @property
    def bank_deg(self) -> float | None:
        """Bank of a steady turn at this airspeed and period."""
        if self.turning is None or self.airspeed_m_s is None:
            return None
        return float(bank_from_turn_deg(self.airspeed_m_s, self.turning.period_s))


def circles_of_climb(
    time_s: Array,
    channels: Mapping[str, Array],
    start_s: float,
    end_s: float,
    track: Track | None = None,
    *,
    with_wind: bool = True,
) -> ClimbCircles:
    """Find the circles of one climb.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        The log's time [s].
    channels : mapping of str to ndarray
        Conditioned channels by name; used where there: `airspeed_m_s`, `ground_speed_m_s`, `heading_deg`, `climb_m_s`.
    start_s, end_s : float
        The climb [s].
    track : Track, optional
        Believable positions of the whole log.
    with_wind : bool
        False leaves out the wind where the circles can be told without it, which takes half the time.

    Returns
    -------
    ClimbCircles
        With None for what the log cannot show.
    """
    inside = (time_s >= start_s) & (time_s <= end_s)
    part = {name: values[inside] for name, values in channels.items()}
    climb = _Climb(time_s[inside], part, start_s, end_s, track, _logged_airspeed(part), with_wind)
    for best in (_from_track, _from_speed_and_heading, _from_heading, _from_beat):
        try:
            return best(climb)
        except NoAnswerError:
            continue
    return ClimbCircles(airspeed_m_s=climb.logged_airspeed_m_s)


@dataclass(frozen=True)
class _Climb:
    """One climb's samples."""

    time_s: Array
    channels: Mapping[str, Array]
    start_s: float
    end_s: float
    track: Track | None
    logged_airspeed_m_s: float | None
    with_wind: bool

    def channel(self, name: str) -> Array:
        values = self.channels.get(name)
        if values is None or not np.isfinite(values).any():
            raise NoAnswerError(f"no {name}")
        return values


def _from_track(climb: _Climb) -> ClimbCircles:
    track, logged = climb.track, climb.logged_airspeed_m_s
    if track is None:
        raise NoAnswerError("no position")
    fix_s = _fix_interval_s(track, climb.start_s, climb.end_s)
    shortest_s = FEWEST_FIXES * fix_s
    _, _, _, rough = _turning_over(climb, track, max(FIRST_WINDOW_S, shortest_s), fix_s)
    window_s = max(WINDOW_SHARE * rough.period_s, shortest_s)
    at, velocity, air_track, turning = _turning_over(climb, track, window_s, fix_s)
    circle, compass = _circle(track, at, air_track, turning), _compass(climb, at, air_track)
    if not climb.with_wind:
        return ClimbCircles(turning, None, circle, logged, compass)
    wind = wind_from_circles(at, *velocity, _smoothed(climb, at, window_s) if logged else None)
    wind = wind.with_speeds_over(hodograph_shrinkage(window_s, turning.period_s, fix_s))
    return ClimbCircles(turning, wind, circle, logged or wind.airspeed_m_s, compass)


def _turning_over(
    climb: _Climb, track: Track, window_s: float, fix_s: float
) -> tuple[Array, tuple[Array, Array], Array, Turning]:
    """Times and ground velocities (east, north) a share of the window apart, the track through the air, the turning.

    A full turn takes as long whichever wind is subtracted, as long as that is slower than the aircraft: the rough one
    does.
    """
    step = max(1, int(SAMPLE_SHARE * window_s / fix_s))
    velocities = ground_velocity_m_s(track, climb.start_s, climb.end_s, window_s)
    at, east, north = (column[::step] for column in velocities)
    air_track = air_track_deg(east, north, rough_wind_m_s(east, north))
    return at, (east, north), air_track, turning_from_heading(at, air_track, "track")


def _circle(track: Track, at: Array, air_track: Array, turning: Turning) -> Circle | None:
    """One drifting circle through the longest stretch that really goes round; None when there is not one whole circle.

    The turn made within half a period either side of a sample tells whether it goes round there.
    """
    turned = np.unwrap(air_track, period=360.0)
    before, after = (np.interp(at + side * 0.5 * turning.period_s, at, turned) for side in (-1.0, 1.0))
    round_and_round = np.abs(after - before) > FULL_TURN_SHARE * 360.0
    stretches = stretches_of(round_and_round).tolist()
    first, last = max(stretches, key=lambda stretch: stretch[1] - stretch[0], default=(0, 0))
    if last - first < 2 or at[last - 1] - at[first] < turning.period_s:
        return None
    rows = np.searchsorted(track.time_s, at[first:last])
    return fit_drifting_circle(at[first:last], track.east_m[rows], track.north_m[rows], air_track[first:last])


def _compass(climb: _Climb, at: Array, air_track: Array) -> CompassCheck | None:
    heading = climb.channels.get("heading_deg")
    if heading is None:
        return None
    rows = np.searchsorted(climb.time_s, at)  # velocities stand at stamps of the log
    return check_compass(heading[rows], air_track)


def _from_speed_and_heading(climb: _Climb) -> ClimbCircles:
    """Ground speed with a heading that may be the course over ground or the nose's: the one that fits better counts."""
    time, speed, heading = climb.time_s, climb.channel("ground_speed_m_s"), climb.channel("heading_deg")
    angle = np.radians(heading)
    as_course = wind_from_circles(time, speed * np.sin(angle), speed * np.cos(angle))
    as_nose = wind_from_speed_and_heading(time, speed, heading)
    wind = min(as_course, as_nose, key=lambda estimate: estimate.residual_m_s)
    if wind.residual_m_s > MOST_RESIDUAL_SHARE * wind.airspeed_m_s:
        raise NoAnswerError("heading and ground speed fit no wind")
    turning = turning_from_heading(time, heading)
    return ClimbCircles(turning, wind, airspeed_m_s=climb.logged_airspeed_m_s or wind.airspeed_m_s)


def _from_heading(climb: _Climb) -> ClimbCircles:
    turning = turning_from_heading(climb.time_s, climb.channel("heading_deg"))
    return ClimbCircles(turning, airspeed_m_s=climb.logged_airspeed_m_s)


def _from_beat(climb: _Climb) -> ClimbCircles:
    turning = turning_from_climb(climb.time_s, climb.channel("climb_m_s"))
    return ClimbCircles(turning, airspeed_m_s=climb.logged_airspeed_m_s)


def _smoothed(climb: _Climb, at: Array, window_s: float) -> Array:
    """Airspeed averaged over the same windows as the ground velocity."""
    airspeed = climb.channel("airspeed_m_s")
    known = np.isfinite(airspeed)
    time = climb.time_s[known]
    distance = np.concatenate([[0.0], np.cumsum(np.diff(time) * airspeed[known][1:])])
    low, high = (np.clip(at + side * 0.5 * window_s, time[0], time[-1]) for side in (-1.0, 1.0))
    flown = np.interp(high, time, distance) - np.interp(low, time, distance)
    return np.asarray(flown / np.maximum(high - low, 1e-9))


def _logged_airspeed(part: Mapping[str, Array]) -> float | None:
    speed = part.get("airspeed_m_s")
    if speed is None or not np.isfinite(speed).any():
        return None
    typical = float(np.nanmedian(speed))
    return float(np.nanmean(speed)) if typical > MIN_AIRSPEED_M_S else None


def _fix_interval_s(track: Track, start_s: float, end_s: float) -> float:
    """Mean time between positions, silences left out.

    Not the median: where every sensor has a stamp of its own, most stamps are milliseconds apart.
    """
    time, _, _ = track.fixes(start_s, end_s)
    apart = np.diff(time)
    apart = apart[apart < LONGEST_FIX_S]
    return float(apart.mean()) if apart.size else FIRST_WINDOW_S
