"""The glide of one log: sink by flight mode, polars as flown, how modes differ, speeds to fly."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import ISA_SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from analyzer.errors import NoAnswerError
from analyzer.records import Notice
from analyzer.robust_fit import MAD_TO_SIGMA
from analyzer.soaring.polar_comparison import compare_all
from analyzer.soaring.polar_fit import BLOCK_S, PolarFit, fit_polar, glide_blocks, joined
from analyzer.soaring.records import (
    GlideReport,
    Landmarks,
    ModeSink,
    PolarPoint,
    PolarReport,
    SpeedToFly,
)
from analyzer.soaring.speed_to_fly import cross_country_speed_m_s, speed_to_fly_m_s

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from analyzer.records import Glide
    from analyzer.setup_file import Airframe
    from analyzer.soaring.air_motion import AirMotion
    from analyzer.soaring.glide_stretches import Stretch
    from analyzer.soaring.polar import Polar
    from analyzer.soaring.polar_fit import GlideBlocks

EXPECTED_CLIMBS_M_S: Final = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0)
CURVE_POINTS: Final = 25
FEWEST_BLOCKS: Final = 4

PolarFits = dict[str | None, PolarFit]


def fit_polars(motion: AirMotion, stretches: Sequence[Stretch]) -> tuple[PolarFits, tuple[Notice, ...]]:
    """Fit a polar to the glides of each flight mode.

    Parameters
    ----------
    motion : AirMotion
        Motion through the air.
    stretches : sequence of Stretch
        Settled glides.

    Returns
    -------
    dict of str or None to PolarFit
        By flight mode, the one flown longest first; modes whose glides cannot tell are left out.
    tuple of Notice
        Why they cannot.
    """
    if motion.source == "none":
        message = "No polar: neither airspeed nor positions with a wind from circles are there; sink rates only."
        return {}, (Notice("no-polar", message),)
    fits: PolarFits = {}
    notices = []
    modes = dict.fromkeys(stretch.flight_mode for stretch in stretches)
    for mode in modes:
        blocks = joined([_blocks(motion, stretch) for stretch in stretches if stretch.flight_mode == mode])
        try:
            fits[mode] = fit_polar(blocks)
        except NoAnswerError as error:
            notices.append(_no_polar(mode, error.problem))
            continue
        if not fits[mode].is_well_known:
            notices.append(_no_polar(mode, "the air was too restless: best glide is uncertain by over a quarter"))
    return dict(sorted(fits.items(), key=lambda item: -item[1].time_s)), tuple(notices)


def _no_polar(mode: str | None, why: str) -> Notice:
    return Notice("no-polar", f"No polar{f' in {mode}' if mode else ''}: {why}.")


def _blocks(motion: AirMotion, stretch: Stretch) -> GlideBlocks:
    inside = motion.inside(stretch)
    return glide_blocks(
        motion.time_s[inside],
        motion.energy_climb_m_s[inside],
        motion.airspeed_m_s[inside],
        motion.load_factor[inside],
    )


def glide_report(
    fits: Mapping[str | None, PolarFit],
    glides: Sequence[Glide],
    density_kg_m3: float,
    airframe: Airframe | None = None,
    next_climbs_m_s: Sequence[float] = (),
) -> GlideReport:
    """Put the glide together.

    Parameters
    ----------
    fits : mapping of str or None to PolarFit
        Measured polars by flight mode; uncertain ones are not shown.
    glides : sequence of Glide
        The flight summary's glides, or their parts where one was flown in several modes.
    density_kg_m3 : float
        Air density in which they were flown.
    airframe : Airframe, optional
        Of the setup: its mass and area give the drag coefficients.
    next_climbs_m_s : sequence of float
        Expected climbs to add to the table of speeds to fly.
    """
    climbs = sorted({*EXPECTED_CLIMBS_M_S, *next_climbs_m_s})
    known = {mode: fit for mode, fit in fits.items() if fit.is_well_known}
    polars = tuple(_polar_report(mode, fit, density_kg_m3, airframe, climbs) for mode, fit in known.items())
    named = {polar.flight_mode or "no mode": polar for polar in polars}
    return GlideReport(_mode_sinks(glides), polars, compare_all(named))


def usual_sink(motion: AirMotion, stretches: Sequence[Stretch]) -> tuple[float, float] | None:
    """Median sink over the blocks of all settled glides and its standard error [m/s]; None with hardly any glide.

    The standard error of a median of n Gaussian values is 1.25 times that of their mean.
    """
    sinks = []
    for stretch in stretches:
        inside = motion.inside(stretch)
        time, climb = motion.time_s[inside], motion.energy_climb_m_s[inside]
        number = ((time - stretch.start_s) / BLOCK_S).astype(int)
        sinks += [-float(np.nanmean(climb[number == which])) for which in np.unique(number[np.isfinite(climb)])]
    if len(sinks) < FEWEST_BLOCKS:
        return None
    middle = float(np.median(sinks))
    spread = MAD_TO_SIGMA * float(np.median(np.abs(np.array(sinks) - middle)))
    return middle, 1.25 * spread / math.sqrt(len(sinks))


def _mode_sinks(glides: Sequence[Glide]) -> tuple[ModeSink, ...]:
    """Mean sink of each mode's glides, by time; a glide of unknown standard error leaves that of the mean unknown."""
    measured = [glide for glide in glides if glide.sink_rate_m_s is not None]
    found = []
    for mode in dict.fromkeys(glide.flight_mode for glide in measured):
        parts = [glide for glide in measured if glide.flight_mode == mode]
        weights = np.array([glide.duration_s for glide in parts])
        sinks, errors = np.array([_sink_m_s(glide) for glide in parts], dtype=float).T
        mean = float(np.average(sinks, weights=weights))
        error = float(np.sqrt(np.sum((weights * errors) ** 2)) / weights.sum())
        found.append(ModeSink(mode, float(weights.sum()), mean, error if math.isfinite(error) else None))
    return tuple(found)


def _polar_report(
    mode: str | None, fit: PolarFit, density_kg_m3: float, airframe: Airframe | None, climbs_m_s: Sequence[float]
) -> PolarReport:
    polar = fit.polar
    mass_kg = airframe.mass_kg if airframe is not None else None
    at_sea_level = polar.in_air(ISA_SEA_LEVEL_DENSITY_KG_M3 / density_kg_m3)
    stretch = math.sqrt(density_kg_m3 / ISA_SEA_LEVEL_DENSITY_KG_M3)
    drag, induced = _coefficients(polar, density_kg_m3, airframe)
    return PolarReport(
        flight_mode=mode,
        time_s=fit.time_s,
        slowest_airspeed_m_s=fit.slowest_m_s,
        fastest_airspeed_m_s=fit.fastest_m_s,
        flown=_landmarks(polar, fit, 1.0, density_kg_m3, mass_kg),
        least_sink_se_m_s=float(fit.sink_se_m_s(fit.least_sink_speed_m_s)),
        least_sink_speed_se_m_s=fit.least_sink_speed_se_m_s,
        best_glide_ratio_se=fit.best_glide_ratio_se,
        best_glide_speed_se_m_s=fit.best_glide_speed_se_m_s,
        least_sink_reached=fit.least_sink_reached,
        best_glide_reached=fit.best_glide_reached,
        at_sea_level=_landmarks(at_sea_level, fit, stretch, ISA_SEA_LEVEL_DENSITY_KG_M3, mass_kg),
        scatter_m_s=fit.scatter_m_s,
        zero_lift_drag_coefficient=drag,
        induced_drag_factor=induced,
        curve=_curve(fit),
        speeds_to_fly=speeds_to_fly(polar, climbs_m_s),
    )


def _landmarks(polar: Polar, fit: PolarFit, stretch: float, density_kg_m3: float, mass_kg: float | None) -> Landmarks:
    """Landmarks of a polar whose speeds are those of the fit times a factor."""
    least_m_s, best_m_s = stretch * fit.least_sink_speed_m_s, stretch * fit.best_glide_speed_m_s
    return Landmarks(
        density_kg_m3=density_kg_m3,
        mass_kg=mass_kg,
        least_sink_m_s=float(polar.sink_m_s(least_m_s)),
        least_sink_speed_m_s=least_m_s,
        best_glide_ratio=best_m_s / float(polar.sink_m_s(best_m_s)),
        best_glide_speed_m_s=best_m_s,
    )


def _coefficients(polar: Polar, density_kg_m3: float, airframe: Airframe | None) -> tuple[float | None, float | None]:
    """Zero-lift drag coefficient and induced drag factor that the measured polar means for a mass and an area."""
    if airframe is None or airframe.mass_kg is None or airframe.wing_area_m2 is None:
        return None, None
    loading_n_m2 = airframe.mass_kg * STANDARD_GRAVITY_M_S2 / airframe.wing_area_m2
    drag = 2.0 * polar.parasite_s2_m2 * loading_n_m2 / density_kg_m3
    return drag, 0.5 * polar.induced_m2_s2 * density_kg_m3 / loading_n_m2


def _curve(fit: PolarFit) -> tuple[PolarPoint, ...]:
    speeds = np.linspace(fit.slowest_m_s, fit.fastest_m_s, CURVE_POINTS)
    low, high = fit.band_m_s(speeds)
    middle = fit.polar.sink_m_s(speeds)
    return tuple(PolarPoint(*map(float, row)) for row in zip(speeds, middle, low, high, strict=True))


def speeds_to_fly(polar: Polar, climbs_m_s: Sequence[float]) -> tuple[SpeedToFly, ...]:
    """Speed to fly towards each expected climb, in still air, and the mean speed over glide and climb."""
    speeds = speed_to_fly_m_s(polar, climbs_m_s)
    means = cross_country_speed_m_s(polar, speeds, climbs_m_s)
    return tuple(SpeedToFly(*map(float, row)) for row in zip(climbs_m_s, speeds, means, strict=True))


def _sink_m_s(glide: Glide) -> tuple[float | None, float | None]:
    """Typical sink and its standard error; of a glide too short for one, what it lost per time."""
    if glide.typical_sink_m_s is not None:
        return glide.typical_sink_m_s, glide.typical_sink_se_m_s
    return glide.sink_rate_m_s, glide.sink_rate_se_m_s
