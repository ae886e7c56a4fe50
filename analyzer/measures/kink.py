"""The altimeter's view of a motor stop: where the climb ends, seen through the sensor's lag and the propeller's wash.

When the motor stops, height and climb go on without a step, but the vertical acceleration jumps: the curve of height
has a kink. The altimeter shows it late, and the pressure that the slipstream puts on it goes away at the same moment.
Around the kink (t = 0) height is modelled as

    h(t) = h0 + v0 t + a0 t²/2 + J max(t, 0)²/2 + random walk of the acceleration, outwards in both directions

or, where the model is pushed over faster than the readings tell, with a leap of the speed, L max(t, 0), in addition;
and the reading as the first-order response (time constant tau) to h(t) + delta m(t), with m the slipstream's strength,
1 to 0 at the stop, plus noise. Given tau and the walk's intensity, everything is linear: the height at the kink, the
wash delta and the likelihood follow from one penalised least-squares solution, a smoothing spline with a jump.

Instead of responding late a sensor's readings may arrive late, by a time that is the same for all of them; and the wash
may go away at once, or as the propeller slows down, without the lag that the height itself has. Or it is the motor's
channels that arrive late: the altimeter shows the kink before they show the stop.

References
----------
G. Wahba, *Spline Models for Observational Data*, SIAM 1990, chapter 1 (splines as random walks; from memory).
C.E. Rasmussen, C.K.I. Williams, *Gaussian Processes for Machine Learning*, MIT Press 2006, section 2.7 (marginal
likelihood with fixed basis functions; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from analyzer.arrays import Array, Indices

GRID_S: Final = 0.05
SENSORS_AT_ONCE: Final = 6
"""More take longer to fetch from memory than to compute."""
NO_LEAP_M_S: Final = 1e-6
LEAST_WEIGHT: Final = 1e-9
"""Of a wash that no reading shows, per m²."""
RUN_IN_S: Final = 8.0
"""History before the window that the lag still remembers: more than five times the longest lag."""

Sensor = tuple[float, float]
"""Time constant of the response, and by how much later readings arrive than the motor's channels, in seconds."""

LAGS_S: Final = (0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.36, 0.43, 0.5, 0.6, 0.7, 0.85, 1.0, 1.2, 1.5)
LATENCIES_S: Final = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.75, 0.9, 1.1)
LATE_DRIVES_S: Final = (0.3, 0.6, 0.9, 1.2, 1.5)
LAG_BESIDE_S: Final = 0.43
"""Time constant of the altimeter that is tried beside a late drive: both together are one delay, and this is usual."""


@dataclass(frozen=True, slots=True)
class KinkModel:
    """What is tried at every kink, and how far around it the readings are used.

    Attributes
    ----------
    sensors : tuple of Sensor
        Altimeters; barometers with their filters lie between 0 and about 1 s, telemetry that asks its sensors in turn
        is late by up to as much, be it with the altimeter or with the motor's channels.
    motions : tuple of tuple of float
        Manners of motion, each with the intensity of the acceleration's random walk, m/s² per square root of a second,
        and the spread of the speed's leap, m/s. A quick push-over seen through a lag looks like a slow one seen
        without: only who tries both knows that. Nor does a model that stalls after the stop tell its lag: what no
        tried manner explains, a shorter lag would.
    offsets : tuple of float
        Places of the true stop within the sampling interval around the logged one.
    before_s, after_s : float
        Window of readings.
    near_s : float
        Within this distance of the kink the acceleration may change every quarter of a second, beyond every second.
    settling_s : tuple of float
        Time constants with which the acceleration dies away after the stop, as the pilot or the model itself settles.
    wash_fades : tuple of tuple of (bool, float)
        Ways in which the wash goes away: whether the altimeter shows that as it shows heights, and the time constant of
        the slipstream itself.
    static_m, static_settling_s : float
        Spread of the static port's error from dynamic pressure, in the climb against the glide after it, and the time
        in which the model slows down: a few per cent of 10 m of speed height.
    jump_m_s2, acceleration_m_s2, speed_m_s, height_m : float
        Spread, a priori, of the unknowns: what sailplanes can do, and vague.
    """

    sensors: tuple[Sensor, ...] = (
        *((lag, 0.0) for lag in LAGS_S),
        *((0.0, late) for late in LATENCIES_S),
        *((LAG_BESIDE_S, -late) for late in LATE_DRIVES_S),
    )
    motions: tuple[tuple[float, float], ...] = (
        (0.5, NO_LEAP_M_S),
        (1.5, NO_LEAP_M_S),
        (6.0, NO_LEAP_M_S),
        (0.5, 4.0),
    )
    offsets: tuple[float, ...] = (-0.33, 0.0, 0.33)
    before_s: float = 5.0
    after_s: float = 6.0
    near_s: float = 2.0
    settling_s: tuple[float, ...] = (0.4, 0.8, 1.6)
    wash_fades: tuple[tuple[bool, float], ...] = ((True, 0.0), (False, 0.0), (False, 0.3))
    static_m: float = 0.3
    static_settling_s: float = 1.0
    jump_m_s2: float = 8.0
    acceleration_m_s2: float = 5.0
    speed_m_s: float = 20.0
    height_m: float = 100.0

    @property
    def delays_s(self) -> Array:
        """By how much each sensor shows a steady climb late."""
        return np.array([lag + late for lag, late in self.sensors])

    def without_late_drives(self) -> KinkModel:
        """The same where the motor's channels come in time."""
        return replace(self, sensors=tuple(sensor for sensor in self.sensors if sensor[1] >= 0.0))

    @property
    def late_drives_s(self) -> Array:
        """By how much the motor's channels come late beside each sensor."""
        return np.array([max(-late, 0.0) for _, late in self.sensors])


@dataclass(frozen=True)
class _Responses:
    """Readings of a noiseless altimeter: (sensor, grid point, basis function).

    The last functions are the leap of the speed, the wash as it may go away, and two that are nothing: a fit puts the
    readings themselves in the place of the first, and borders its equations with the kink in that of the second.
    `steps` are the differences from each grid point to the next; `spread` belongs to the first functions, `step_s`, the
    distances between the walk's knots, to those that follow. `walks` are the different intensities, `walk` the index
    of each motion's.
    """

    start_s: float
    tables: Array
    steps: Array
    spread: Array
    step_s: Array
    walks: Array
    walk: Indices


@dataclass(frozen=True)
class KinkFit:
    """Solutions at one kink over (sensor, motion, offset): arrays of that shape, or of that and the wash's fades.

    The log-likelihood as a function of the wash delta is ``level + delta * pull - delta² * weight / 2``; the height at
    the kink is ``height_m - delta * tilt`` with the variance ``variance_m2``. `misfit` is what the best of them leaves
    of the readings: the mean square over the variance that it should have, some 1 or less.
    """

    level: Array
    pull: Array
    weight: Array
    height_m: Array
    tilt: Array
    variance_m2: Array
    misfit: float


@lru_cache(maxsize=8)
def _responses(model: KinkModel) -> _Responses:
    grid = np.arange(-model.before_s - RUN_IN_S, model.after_s + 1.0, GRID_S)
    tables = np.array([_shown(grid, sensor, model) for sensor in model.sensors])
    spread = np.array([model.height_m, model.speed_m_s, model.acceleration_m_s2, model.jump_m_s2])
    spread = np.concatenate((spread, [model.static_m], np.full(len(model.settling_s), model.jump_m_s2)))
    step_s = np.concatenate([np.diff(np.concatenate(([0.0], knots))) for knots in _knots(model)])
    walks, walk = np.unique([walk for walk, _ in model.motions], return_inverse=True)
    return _Responses(float(grid[0]), tables, np.diff(tables, axis=1), spread, step_s, walks, walk)


def _shown(time_s: Array, sensor: Sensor, model: KinkModel) -> Array:
    """What a noiseless altimeter shows of every function: one column each."""
    lag_s, late_s = sensor
    slipstreams = [_fading(time_s - late_s, fade_s) for _, fade_s in model.wash_fades]
    pressure = np.column_stack([_functions(time_s - late_s, model), *slipstreams, np.zeros((time_s.size, 2))])
    shown = lagged(pressure, lag_s, GRID_S) if lag_s > 0.0 else pressure
    for index, (as_height, fade_s) in enumerate(model.wash_fades, start=-2 - len(model.wash_fades)):
        if not as_height:
            shown[:, index] = _fading(time_s, fade_s)
    return shown


def _functions(time_s: Array, model: KinkModel) -> Array:
    """The motion's functions of time, the leap of the speed last: one column each."""
    after = np.maximum(time_s, 0.0)
    columns = [np.ones_like(time_s), time_s, time_s**2 / 2, after**2 / 2, np.exp(-after / model.static_settling_s)]
    columns += [time**2 * np.expm1(-after / time) + time * after for time in model.settling_s]
    for side, knots in zip((-1.0, 1.0), _knots(model), strict=True):
        columns += [np.maximum(side * time_s - knot, 0.0) ** 2 / 2 for knot in knots]
    return np.column_stack([*columns, after])


def _knots(model: KinkModel) -> tuple[Array, Array]:
    """Distances from the kink at which the walk's acceleration changes, before it and after it."""
    near = np.arange(0.25, model.near_s, 0.25)
    before, after = (np.arange(model.near_s, reach, 1.0) for reach in (model.before_s, model.after_s))
    return np.concatenate((near, before)), np.concatenate((near, after))


def _fading(time_s: Array, fade_s: float) -> Array:
    """The slipstream's strength around a stop at 0."""
    after = np.maximum(time_s, 0.0)
    return np.exp(-after / fade_s) if fade_s > 0.0 else (time_s < 0.0).astype(float)


def lagged(values: Array, lag_s: ArrayLike, step_s: float) -> Array:
    """First-order responses, exact for values that run straight between grid points.

    Start in equilibrium with the first value. y' = (x - y) / lag.

    Parameters
    ----------
    values : ndarray, shape (grid point, function)
        What is responded to.
    lag_s : float or array_like
        Time constant, or several.
    step_s : float
        Distance of the grid points.

    Returns
    -------
    ndarray
        Of the shape of the lags, then that of the values.
    """
    with np.errstate(divide="ignore"):
        ratio = step_s / np.asarray(lag_s, dtype=float)[..., None]
    keep = np.exp(-ratio)
    newest = 1.0 - (1.0 - keep) / ratio
    older = 1.0 - keep - newest
    result = np.empty((*np.shape(lag_s), *values.shape))
    result[..., 0, :] = values[0]
    result[..., 1:, :] = older[..., None] * values[:-1] + newest[..., None] * values[1:]
    for index in range(1, len(values)):
        result[..., index, :] += keep * result[..., index - 1, :]
    return result


def fit_kink(
    time_s: Array, reading_m: Array, variance_m2: Array, offset_s: float, strength: float, model: KinkModel
) -> KinkFit:
    """Fit the altimeter's readings around one motor stop for every sensor, motion and offset of a model.

    Parameters
    ----------
    time_s : ndarray, shape (n,)
        Stamps of the altimeter's own readings, 0 at the logged stop.
    reading_m : ndarray, shape (n,)
        Readings.
    variance_m2 : ndarray, shape (n,)
        Variances of their errors.
    offset_s : float
        Sampling interval of the motor's channels around the stop; the true stop is sought within it.
    strength : float
        Slipstream before the stop relative to its strongest, 0 to 1.
    model : KinkModel
        What is tried.
    """
    responses = _responses(model)
    centre, error = float(np.mean(reading_m)), np.sqrt(variance_m2)
    known = np.tile(responses.spread**2, (responses.walks.size, 1))
    prior = np.concatenate((known, responses.walks[:, None] ** 2 * responses.step_s), axis=1)
    leap_m2_s2 = np.array([leap**2 for _, leap in model.motions])
    solved = []
    fades = len(model.wash_fades)
    for first in range(0, len(model.sensors), SENSORS_AT_ONCE):
        sensors = slice(first, first + SENSORS_AT_ONCE)
        design = _sampled(responses, sensors, time_s - offset_s * np.array(model.offsets)[:, None])
        design[..., -2 - fades : -2] *= strength
        design[..., -2] = reading_m - centre
        design /= error[:, None]
        solved.append(_solve(design, prior, responses.walk, leap_m2_s2, fades))
    level, pull, weight, height, tilt, variance, left = (np.concatenate(parts) for parts in zip(*solved, strict=True))
    misfit = float(left.min()) / time_s.size
    return KinkFit(level, pull, weight, height + centre, tilt, variance, misfit)


def _sampled(responses: _Responses, sensors: slice, time_s: Array) -> Array:
    """Responses of some sensors at given times, interpolated on the grid: shape (sensor, *times, function)."""
    place = (time_s - responses.start_s) / GRID_S
    left = np.clip(place.astype(int), 0, responses.steps.shape[1] - 1)
    sampled = responses.steps[sensors].take(left, axis=1)
    sampled *= (place - left)[..., None]
    sampled += responses.tables[sensors].take(left, axis=1)
    return np.asarray(sampled)


def _solve(design: Array, prior: Array, walk: Indices, leap_m2_s2: Array, fades: int) -> tuple[Array, ...]:
    """Solve the equations of every design, (sensor, offset, reading, function): a `KinkFit`'s fields, and what is left.

    The last functions of a design are the leap, the wash as it may fade, the readings, and nothing. With M the
    posterior precision of the motion without a leap, one for each walk, everything follows from r' M^-1 s for r and s
    among the projections of the leap, the washes and the readings, and the height at the kink. They come out of the
    Cholesky factor of M bordered by those vectors: its rows there are (L^-1 r)', L that of M. What the motion leaves of
    them then loses the leap, for each motion's walk (by its index) and leap; the wash remains, of unknown factor.
    Functions that no reading sees, neither the first nor the last, say nothing and are left out.
    """
    border = fades + 3
    seen = design[:, :, (0, -1), :-border].any(axis=(0, 1, 2))
    if not seen.all():
        design, prior = design[..., np.append(seen, np.ones(border, dtype=bool))], prior[:, seen]
    walks, size = prior.shape
    product = (np.swapaxes(design, 2, 3) @ design)[:, None]
    own = np.arange(size)
    added = np.zeros((walks, 1, size + border, size + border))
    added[..., own, own] = (1.0 / prior)[:, None]
    added[..., -1, 0] = 1.0
    # The corner only has to be large enough for the whole to be positive definite: no variance exceeds the prior's.
    added[..., size:, size:] = np.diag((*np.ones(border - 1), 2.0 * prior[0, 0]))
    factor = np.linalg.cholesky(product + added)
    rows = factor[..., size:, :size]
    left = (product[..., size:, size:] - rows @ np.swapaxes(rows, -1, -2))[:, walk]
    leap = left[..., :1, :1] + (1.0 / leap_m2_s2)[:, None, None, None]
    left -= left[..., :, :1] * left[..., :1, :] / leap
    log_determinant = 2.0 * np.log(factor[..., own, own]).sum(axis=-1) + np.log(prior).sum(axis=-1)[:, None]
    log_determinant = log_determinant[:, walk] + np.log(leap[..., 0, 0] * leap_m2_s2[:, None])
    level = -0.5 * (left[..., -2, -2] + log_determinant)
    wash = np.arange(1, fades + 1)
    pull, weight = left[..., wash, -2], left[..., wash, wash]
    unexplained = left[..., -2, -2] - (pull**2 / np.maximum(weight, LEAST_WEIGHT)).max(axis=-1)
    return level, pull, weight, -left[..., -1, -2], -left[..., -1, wash], -left[..., -1, -1], unexplained
