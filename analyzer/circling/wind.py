"""Wind from circles: the ground velocity of a circling aircraft runs round the wind's own velocity."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.errors import NoAnswerError
from analyzer.robust_fit import RobustFit, complete, median_of, robust_least_squares

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import ArrayLike

    from analyzer.arrays import Array


MIN_CIRCLES: Final = 1.0
"""Less than one full circle leaves part of the hodograph unseen: wind and airspeed then trade off."""
MIN_SAMPLES: Final = 8
MOST_ONE_WAY: Final = 0.6
"""Length of the mean direction of flight: 0 for all directions alike, 1 for one direction, 0.64 for a half circle."""
LEG_S: Final = 30.0
"""Errors of one straight leg are alike; a leg lasts about this long."""


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind over one stretch of circling.

    Attributes
    ----------
    speed_m_s, from_deg : float
        Speed and the direction it comes from (true north 0, clockwise).
    speed_se_m_s, from_se_deg : float
        Standard errors.
    airspeed_m_s : float
        Airspeed in the circles [m/s, true], by the same fit; with a logged airspeed, that times `airspeed_scale`.
    airspeed_scale : float or None
        True over logged airspeed, where one is logged.
    residual_m_s : float
        Standard deviation of the speeds that the fit leaves: gusts, changes of airspeed, position noise.
    circles : float
        Full circles that it rests on.
    """

    speed_m_s: float
    speed_se_m_s: float
    from_deg: float
    from_se_deg: float
    airspeed_m_s: float
    airspeed_scale: float | None
    residual_m_s: float
    circles: float

    def with_speeds_over(self, shrinkage: float) -> Wind:
        """The same wind with the airspeed, and its scale, corrected for a hodograph that is too small by a factor."""
        scale = self.airspeed_scale
        return replace(
            self,
            airspeed_m_s=self.airspeed_m_s / shrinkage,
            airspeed_scale=None if scale is None else scale / shrinkage,
        )

    @property
    def east_m_s(self) -> float:
        """East part of the velocity at which the air moves."""
        return -self.speed_m_s * math.sin(math.radians(self.from_deg))

    @property
    def north_m_s(self) -> float:
        """North part of the velocity at which the air moves."""
        return -self.speed_m_s * math.cos(math.radians(self.from_deg))


def wind_from_circles(
    time_s: ArrayLike,
    velocity_east_m_s: ArrayLike,
    velocity_north_m_s: ArrayLike,
    airspeed_m_s: ArrayLike | None = None,
) -> Wind:
    """Wind, and the airspeed flown, from ground velocities while circling.

    Parameters
    ----------
    time_s : array_like, shape (n,)
        Increasing [s].
    velocity_east_m_s, velocity_north_m_s : array_like, shape (n,)
        Ground velocity; samples with NaN are left out.
    airspeed_m_s : array_like, shape (n,), optional
        Logged airspeed; its scale is fitted too, so that indicated airspeed does.

    Raises
    ------
    NoAnswerError
        When the samples hold too few circles, or the airspeed reads nought.

    Notes
    -----
    Least squares of ``|v_i - w| - s V_i`` over wind ``w`` and scale ``s``; without logged airspeed ``V_i = 1`` and
    ``s`` is the airspeed: a circle through the hodograph. Started from the algebraic fit (I. Kåsa, *IEEE Trans.
    Instrum. Meas.* 25, 1976, 8-14). Shifting the circles to centre the lift moves the track but not the hodograph, so
    that this is the wind where the drift of the circles is the wind and the pilot. Valid for a wind that is steady
    over the stretch and an airspeed that does not depend on the heading.
    """
    logged = [] if airspeed_m_s is None else [airspeed_m_s]
    time, east, north, *air = _usable(time_s, velocity_east_m_s, velocity_north_m_s, *logged)
    start = _algebraic_circle(east, north)
    circles = _turns(east - start[0], north - start[1])
    _refuse_few(circles)
    airspeed = air[0] if air else None
    fit = _hodograph_fit(time, np.stack([east, north]), airspeed, start, (time[-1] - time[0]) / circles)
    return _as_wind(fit, _turns(east - fit.values[0], north - fit.values[1]), airspeed)


def rough_wind_m_s(velocity_east_m_s: Array, velocity_north_m_s: Array) -> tuple[float, float]:
    """Centre of the hodograph (east, north) by the algebraic fit alone: enough to tell the turns through the air.

    Raises
    ------
    NoAnswerError
        When there are fewer than `MIN_SAMPLES` velocities.
    """
    return _algebraic_circle(*_usable(velocity_east_m_s, velocity_north_m_s))[:2]


def wind_from_legs(
    time_s: ArrayLike, velocity_east_m_s: ArrayLike, velocity_north_m_s: ArrayLike, airspeed_m_s: ArrayLike
) -> Wind:
    """Wind from glides in many directions with a logged airspeed, where nothing was circled.

    Parameters
    ----------
    time_s, velocity_east_m_s, velocity_north_m_s, airspeed_m_s : array_like, shape (n,)
        As for `wind_from_circles`, over all glides of a flight; about one sample a second is enough.

    Raises
    ------
    NoAnswerError
        When the airspeed reads nought, or the glides went too much the same way: the mean of the unit vectors of
        flight is longer than `MOST_ONE_WAY`.
    """
    time, east, north, air = _usable(time_s, velocity_east_m_s, velocity_north_m_s, airspeed_m_s)
    fit = _hodograph_fit(time, np.stack([east, north]), air, _algebraic_circle(east, north), LEG_S)
    through_air = np.stack([east - fit.values[0], north - fit.values[1]])
    one_way = float(np.hypot(*np.mean(through_air / np.maximum(np.hypot(*through_air), 1e-9), axis=1)))
    if one_way > MOST_ONE_WAY:
        raise NoAnswerError("the glides went too much the same way to tell the wind")
    return _as_wind(fit, _turns(*through_air), air)


def mean_wind(winds: Sequence[Wind]) -> Wind | None:
    """Mean of several winds, each weighted by its circles; None of none.

    The standard errors are those of independent estimates; how much the wind itself changed is not in them.
    """
    if not winds:
        return None
    weights = np.array([wind.circles for wind in winds])
    share = weights / weights.sum()
    east = float(share @ [wind.east_m_s for wind in winds])
    north = float(share @ [wind.north_m_s for wind in winds])
    speed = math.hypot(east, north)
    speed_se = float(np.sqrt(np.sum((share * [wind.speed_se_m_s for wind in winds]) ** 2)))
    across = [wind.speed_m_s * math.tan(math.radians(min(wind.from_se_deg, 80.0))) for wind in winds]
    scaled = np.array([(wind.airspeed_scale, wind.circles) for wind in winds if wind.airspeed_scale is not None])
    return Wind(
        speed_m_s=speed,
        speed_se_m_s=speed_se,
        from_deg=math.degrees(math.atan2(-east, -north)) % 360.0,
        from_se_deg=math.degrees(math.atan2(float(np.sqrt(np.sum((share * across) ** 2))), speed)),
        airspeed_m_s=float(share @ [wind.airspeed_m_s for wind in winds]),
        airspeed_scale=float(np.average(scaled[:, 0], weights=scaled[:, 1])) if scaled.size else None,
        residual_m_s=float(share @ [wind.residual_m_s for wind in winds]),
        circles=float(weights.sum()),
    )


def wind_from_speed_and_heading(time_s: ArrayLike, ground_speed_m_s: ArrayLike, heading_deg: ArrayLike) -> Wind:
    """Wind from ground speed and compass heading (not the track) while circling.

    Parameters
    ----------
    time_s, ground_speed_m_s, heading_deg : array_like, shape (n,)
        Samples over at least one full circle; NaN is left out.

    Raises
    ------
    NoAnswerError
        When the samples hold too few circles.

    Notes
    -----
    ``g^2 = V^2 + w^2 + 2 V (w_e sin(psi) + w_n cos(psi))`` is linear in its three unknowns; the larger root is the
    airspeed, so it is valid while the wind is slower than the aircraft.
    """
    time, speed, heading = _usable(time_s, ground_speed_m_s, heading_deg)
    angle = np.unwrap(np.radians(heading))
    circles = abs(float(angle[-1] - angle[0])) / (2.0 * math.pi)
    _refuse_few(circles)
    heading_vectors = np.stack([np.sin(angle), np.cos(angle)])
    start = _algebraic_speeds(speed, heading_vectors)

    def model(parameters: Array) -> tuple[Array, Array]:
        ground = parameters[:2, None] + parameters[2] * heading_vectors
        expected = np.maximum(np.hypot(*ground), 1e-9)
        along = np.sum(ground * heading_vectors, axis=0)
        return speed - expected, -np.column_stack([ground[0], ground[1], along]) / expected[:, None]

    fit = _solved(model, start, time, float(time[-1] - time[0]) / circles)
    return _as_wind(fit, circles)


def _usable(*columns: ArrayLike) -> Array:
    """Only the samples that have every value, or an error when they are hardly any."""
    table = complete(*columns)
    if table.shape[1] < MIN_SAMPLES:
        raise NoAnswerError(f"{table.shape[1]} samples are too few for the wind")
    return table


def _refuse_few(circles: float) -> None:
    if circles < MIN_CIRCLES:
        raise NoAnswerError(f"{circles:.1f} circles are too few for the wind; it takes {MIN_CIRCLES:g}")


def _turns(east: Array, north: Array) -> float:
    """Full turns of a vector, as many as its direction really goes round."""
    across = east[1:] * north[:-1] - north[1:] * east[:-1]
    along = east[1:] * east[:-1] + north[1:] * north[:-1]
    return abs(float(np.arctan2(across, along).sum())) / (2.0 * math.pi)


def _algebraic_circle(east: Array, north: Array) -> tuple[float, float, float]:
    """Centre and radius of the circle that minimises the algebraic distance, without velocities from position jumps.

    Of velocities v about their mean: ``sum(v v') c = sum(v |v|^2) / 2`` and ``R^2 = |c|^2 + mean(|v|^2)``.
    """
    away = np.hypot(east - median_of(east), north - median_of(north))
    kept = away <= 3.0 * median_of(away)
    velocity = np.stack([east[kept], north[kept]])
    middle = velocity.mean(axis=1)
    about = velocity - middle[:, None]
    squares = np.sum(about**2, axis=0)
    try:
        off = np.linalg.solve(about @ about.T, 0.5 * (about @ squares))
    except np.linalg.LinAlgError as error:
        raise NoAnswerError("velocities along one line do not determine the wind") from error
    centre_east, centre_north = (middle + off).tolist()
    return centre_east, centre_north, math.sqrt(float(off @ off) + float(squares.mean()))


def _algebraic_speeds(speed: Array, heading_vectors: Array) -> tuple[float, float, float]:
    """Wind east, north and airspeed from the linear equation of the squared ground speed."""
    design = np.column_stack([2.0 * heading_vectors.T, np.ones_like(speed)])
    east, north, constant = np.linalg.lstsq(design, speed**2, rcond=None)[0]
    root = math.sqrt(max(constant**2 - 4.0 * (east**2 + north**2), 0.0))
    airspeed = math.sqrt(max(0.5 * (constant + root), 1e-12))
    return float(east / airspeed), float(north / airspeed), airspeed


def _hodograph_fit(
    time: Array, velocity: Array, airspeed: Array | None, circle: tuple[float, float, float], period_s: float
) -> RobustFit:
    """Wind, and the scale of the airspeed, or where none is logged the airspeed; started from a circle."""
    speed = np.ones_like(time) if airspeed is None else airspeed
    usual = float(np.mean(speed))
    if usual <= 0.0:
        raise NoAnswerError("the airspeed reads nought")

    def model(parameters: Array) -> tuple[Array, Array]:
        through_air = velocity - parameters[:2, None]
        distance = np.maximum(np.hypot(*through_air), 1e-9)
        jacobian = -np.concatenate([through_air / distance, speed[None]])
        return distance - parameters[2] * speed, jacobian.T

    return _solved(model, (*circle[:2], circle[2] / usual), time, period_s)


def _solved(
    model: Callable[[Array], tuple[Array, Array]], start: tuple[float, float, float], time: Array, period_s: float
) -> RobustFit:
    """Fit; residuals are taken as correlated over one circle, the time over which heading and gusts repeat."""
    try:
        return robust_least_squares(model, start, time, correlation_s=period_s)
    except np.linalg.LinAlgError as error:
        raise NoAnswerError("the circles do not determine the wind") from error


def _as_wind(fit: RobustFit, circles: float, logged_airspeed: Array | None = None) -> Wind:
    east, north, scale = (float(value) for value in fit.values)
    speed = math.hypot(east, north)
    along = np.array([east, north]) / speed if speed > 0.0 else np.array([1.0, 0.0])
    across = np.array([-along[1], along[0]])
    covariance = fit.covariance[:2, :2]
    across_se = math.sqrt(max(float(across @ covariance @ across), 0.0))
    return Wind(
        speed_m_s=speed,
        speed_se_m_s=math.sqrt(max(float(along @ covariance @ along), 0.0)),
        from_deg=math.degrees(math.atan2(-east, -north)) % 360.0,
        from_se_deg=math.degrees(math.atan2(across_se, speed)),
        airspeed_m_s=abs(scale) if logged_airspeed is None else abs(scale) * float(np.mean(logged_airspeed)),
        airspeed_scale=None if logged_airspeed is None else abs(scale),
        residual_m_s=fit.scale,
        circles=circles,
    )
