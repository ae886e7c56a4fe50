"""The glide of one log: sink by flight mode, polars as flown, how modes differ, speeds to fly."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import ISA_SEA_LEVEL_DENSITY_KG_M3, STANDARD_GRAVITY_M_S2
from analyzer.errors import NoAnswerError
from analyzer.records import Notice
from analyzer.soaring.polar_comparison import compare_all
from analyzer.soaring.polar_fit import PolarFit, fit_polar, glide_blocks, joined
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
    from analyzer.soaring.polar_comparison import compare_all
from analyzer.soaring.polar_fit import GlideBlocks

EXPECTED_CLIMBS_M_S: Final = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0)
CURVE_POINTS: Final = 25

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
        message = "polar: neither airspeed nor positions with a wind from circles; sink rates only"
        return {}, (Notice("no-polar", message),)
    fits: PolarFits = {}
    notices = []
    modes = dict.fromkeys(stretch.flight_mode for stretch in stretches)
    for mode in modes:
        blocks = joined([_blocks(motion, stretch) for stretch in stretches if stretch.flight_mode == mode])
        try:
            fits[mode] = fit_polar(blocks)
        except NoAnswerError as error:
            notices.append(Notice("no-polar", f"polar{f' in {mode}' if mode else ''}: {error.problem}"))
    return dict(sorted(fits.items(), key=lambda item: -item[1].time_s)), tuple(notices)


def _blocks(motion: AirMotion, stretch: Stretch) -> GlideBlocks:
    inside = (motion.time_s >= stretch.start_s) & (motion.time_s <= stretch.end_s)
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
        Measured polars by flight mode.
    glides : sequence of Glide
        The flight summary's glides.
    density_kg_m3 : float
        Air density in which they were flown.
    airframe : Airframe, optional
        Of the setup: its mass and area give the drag coefficients.
    next_climbs_m_s : sequence of float
        Expected climbs to add to the table of speeds to fly.
    """
    climbs = sorted({*EXPECTED_CLIMBS_M_S, *next_climbs_m_s})
    polars = tuple(_polar_report(mode, fit, density_kg_m3, airframe, climbs) for mode, fit in fits.items())
    named = {polar.flight_mode or "no mode": polar for polar in polars}
    return GlideReport(_mode_sinks(glides), polars, compare_all(named))


def mean_sink(sinks: Sequence[ModeSink]) -> tuple[float, float] | None:
    """Mean sink over all glides, by time, and its standard error [m/s]; None without glides."""
    time_s = sum(mode.time_s for mode in sinks)
    if time_s <= 0.0:
        return None
    mean = sum(mode.time_s * mode.sink_rate_m_s for mode in sinks) / time_s
    variance = sum((mode.time_s * (mode.sink_rate_se_m_s or 0.0)) ** 2 for mode in sinks) / time_s**2
    return mean, math.sqrt(variance)


def _mode_sinks(glides: Sequence[Glide]) -> tuple[ModeSink, ...]:
    measured = [glide for glide in glides if glide.sink_rate_m_s is not None]
    found = []
    for mode in dict.fromkeys(glide.flight_mode for glide in measured):
        parts = [glide for glide in measured if glide.flight_mode == mode]
        weights = np.array([glide.end_s - glide.start_s for glide in parts])
        sinks = np.array([glide.sink_rate_m_s for glide in parts], dtype=float)
        errors = np.array([glide.sink_rate_se_m_s or np.nan for glide in parts])
        mean = float(np.average(sinks, weights=weights))
        error = float(np.sqrt(np.sum((weights * errors) ** 2)) / weights.sum())
        found.append(ModeSink(mode, float(weights.sum()), mean, error if math.isfinite(error) else None))
    return tuple(found)


def _polar_report(
    mode: str | None, fit: PolarFit, density_kg_m3: float, airframe: Airframe | None, climbs_m_s: Sequence[float]
) -> PolarReport:
    polar = fit.polar
    mass_kg = airframe.mass_kg if airframe is not None else None
    at_sea_level = polar.scaled(density_ratio=ISA_SEA_LEVEL_DENSITY_KG_M3 / density_kg_m3)
    stretch = math.sqrt(density_kg_m3 / ISA_SEA_LEVEL_DENSITY_KG_M3)
    least = fit.least_sink_speed_m_s
    drag, induced = _coefficients(polar, density_kg_m3, airframe)
    return PolarReport(
        flight_mode=mode,
        time_s=fit.time_s,
        slowest_airspeed_m_s=fit.slowest_m_s,
        fastest_airspeed_m_s=fit.fastest_m_s,
        flown=_landmarks(polar, least, density_kg_m3, mass_kg),
        least_sink_se_m_s=float(fit.sink_se_m_s(least)),
        least_sink_speed_se_m_s=fit.least_sink_speed_se_m_s,
        best_glide_ratio_se=fit.best_glide_ratio_se,
        best_glide_speed_se_m_s=fit.best_glide_speed_se_m_s,
        least_sink_reached=fit.least_sink_reached,
        best_glide_reached=fit.slowest_m_s <= polar.best_glide_speed_m_s <= fit.fastest_m_s,
        at_sea_level=_landmarks(at_sea_level, least * stretch, ISA_SEA_LEVEL_DENSITY_KG_M3, mass_kg),
        scatter_m_s=fit.scatter_m_s,
        zero_lift_drag_coefficient=drag,
        induced_drag_factor=induced,
        curve=_curve(fit),
        speeds_to_fly=speeds_to_fly(polar, climbs_m_s),
    )


def _landmarks(polar: Polar, least_speed_m_s: float, density_kg_m3: float, mass_kg: float | None) -> Landmarks:
    return Landmarks(
        density_kg_m3=density_kg_m3,
        mass_kg=mass_kg,
        least_sink_m_s=float(polar.sink_m_s(least_speed_m_s)),
        least_sink_speed_m_s=least_speed_m_s,
        best_glide_ratio=polar.best_glide_ratio,
        best_glide_speed_m_s=polar.best_glide_speed_m_s,
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
