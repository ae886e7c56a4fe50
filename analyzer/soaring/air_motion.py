"""How fast the aircraft moved through the air, and what its total energy did: the base of polar, netto and search."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.position import Track, ground_velocity_m_s
from analyzer.constants import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.arrays import Array, Mask
    from analyzer.circling.wind import Wind
    from analyzer.soaring.glide_stretches import Stretch
    from analyzer.soaring.records import AirspeedSource


VELOCITY_WINDOW_S: Final = 2.5
"""Width over which ground velocity is taken from positions: half a second of position noise is 0.5 m/s over it."""
MOST_LOAD: Final = 4.0
"""A load factor above this is a glitch of heading or position: no glide is flown like that for a second or more."""


@dataclass(frozen=True)
class AirMotion:
    """Motion through the air on the log's own stamps.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        As in the log.
    airspeed_m_s : ndarray, shape (n,)
        True airspeed; NaN where it is not known.
    load_factor : ndarray, shape (n,)
        From the turn rate through the air; 1 where it is not known.
    energy_climb_m_s : ndarray, shape (n,)
        Rate of total energy height where the airspeed is known, else the vertical speed.
    source : str
        Where the airspeed comes from.
    """

    time_s: Array
    airspeed_m_s: Array
    load_factor: Array
    energy_climb_m_s: Array
    source: AirspeedSource

    def inside(self, stretch: Stretch) -> Mask:
        """Which samples lie in a stretch, its ends included."""
        return (self.time_s >= stretch.start_s) & (self.time_s <= stretch.end_s)


def air_motion(
    time_s: Array, channels: Mapping[str, Array], track: Track | None = None, wind: Wind | None = None
) -> AirMotion:
    """Motion through the air from the best that the log has.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        The log's time [s].
    channels : mapping of str to ndarray
        Conditioned channels: `climb_m_s`, and where logged `airspeed_m_s`, `energy_climb_m_s`, `heading_deg`.
    track : Track, optional
        Believable positions.
    wind : Wind, optional
        Of the flight, from its circles.

    Notes
    -----
    With logged airspeed, taken as true, total energy is the conditioned energy height. Without, but with positions and
    a wind, airspeed is ground velocity less wind. With neither, energy is height alone, and zooms must be recognised by
    their shape (`analyzer.soaring.zooms`).
    """
    over_air = _through_air(time_s, track, wind) if track is not None and wind is not None else None
    climb = channels["climb_m_s"]
    if "energy_climb_m_s" in channels:  # conditioning derives it where the airspeed works
        logged = channels["airspeed_m_s"]
        rate = _turn_rate_rad_s(time_s, over_air, channels.get("heading_deg"))
        return AirMotion(time_s, logged, _load(logged, rate), channels["energy_climb_m_s"], "airspeed")
    if over_air is not None:
        speed = np.hypot(*over_air)
        energy = climb + np.gradient(speed**2 / (2.0 * STANDARD_GRAVITY_M_S2), time_s)
        load = _load(speed, _turn_rate_rad_s(time_s, over_air, None))
        return AirMotion(time_s, speed, load, energy, "ground speed and wind")
    unknown = np.full(time_s.size, np.nan)
    return AirMotion(time_s, unknown, np.ones(time_s.size), climb, "none")


def _through_air(time_s: Array, track: Track, wind: Wind) -> Array | None:
    """Velocity through the air, rows east and north, at the log's stamps; NaN away from positions."""
    at, east, north = ground_velocity_m_s(track, float(time_s[0]), float(time_s[-1]), VELOCITY_WINDOW_S)
    if at.size < 2:
        return None
    after = np.searchsorted(at, time_s).clip(1, at.size - 1)
    near = np.minimum(np.abs(time_s - at[after]), np.abs(time_s - at[after - 1])) <= VELOCITY_WINDOW_S
    rows = [np.interp(time_s, at, column) - blow for column, blow in ((east, wind.east_m_s), (north, wind.north_m_s))]
    return np.where(near, np.stack(rows), np.nan)


def _turn_rate_rad_s(time_s: Array, over_air: Array | None, heading_deg: Array | None) -> Array | None:
    """Rate of turn from the direction through the air, else from the heading."""
    if over_air is not None:
        angle = np.arctan2(over_air[0], over_air[1])
    elif heading_deg is not None:
        angle = np.radians(heading_deg)
    else:
        return None
    known = np.isfinite(angle)
    if np.count_nonzero(known) < 3:
        return None
    rate = np.full(time_s.size, np.nan)
    rate[known] = np.gradient(np.unwrap(angle[known]), time_s[known])
    return rate


def _load(speed_m_s: Array, turn_rate_rad_s: Array | None) -> Array:
    """Load factor of a level turn, ``sqrt(1 + (V omega / g)^2)``."""
    if turn_rate_rad_s is None:
        return np.ones(speed_m_s.size)
    load = np.sqrt(1.0 + (speed_m_s * turn_rate_rad_s / STANDARD_GRAVITY_M_S2) ** 2)
    return np.where(load <= MOST_LOAD, load, 1.0)
