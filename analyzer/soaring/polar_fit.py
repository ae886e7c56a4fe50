"""The polar of the aircraft as flown, from the energy that its glides lose, with a confidence band."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import NORMAL_95
from analyzer.errors import NoAnswerError
from analyzer.robust_fit import RobustFit, complete, robust_least_squares
from analyzer.soaring.polar import Polar

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array


BLOCK_S: Final = 10.0
"""Long enough that a phugoid (about 0.45 V seconds) and gusts average out, short enough to keep changes of speed."""
CORRELATION_S: Final = 60.0
"""Air that sinks or rises over a large area outlasts several blocks; standard errors allow for this much."""
MIN_TIME_S: Final = 60.0
MIN_SPEED_RATIO: Final = 1.15
"""Fastest over slowest blocks: below, parasite and induced drag cannot be told apart."""
STEADY_S: Final = 2.0
"""A speed held this long is flown; less is a gust or the sensor's noise."""
SPEED_QUANTILE: Final = 0.03
"""Share of the blocks that must reach as far for a speed to count as flown: one slow leg of 20 s in ten minutes."""
MOST_RELATIVE_SE: Final = 0.25
"""A best glide less certain than this (one sigma) is no measurement."""


@dataclass(frozen=True)
class GlideBlocks:
    """Stretches of glide with the mean sink of total energy and the speeds flown.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Middle of each block.
    sink_m_s : ndarray, shape (n,)
        Loss of energy height per time, positive down.
    speed_cubed, load_over_speed : ndarray, shape (n,)
        Means of V^3 and of n^2/V in each block: the polar is linear in them, so that a block may hold any changes of
        speed.
    slow_m_s, fast_m_s : ndarray, shape (n,)
        Lowest and highest airspeed in each block, over `STEADY_S`.
    """

    time_s: Array
    sink_m_s: Array
    speed_cubed: Array
    load_over_speed: Array
    slow_m_s: Array
    fast_m_s: Array


@dataclass(frozen=True)
class PolarFit:
    """The measured polar and how well it is known.

    Attributes
    ----------
    polar : Polar
        In the air and at the mass flown.
    covariance : ndarray, shape (2, 2)
        Of the parasite and the induced term.
    slowest_m_s, fastest_m_s : float
        Range of airspeeds flown; the polar is not known outside.
    time_s : float
        Glide that it rests on.
    scatter_m_s : float
        Standard deviation of a block's sink about the polar: the unrest of the air.
    """

    polar: Polar
    covariance: Array
    slowest_m_s: float
    fastest_m_s: float
    time_s: float
    scatter_m_s: float

    def sink_se_m_s(self, airspeed_m_s: ArrayLike, load_factor: ArrayLike = 1.0) -> Array:
        """Standard error of the polar's sink at airspeeds [m/s] and load factors."""
        terms = _terms(airspeed_m_s, load_factor)
        return np.asarray(np.sqrt(np.einsum("...i,ij,...j->...", terms, self.covariance, terms)))

    def band_m_s(self, airspeed_m_s: ArrayLike) -> tuple[Array, Array]:
        """Lower and upper bound of the sink at airspeeds [m/s], 95 % at each speed."""
        middle, reach = self.polar.sink_m_s(airspeed_m_s), NORMAL_95 * self.sink_se_m_s(airspeed_m_s)
        return middle - reach, middle + reach

    @property
    def is_well_known(self) -> bool:
        """Whether it is worth showing; an uncertain one may still be the best guess of the own sink."""
        return self.best_glide_ratio_se <= MOST_RELATIVE_SE * self.best_glide_ratio

    @property
    def least_sink_reached(self) -> bool:
        """Whether the speed of the least sink was flown; else the least sink is that at the slowest speed flown."""
        return self.polar.least_sink_speed_m_s >= self.slowest_m_s

    @property
    def least_sink_speed_m_s(self) -> float:
        """Airspeed of the least sink within the range flown."""
        return float(np.clip(self.polar.least_sink_speed_m_s, self.slowest_m_s, self.fastest_m_s))

    @property
    def least_sink_speed_se_m_s(self) -> float | None:
        """Standard error of the speed of the least sink; None where that lies outside the range flown."""
        return self._fourth_root_se(self.least_sink_speed_m_s) if self.least_sink_reached else None

    @property
    def best_glide_reached(self) -> bool:
        """Whether the speed of the best glide was flown; else the best glide is that at the nearest speed flown."""
        return self.slowest_m_s <= self.polar.best_glide_speed_m_s <= self.fastest_m_s

    @property
    def best_glide_speed_m_s(self) -> float:
        """Airspeed of the best glide within the range flown."""
        return float(np.clip(self.polar.best_glide_speed_m_s, self.slowest_m_s, self.fastest_m_s))

    @property
    def best_glide_speed_se_m_s(self) -> float | None:
        """Standard error of the speed of the best glide; None where that lies outside the range flown."""
        return self._fourth_root_se(self.best_glide_speed_m_s) if self.best_glide_reached else None

    @property
    def best_glide_ratio(self) -> float:
        """Best ratio of distance to height within the range flown."""
        return self.best_glide_speed_m_s / float(self.polar.sink_m_s(self.best_glide_speed_m_s))

    @property
    def best_glide_ratio_se(self) -> float:
        """Standard error of the best glide ratio: at the best speed the ratio does not depend on the speed."""
        speed = self.best_glide_speed_m_s
        return self.best_glide_ratio * float(self.sink_se_m_s(speed) / self.polar.sink_m_s(speed))

    def _fourth_root_se(self, speed_m_s: float) -> float:
        values = np.array([self.polar.parasite_s2_m2, self.polar.induced_m2_s2])
        relative = self.covariance / np.outer(values, values)
        variance = relative[0, 0] + relative[1, 1] - 2.0 * relative[0, 1]
        return 0.25 * speed_m_s * math.sqrt(max(float(variance), 0.0))


def glide_blocks(
    time_s: ArrayLike, energy_climb_m_s: ArrayLike, airspeed_m_s: ArrayLike, load_factor: ArrayLike = 1.0
) -> GlideBlocks:
    """Cut one glide into blocks of `BLOCK_S` for the fit; what does not fill one at its end is left out.

    Parameters
    ----------
    time_s, energy_climb_m_s, airspeed_m_s : array_like, shape (n,)
        Samples of one glide: time [s], rate of energy height [m/s], true airspeed [m/s]; NaN is left out.
    load_factor : array_like, shape (n,) or ()
        From the turn rate; 1 where it is not known.
    """
    table = complete(*np.broadcast_arrays(time_s, energy_climb_m_s, airspeed_m_s, load_factor))
    table = table[:, table[2] > 1.0]
    if table.shape[1] < 2:
        return joined([])
    number = ((table[0] - table[0, 0]) / BLOCK_S).astype(int)
    blocks = [table[:, number == which] for which in range(number[-1])]
    full = [block for block in blocks if block.shape[1] >= 2 and np.ptp(block[0]) > 0.6 * BLOCK_S]
    rows = [
        (
            block[0].mean(),
            -block[1].mean(),
            (block[2] ** 3).mean(),
            (block[3] ** 2 / block[2]).mean(),
            *_held_speeds(block[0], block[2]),
        )
        for block in full
    ]
    return GlideBlocks(*np.array(rows).reshape(-1, 6).T)


def _held_speeds(time: Array, speed: Array) -> tuple[float, float]:
    """Lowest and highest mean over `STEADY_S` in a block."""
    distance = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time))])
    starts = time[time <= max(time[-1] - STEADY_S, time[0])]
    ends = np.minimum(starts + STEADY_S, time[-1])
    means = (np.interp(ends, time, distance) - np.interp(starts, time, distance)) / (ends - starts)
    return float(means.min()), float(means.max())


def joined(parts: list[GlideBlocks]) -> GlideBlocks:
    """The blocks of several glides as one."""
    names = [field.name for field in fields(GlideBlocks)]
    return GlideBlocks(*(np.concatenate([getattr(part, name) for part in parts] or [np.empty(0)]) for name in names))


def fit_polar(blocks: GlideBlocks) -> PolarFit:
    """Fit the speed polar to blocks of glide.

    Parameters
    ----------
    blocks : GlideBlocks
        From `glide_blocks`, several glides joined in order of time.

    Raises
    ------
    NoAnswerError
        When the glides are too short or the speeds too alike.

    Notes
    -----
    Energy balance over each block: mean sink of energy height = p mean(V^3) + i mean(n^2/V) - rise of the air; robust
    regression, so that a patch of lift or of brakes does not count in full. The air's mean sink over all glides cannot
    be told from the aircraft's own and is part of the result.
    """
    total_s = blocks.time_s.size * BLOCK_S
    if total_s < MIN_TIME_S:
        raise NoAnswerError(f"{total_s:.0f} s of steady glide are too few for a polar; it takes {MIN_TIME_S:.0f} s")
    slowest = float(np.quantile(blocks.slow_m_s, SPEED_QUANTILE))
    fastest = float(np.quantile(blocks.fast_m_s, 1.0 - SPEED_QUANTILE))
    if fastest < MIN_SPEED_RATIO * slowest:
        raise NoAnswerError(
            f"the glides were all flown at {slowest:.1f} to {fastest:.1f} m/s, too alike for a polar; "
            f"it takes a ratio of {MIN_SPEED_RATIO:g}"
        )
    fit = _regression(blocks)
    if not np.all(fit.values > 0.0):
        raise NoAnswerError("the air was too restless to tell it")
    return PolarFit(
        polar=Polar(float(fit.values[0]), float(fit.values[1])),
        covariance=fit.covariance,
        slowest_m_s=slowest,
        fastest_m_s=fastest,
        time_s=total_s,
        scatter_m_s=fit.scale,
    )


def _terms(airspeed_m_s: ArrayLike, load_factor: ArrayLike) -> Array:
    speed, load = np.broadcast_arrays(np.asarray(airspeed_m_s, dtype=float), np.asarray(load_factor, dtype=float))
    return np.stack([speed**3, load**2 / speed], axis=-1)


def _regression(blocks: GlideBlocks) -> RobustFit:
    design = np.column_stack([blocks.speed_cubed, blocks.load_over_speed])
    size = design.mean(axis=0)

    def model(parameters: Array) -> tuple[Array, Array]:
        return blocks.sink_m_s - (design / size) @ parameters, -design / size

    try:
        fit = robust_least_squares(model, np.zeros(2), blocks.time_s, CORRELATION_S)
    except np.linalg.LinAlgError as error:
        raise NoAnswerError("the glides do not determine a polar") from error
    return RobustFit(fit.values / size, fit.covariance / np.outer(size, size), fit.scale)
