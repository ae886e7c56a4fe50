"""Where the aircraft was: fixes on a local plane, with jumps and frozen stretches set aside."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.stretches import stretches_of
from analyzer.records import Notice
from analyzer.wording import clock, counted

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array, Indices, Mask


LEAST_FILLED: Final = 0.49
"""Share of a window that its fixes must span; three regular fixes span half of the widest window that holds no more."""
WGS84_SEMI_MAJOR_M: Final = 6_378_137.0
WGS84_ECCENTRICITY_SQUARED: Final = 6.694_379_990_14e-3
"""World Geodetic System 1984, defining and derived parameters (NIMA TR8350.2, third edition, tables 3.1 and 3.3)."""

SPEED_FACTOR: Final = 4.0
SPEED_MARGIN_M_S: Final = 15.0
"""A step is a jump when it is faster than so many times the flight's typical speed plus this margin: a dive reaches
three times the circling speed, a wind of gale force adds 15 m/s."""
LONGEST_DETOUR_S: Final = 60.0
"""After a jump that is not taken back within this time, the fixes on its far side are believed again: the receiver then
moved to a better solution."""
FROZEN_S: Final = 4.0
"""A position that does not change by a digit for longer than this, in flight, is a receiver without a fix."""


FROZEN_TOLD_S: Final = 3.0
"""A flight's ends are found to about a second: so long a model that stands is no fix that froze."""


@dataclass(frozen=True)
class Track:
    """Positions on a plane that touches the earth at the first fix.

    Attributes
    ----------
    time_s, east_m, north_m : ndarray, shape (n,)
        Samples in order; NaN where there is no position to be believed.
    origin_latitude_deg, origin_longitude_deg : float
        Where east and north are zero.
    """

    time_s: Array
    east_m: Array
    north_m: Array
    origin_latitude_deg: float
    origin_longitude_deg: float

    def fixes(self, start_s: float, end_s: float) -> tuple[Array, Array, Array]:
        """Time, east and north of the believable positions from one time to another."""
        inside = (self.time_s >= start_s) & (self.time_s <= end_s) & np.isfinite(self.east_m)
        return self.time_s[inside], self.east_m[inside], self.north_m[inside]

    def to_degrees(self, east_m: float, north_m: float) -> tuple[float, float]:
        """Latitude and longitude [deg] of a point on the plane."""
        per_east, per_north = metres_per_degree(self.origin_latitude_deg)
        longitude_deg = self.origin_longitude_deg + east_m / per_east
        return self.origin_latitude_deg + north_m / per_north, math.remainder(longitude_deg, 360.0)

    def to_plane(self, latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
        """East and north [m] of a place."""
        per_east, per_north = metres_per_degree(self.origin_latitude_deg)
        north_m = (latitude_deg - self.origin_latitude_deg) * per_north
        return math.remainder(longitude_deg - self.origin_longitude_deg, 360.0) * per_east, north_m


def metres_per_degree(latitude_deg: float) -> tuple[float, float]:
    """Length of a degree of longitude and of latitude [m] at a latitude on the WGS 84 ellipsoid.

    From the radii of curvature in the prime vertical and the meridian (NIMA TR8350.2). A plane with these scales is
    right within 1e-3 to 10 km from its origin below 60 degrees of latitude.
    """
    sine = np.sin(np.radians(latitude_deg))
    shape = 1.0 - WGS84_ECCENTRICITY_SQUARED * sine**2
    prime_vertical_m = WGS84_SEMI_MAJOR_M / np.sqrt(shape)
    meridian_m = prime_vertical_m * (1.0 - WGS84_ECCENTRICITY_SQUARED) / shape
    degree = np.pi / 180.0
    return float(degree * prime_vertical_m * np.cos(np.radians(latitude_deg))), float(degree * meridian_m)


def track_of(
    time_s: ArrayLike, latitude_deg: ArrayLike, longitude_deg: ArrayLike, airborne: ArrayLike
) -> tuple[Track | None, tuple[Notice, ...]]:
    """Take the believable track out of logged positions.

    Parameters
    ----------
    time_s, latitude_deg, longitude_deg : array_like, shape (n,)
        Samples; NaN where nothing was logged. The pair (0, 0) is a receiver without a fix.
    airborne : array_like of bool, shape (n,)
        Where the aircraft flew: only there must a position move.

    Returns
    -------
    Track or None
        None when fewer than ten positions are left.
    tuple of Notice
        What was set aside in flight.
    """
    time = np.asarray(time_s, dtype=float)
    latitude, longitude = (np.array(column, dtype=float) for column in (latitude_deg, longitude_deg))
    absent = ~np.isfinite(latitude) | ~np.isfinite(longitude) | ((latitude == 0.0) & (longitude == 0.0))
    flying = np.asarray(airborne, dtype=bool)
    frozen = ~absent & flying & _held(time, latitude, longitude)
    good = ~absent & ~frozen
    if np.count_nonzero(good) < 10:
        return None, _frozen_notice(time, frozen)
    first = int(np.flatnonzero(good)[0])
    per_east, per_north = metres_per_degree(float(latitude[first]))
    east, north = (longitude - longitude[first]) * per_east, (latitude - latitude[first]) * per_north
    jumped = _jumps(time, east, north, good)
    gone = ~good | jumped
    east[gone] = north[gone] = np.nan
    notices = (*_frozen_notice(time, frozen), *_jump_notice(time, jumped & flying))
    if np.count_nonzero(~gone) < 10:
        return None, notices
    return Track(time, east, north, float(latitude[first]), float(longitude[first])), notices


def ground_velocity_m_s(track: Track, start_s: float, end_s: float, window_s: float) -> tuple[Array, Array, Array]:
    """Ground velocity along a track, by a straight line through the positions in a sliding window.

    Parameters
    ----------
    track : Track
        Positions.
    start_s, end_s : float
        Stretch wanted [s].
    window_s : float
        Width of the window [s]. Circling at a rate of turn omega, the circle in the hodograph shrinks by
        `hodograph_shrinkage`; its centre, the wind, stays.

    Returns
    -------
    time_s, east_m_s, north_m_s : ndarray
        At the positions' own times, where at least three of them fill most of the window.
    """
    time, east, north = track.fixes(start_s, end_s)
    if time.size < 3:
        return time[:0], east[:0], north[:0]
    first = np.searchsorted(time, time - 0.5 * window_s - 1e-9)
    last = np.searchsorted(time, time + 0.5 * window_s + 1e-9)
    count = last - first
    t, e, n = (column - column.mean() for column in (time, east, north))  # centred, so that long logs keep their digits
    sums = np.zeros((6, time.size + 1))
    np.cumsum((t, t * t, e, n, t * e, t * n), axis=1, out=sums[:, 1:])
    s_t, s_tt, s_e, s_n, s_te, s_tn = sums.take(last, axis=1) - sums.take(first, axis=1)
    spread = count * s_tt - s_t**2
    usable = (count >= 3) & (time[last - 1] - time[first] > LEAST_FILLED * window_s) & (spread > 0.0)
    slope_east = (count * s_te - s_t * s_e)[usable] / spread[usable]
    slope_north = (count * s_tn - s_t * s_n)[usable] / spread[usable]
    return time[usable], slope_east, slope_north


def hodograph_shrinkage(window_s: float, period_s: float, fix_s: float) -> float:
    """Speed found over speed flown in a circle when velocities come from windows.

    Parameters
    ----------
    window_s, period_s, fix_s : float
        Width of the windows, time of one circle, time between positions [s].

    Notes
    -----
    Slope of the least-squares line through ``sin(omega t)`` at the fixes of one window, over omega; towards many fixes
    ``3 (sin x - x cos x) / x^3`` with x half the angle turned in a window.
    """
    reach = max(int(0.5 * window_s / fix_s + 1e-6), 1)
    at = fix_s * np.arange(-reach, reach + 1)
    omega = 2.0 * np.pi / period_s
    return float(np.sum(at * np.sin(omega * at)) / (omega * np.sum(at * at)))


def _held(time: Array, latitude: Array, longitude: Array) -> Mask:
    """Samples in stretches over which the position does not change by a digit for longer than `FROZEN_S`."""
    same = (np.diff(latitude) == 0.0) & (np.diff(longitude) == 0.0)
    held = np.zeros(time.size, dtype=bool)
    for start, end in stretches_of(same).tolist():
        if time[end] - time[start] > FROZEN_S:
            held[start + 1 : end + 1] = True
    return held


def _jumps(time: Array, east: Array, north: Array, good: Mask) -> Mask:
    """Samples on detours: stretches entered by a jump and left by another, beside the longest believable track."""
    rows = np.flatnonzero(good)
    speed = np.hypot(np.diff(east[rows]), np.diff(north[rows])) / np.diff(time[rows])
    moving = speed[speed > 1.0]
    typical = float(np.median(moving)) if moving.size else 0.0
    limit = SPEED_FACTOR * typical + SPEED_MARGIN_M_S
    pieces = np.split(rows, np.flatnonzero(speed > limit) + 1)
    jumped = np.zeros(time.size, dtype=bool)
    longest = max(range(len(pieces)), key=lambda which: len(pieces[which]))
    for order in (pieces[longest + 1 :], pieces[:longest][::-1]):
        last = pieces[longest]
        for piece in order:
            if _apart(time, east, north, last, piece, limit):
                jumped[piece] = True
            else:
                last = piece
    return jumped


def _apart(time: Array, east: Array, north: Array, one: Indices, other: Indices, limit: float) -> bool:
    """Whether no flight leads from one piece of track to the other; a long piece is believed all the same."""
    if time[other[-1]] - time[other[0]] > LONGEST_DETOUR_S:
        return False
    near, far = (one[-1], other[0]) if other[0] > one[-1] else (one[0], other[-1])
    distance = float(np.hypot(east[far] - east[near], north[far] - north[near]))
    return distance > limit * abs(float(time[far] - time[near]))


def _frozen_notice(time: Array, frozen: Mask) -> tuple[Notice, ...]:
    seconds = np.diff(time, append=time[-1])[frozen].sum()
    if seconds < FROZEN_TOLD_S:
        return ()
    message = f"The position is frozen for {seconds:.0f} s of flight, first at {clock(time[frozen][0])}: set aside."
    return (Notice("position-frozen", message),)


def _jump_notice(time: Array, jumped: Mask) -> tuple[Notice, ...]:
    if not jumped.any():
        return ()
    jumps = counted(int(np.count_nonzero(jumped)), "position")
    message = f"{jumps} set aside: beside the track, the first at {clock(time[jumped][0])}."
    return (Notice("position-jump", message),)
