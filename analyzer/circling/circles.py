"""Circling: direction, period, radius, centre and drift, from heading, track, or the beat of the climb itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from analyzer.errors import NoAnswerError
from analyzer.robust_fit import complete, median_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array


Direction = Literal["left", "right"]

SHORTEST_PERIOD_S: Final = 4.0
"""A model at 8 m/s and 60 degrees of bank circles in 3.0 s; nobody holds that in lift."""
LONGEST_PERIOD_S: Final = 45.0
"""A full-size sailplane at 30 m/s and 24 degrees of bank; anything slower is no thermal circle."""
MIN_CIRCLES: Final = 1.0
MIN_BEATS: Final = 2.0
"""Fewer repetitions than this cannot be told from a single swing."""
FEWEST_BEAT_SAMPLES: Final = 8
"""Four a repetition: fewer show no peak of the autocorrelation."""
MIN_BEAT_CORRELATION: Final = 0.2
BEAT_SIGNIFICANCE: Final = 1.2
"""The autocorrelation peak must exceed this over the root of the number of repetitions: on 3000 stretches of gust-like
noise without any beat (correlation times 0.5 to 30 s) fewer than 1 % did."""
MAX_HEADING_STEP_DEG: Final = 120.0
"""A larger step between samples cannot be told left from right with any certainty."""
MOST_LARGE_STEPS: Final = 0.1
"""Share of such steps up to which they are taken for disturbances."""


@dataclass(frozen=True, slots=True)
class Turning:
    """How fast, which way and how often an aircraft went round.

    Attributes
    ----------
    period_s : float
        Time for one full circle.
    circles : float
        Full circles: the whole turn over 360 degrees, or beats of the climb.
    direction : {"left", "right"} or None
        None where only the beat of the climb shows the circling.
    source : {"heading", "track", "climb"}
        What showed it.
    """

    period_s: float
    circles: float
    direction: Direction | None
    source: Literal["heading", "track", "climb"]


@dataclass(frozen=True, slots=True)
class Circle:
    """The circles of one climb as one circle that drifts.

    Attributes
    ----------
    radius_m : float
        Mean radius over the air.
    direction : {"left", "right"}
        Which way round.
    centre_east_m, centre_north_m : float
        Centre at the middle of the time span.
    drift_east_m_s, drift_north_m_s : float
        Velocity of the centre over the ground: the wind, and the pilot's re-centring.
    """

    radius_m: float
    direction: Direction
    centre_east_m: float
    centre_north_m: float
    drift_east_m_s: float
    drift_north_m_s: float

    @property
    def drift_m_s(self) -> float:
        """Speed of the drift."""
        return math.hypot(self.drift_east_m_s, self.drift_north_m_s)

    @property
    def drift_from_deg(self) -> float:
        """Direction that the drift comes from, as a wind is named."""
        return math.degrees(math.atan2(-self.drift_east_m_s, -self.drift_north_m_s)) % 360.0


def turning_from_heading(
    time_s: ArrayLike, heading_deg: ArrayLike, source: Literal["heading", "track"] = "heading"
) -> Turning:
    """Period and direction from a heading, or from a track through the air.

    Parameters
    ----------
    time_s, heading_deg : array_like, shape (n,)
        Samples, NaN left out; the heading may wrap at 360 [s, deg].
    source : {"heading", "track"}
        What the angle is; only passed on.

    Raises
    ------
    NoAnswerError
        With less than one full circle, or samples too far apart to follow the heading.

    Notes
    -----
    The period is the median of the times that the next 360 degrees take, over all samples that a full circle follows:
    a straight entry or one shifted circle does not count in full. A track over the ground will do while the wind is
    slower than the aircraft.
    """
    time, heading = complete(time_s, heading_deg)
    if time.size < 4:
        raise NoAnswerError("too few heading samples to see a circle")
    steps = (np.diff(heading) + 180.0) % 360.0 - 180.0
    if np.count_nonzero(np.abs(steps) > MAX_HEADING_STEP_DEG) > MOST_LARGE_STEPS * steps.size:
        raise NoAnswerError("the heading is sampled too rarely to see which way the circles go")
    turned = float(np.sum(steps))
    circles = abs(turned) / 360.0
    if circles < MIN_CIRCLES:
        raise NoAnswerError(f"{circles:.1f} circles are too few for a period")
    forward = np.maximum.accumulate(math.copysign(1.0, turned) * np.concatenate([[0.0], np.cumsum(steps)]))
    followed = forward <= forward[-1] - 360.0
    period_s = median_of(np.interp(forward[followed] + 360.0, forward, time) - time[followed])
    return Turning(period_s, circles, "right" if turned > 0.0 else "left", source)


def turning_from_climb(time_s: ArrayLike, climb_m_s: ArrayLike) -> Turning:
    """Period from the beat of the climb, where neither heading nor position is logged.

    Parameters
    ----------
    time_s, climb_m_s : array_like, shape (n,)
        Vertical speed over one climb, NaN left out [s, m/s].

    Raises
    ------
    NoAnswerError
        When no beat stands out from the gusts: too short, or circles well centred in round lift.

    Notes
    -----
    The aircraft meets the stronger side of the lift once a circle. The period is the lag of the highest peak of the
    autocorrelation (trend removed, unbiased, after its first zero) between `SHORTEST_PERIOD_S` and `LONGEST_PERIOD_S`,
    sharpened by a parabola. Autocorrelation keeps the beat where its phase wanders from circle to circle, which a
    Fourier line does not.
    """
    time, climb = complete(time_s, climb_m_s)
    if time.size < 2 or time[-1] - time[0] < MIN_BEATS * SHORTEST_PERIOD_S:
        raise NoAnswerError("the climb is too short to show circles")
    step_s = max(float(np.median(np.diff(time))), 0.1)
    grid = np.arange(time[0], time[-1], step_s)
    if grid.size < FEWEST_BEAT_SAMPLES:
        raise NoAnswerError("the climb is sampled too rarely to show circles")
    correlation = _autocorrelation(np.interp(grid, time, climb), grid)
    duration_s = float(grid[-1] - grid[0])
    lag = _highest_beat(correlation, step_s, min(LONGEST_PERIOD_S, duration_s / MIN_BEATS))
    if lag is None:
        raise NoAnswerError("the climb shows no beat at a circling period")
    beats = duration_s / (lag * step_s)
    if correlation[round(lag)] < max(MIN_BEAT_CORRELATION, BEAT_SIGNIFICANCE / math.sqrt(beats)):
        raise NoAnswerError("the beat of the climb does not stand out from the gusts")
    return Turning(lag * step_s, beats, None, "climb")


def _autocorrelation(values: Array, grid: Array) -> Array:
    """Unbiased autocorrelation after removal of a parabola, 1 at lag zero."""
    centred = grid - grid.mean()
    residual = values - np.polyval(np.polyfit(centred, values, 2), centred)
    count = residual.size
    spectrum = np.fft.rfft(residual, 2 * count)
    correlation = np.fft.irfft(spectrum * np.conj(spectrum))[:count] / np.arange(count, 0, -1)
    return np.asarray(correlation / correlation[0]) if correlation[0] > 0.0 else np.zeros(count)


def _highest_beat(correlation: Array, step_s: float, longest_s: float) -> float | None:
    """Lag, in steps, of the highest inner peak after the first zero; None where there is none."""
    below = np.flatnonzero(correlation < 0.0)
    low = max(int(below[0]) if below.size else correlation.size, math.ceil(SHORTEST_PERIOD_S / step_s))
    high = min(int(longest_s / step_s), correlation.size - 1)
    if high - low < 2:
        return None
    peak = low + int(np.argmax(correlation[low : high + 1]))
    if peak in (low, high):
        return None
    before, at, after = correlation[peak - 1 : peak + 2]
    bend = before - 2.0 * at + after
    return peak + (0.5 * float(before - after) / float(bend) if bend < 0.0 else 0.0)


def air_track_deg(velocity_east_m_s: ArrayLike, velocity_north_m_s: ArrayLike, wind_m_s: tuple[float, float]) -> Array:
    """Direction of flight through the air [deg] from ground velocity and the wind (east, north) [m/s]."""
    east = np.asarray(velocity_east_m_s, dtype=float) - wind_m_s[0]
    north = np.asarray(velocity_north_m_s, dtype=float) - wind_m_s[1]
    return np.asarray(np.degrees(np.arctan2(east, north)) % 360.0)


def fit_drifting_circle(time_s: ArrayLike, east_m: ArrayLike, north_m: ArrayLike, air_track: ArrayLike) -> Circle:
    """Fit one drifting circle to the track of a climb.

    Parameters
    ----------
    time_s, east_m, north_m, air_track : array_like, shape (n,)
        Samples: time [s], position over the ground [m], direction of flight through the air [deg].

    Raises
    ------
    NoAnswerError
        When there are fewer than six samples or they do not go round.

    Notes
    -----
    With the direction of flight known, ``p(t) = c + d (t - t_mid) + R left(t)``, ``left`` the unit vector to the left
    of the flight, is linear in centre, drift and radius: ordinary least squares. ``R`` comes out positive when the
    centre lies to the right.
    """
    time, east, north, track = complete(time_s, east_m, north_m, air_track)
    if time.size < 6:
        raise NoAnswerError("too few positions to fit a circle")
    angle = np.radians(track)
    since = time - 0.5 * (time[0] + time[-1])
    zero, one = np.zeros_like(since), np.ones_like(since)
    design = np.concatenate(
        [
            np.column_stack([one, zero, since, zero, -np.cos(angle)]),
            np.column_stack([zero, one, zero, since, np.sin(angle)]),
        ]
    )
    solution, _, rank, _ = np.linalg.lstsq(design, np.concatenate([east, north]), rcond=1e-9)
    if rank < solution.size:
        raise NoAnswerError("the track does not go round")
    *centre_and_drift, radius = solution.tolist()
    return Circle(abs(radius), "right" if radius > 0.0 else "left", *centre_and_drift)
