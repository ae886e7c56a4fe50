"""The model's motion on an even grid: what ground, launches and climbs are told from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.position import metres_per_degree
from analyzer.conditioning.sampling import pieces

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.records import Log
    from analyzer.segmentation.tuning import LiftTuning

    Track = tuple[Array, Array]

GRID_S: Final = 0.25
"""Spacing of the grid: a barometer shows nothing faster."""

_CLEARLY_UP_M: Final = 15.0
_WALKING_M_S: Final = 4.0
_NEITHER: Final = 0.5
"""A share of the usual speed that speaks neither for flying nor for standing: where the sensor is silent."""

_ROUGH_S: Final = 3.0
_SILENCE_S: Final = 5.0
_TRACK_S: Final = 2.0
"""Positions are averaged over this, and their speed taken over twice as long: less shows their noise, and turns the
track about."""


@dataclass(frozen=True)
class Motion:
    """Smoothed motion on a grid of `GRID_S`, silences bridged; arrays of one length.

    Attributes
    ----------
    time_s, height_m, height_se_m, climb_m_s, climb_se_m_s : numpy.ndarray
        As conditioned.
    energy_m, energy_climb_m_s : numpy.ndarray
        Total energy height and its rate where airspeed is logged, else height and vertical speed.
    total_energy : bool
        Whether they hold the kinetic energy.
    speed_share : numpy.ndarray
        Airspeed over its median in flight; else speed over ground, logged or from positions, over 4 m/s; else 0. One
        half, which means nothing, where the sensor is silent.
    silent : numpy.ndarray of bool
        Where no height was logged for long: what is there was bridged.
    course_deg : numpy.ndarray, optional
        Direction of flight from heading or track, unwrapped: a full circle adds or takes 360.
    airspeed_share : numpy.ndarray, optional
        Airspeed over its median in flight; None where it is not logged, or never showed a flight.
    """

    time_s: Array
    height_m: Array
    height_se_m: Array
    climb_m_s: Array
    climb_se_m_s: Array
    energy_m: Array
    energy_climb_m_s: Array
    total_energy: bool
    speed_share: Array
    silent: Mask
    course_deg: Array | None = None
    airspeed_share: Array | None = None

    def height_at(self, time_s: float) -> float:
        """Height at any time, in metres."""
        return float(np.interp(time_s, self.time_s, self.height_m))

    def heard_again(self) -> list[float]:
        """When heights begin, and when they go on after each silence."""
        over = np.flatnonzero(self.silent[:-1] & ~self.silent[1:]) + 1
        return [float(self.time_s[0]), *self.time_s[over].tolist()]

    def climbs(self, start_s: float, end_s: float, climb_m_s: float) -> bool:
        """Whether the model climbs from one instant to another at a rate of more than that, on the mean."""
        return self.height_at(end_s) - self.height_at(start_s) > climb_m_s * (end_s - start_s)

    def window(self, start_s: float, end_s: float) -> slice:
        """Indices of the grid points from start to end; at least one."""
        first, last = np.searchsorted(self.time_s, [start_s, end_s])
        first = min(int(first), len(self.time_s) - 1)
        return slice(first, max(int(last), first + 1))


def motion_of(log: Log, tuning: LiftTuning) -> Motion:
    """The motion of a conditioned log.

    Energy height is used only if it says more than height: a good airspeed takes the trades of speed for height out of
    it and leaves it smoother; a bad one puts its own errors in.
    """
    grid = _Grid(log)
    height, climb = grid.bridged("height_m"), grid.bridged("climb_m_s")
    total = log.has("energy_height_m")
    energy = grid.bridged("energy_height_m") if total else height
    smooth = max(tuning.rougher_energy * _bend(height, height), tuning.smooth_energy_m)
    total = total and _bend(energy, height) <= smooth
    track = _track(log, grid)
    share, flown = _speed_shares(log, grid, height, track)
    return Motion(
        time_s=grid.time_s,
        height_m=height,
        height_se_m=grid.bridged("height_se_m"),
        climb_m_s=climb,
        climb_se_m_s=grid.bridged("climb_se_m_s"),
        energy_m=energy if total else height,
        energy_climb_m_s=grid.bridged("energy_climb_m_s") if total else climb,
        total_energy=total,
        speed_share=share,
        silent=grid.silent("height_m"),
        course_deg=_course(log, grid, track),
        airspeed_share=flown,
    )


class _Grid:
    """An even grid over a log's stamps: where it lies between them is the same for every channel without silences."""

    def __init__(self, log: Log) -> None:
        self._frame = log.frame
        self._stamps = stamps = self.values("time_s")
        self.time_s = np.arange(stamps[0], stamps[-1] + GRID_S, GRID_S)
        place = np.interp(self.time_s, stamps, np.arange(len(stamps), dtype=float))
        self._row = np.minimum(place.astype(np.intp), max(len(stamps) - 2, 0))
        self._share = place - self._row

    def values(self, column: str) -> Array:
        """A channel as it is logged."""
        return self._frame[column].to_numpy(dtype=float)

    def bridged(self, column: str) -> Array:
        """A channel on the grid, straight across its silences."""
        values = self.values(column)
        there = np.isfinite(values)
        if not there.all() or len(values) < 2:
            return np.asarray(np.interp(self.time_s, self._stamps[there], values[there]), dtype=float)
        before = values[self._row]
        return np.asarray(before + self._share * (values[self._row + 1] - before), dtype=float)

    def unwrapped(self, column: str) -> Array:
        """Degrees on the grid, a full circle adding or taking 360."""
        values = self.values(column)
        there = np.isfinite(values)
        turned = np.unwrap(values[there], period=360.0)
        return np.asarray(np.interp(self.time_s, self._stamps[there], turned), dtype=float)

    def heard(self, column: str) -> Array:
        """A channel on the grid, NaN in its silences."""
        there = np.isfinite(self.values(column))
        after = np.minimum(self._row + 1, len(there) - 1)
        bridged = self.bridged(column)
        return bridged if there.all() else np.where(there[self._row] & there[after], bridged, np.nan)

    def silent(self, column: str) -> Mask:
        """Whether a grid point lies between two values that are far apart in time."""
        known = np.isfinite(self.values(column))
        known_s = self._stamps if known.all() else self._stamps[known]
        last = np.flatnonzero(np.diff(known_s) > _SILENCE_S)
        begun, over = np.searchsorted(known_s[last], self.time_s), np.searchsorted(known_s[last + 1], self.time_s)
        return np.asarray(begun > over)


def _bend(values: Array, height: Array) -> float:
    """How rough a series is in flight: median bend over 3 s, which gusts and trades of speed for height make."""
    lag = round(_ROUGH_S / GRID_S)
    if len(values) <= 2 * lag:
        return 0.0
    values, height = pieces(values), pieces(height)
    bend = np.abs(values[2 * lag :] - 2 * values[lag:-lag] + values[: -2 * lag])
    up = height[lag:-lag] > _CLEARLY_UP_M
    return float(np.median(bend[up])) if up.any() else 0.0


def _speed_shares(log: Log, grid: _Grid, height_m: Array, track: Track | None) -> tuple[Array, Array | None]:
    """A motion's `speed_share` and `airspeed_share`."""
    if log.has("airspeed_m_s"):
        speed = grid.heard("airspeed_m_s")
        up = (height_m > _CLEARLY_UP_M) & np.isfinite(speed)
        usual = float(np.median(speed[up])) if up.any() else np.inf
        share = np.nan_to_num(speed / max(usual, 1.0), nan=_NEITHER)
        return share, share if _WALKING_M_S < usual < np.inf else None
    if log.has("ground_speed_m_s"):
        speed = grid.heard("ground_speed_m_s")
        return np.nan_to_num(speed / _WALKING_M_S, nan=_NEITHER), None
    return np.zeros(len(height_m)) if track is None else _track_speed(track) / _WALKING_M_S, None


def _course(log: Log, grid: _Grid, track: Track | None) -> Array | None:
    """Unwrapped direction of flight; None where neither heading nor position is logged."""
    if log.has("heading_deg"):
        return grid.unwrapped("heading_deg")
    if track is None:
        return None
    north, east = track
    return np.asarray(np.unwrap(np.degrees(np.arctan2(np.gradient(east), np.gradient(north))), period=360.0))


def _track(log: Log, grid: _Grid) -> Track | None:
    """Metres to the north and east on a plane, averaged over 2 s; None where no position is logged."""
    if not (log.has("latitude_deg") and log.has("longitude_deg")):
        return None
    latitude, longitude = grid.bridged("latitude_deg"), grid.bridged("longitude_deg")
    per_east_m, per_north_m = metres_per_degree(float(np.median(latitude)))
    return per_north_m * sliding_mean(latitude, _TRACK_S), per_east_m * sliding_mean(longitude, _TRACK_S)


def _track_speed(track: Track) -> Array:
    """Speed over ground in m/s from the way made in 4 s: a receiver at rest wanders by less than a walker."""
    half = min(round(_TRACK_S / GRID_S), max(len(track[0]) - 1, 1) // 2)
    if half == 0:
        return np.zeros(len(track[0]))
    way = np.hypot(*(values[2 * half :] - values[: -2 * half] for values in track))
    return np.asarray(np.pad(way / (2 * half * GRID_S), half, mode="edge"), dtype=float)


def sliding_mean(values: Array, width_s: float | Array) -> Array:
    """Moving mean on the grid over a time, or one for each point, continued point-symmetrically at both ends."""
    half = np.minimum(np.round(np.asarray(width_s) / GRID_S / 2).astype(np.intp), len(values) - 1)
    pad = int(half.max())
    before, after = 2 * values[0] - values[pad:0:-1], 2 * values[-1] - values[-2 : -pad - 2 : -1]
    total = np.cumsum(np.concatenate(([0.0], before, values, after)))
    if half.ndim == 0:  # slices are quicker than places
        return np.asarray((total[2 * pad + 1 :] - total[: len(values)]) / (2 * pad + 1), dtype=float)
    middle = np.arange(len(values)) + pad
    return np.asarray((total[middle + half + 1] - total[middle - half]) / (2 * half + 1), dtype=float)
