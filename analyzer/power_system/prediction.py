"""Setup and propellers in, prediction out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.errors import OptionError
from analyzer.power_system import limits as checks
from analyzer.power_system import performance
from analyzer.power_system.calibrated import candidates_of
from analyzer.power_system.coefficients import setup_propeller
from analyzer.power_system.cruise import cruise_points
from analyzer.power_system.envelope import FULL, LAST, MID, envelope
from analyzer.power_system.performance import Intervals
from analyzer.power_system.prediction_records import Prediction, PropellerPrediction
from analyzer.power_system.system import power_system
from analyzer.power_system.variants import variants
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.power_system.propeller import Propeller
    from analyzer.setup_file import Setup

CLIMB_HEIGHT_M: Final = 150.0
"""Height of one climb when climbs per pack are counted; a usual launch of an electric sailplane."""

MOST_PROPELLERS: Final = 2000
"""More at once is a slip of the keyboard, and would fill the memory."""


def predict(
    setup: Setup,
    propellers: Sequence[Propeller] = (),
    *,
    throttle: float = 1.0,
    climb_height_m: float = CLIMB_HEIGHT_M,
    pack_temperature_c: float | None = None,
) -> Prediction:
    """Predict what an airframe and its power system do with one or more propellers.

    Parameters
    ----------
    setup : Setup
        At least cells, speed constant and winding resistance; with mass, wing area and span also the flight. Where it
        is calibrated, it is predicted as it flies.
    propellers : sequence of Propeller
        Candidates; the setup's own where none is given.
    throttle : float
        Duty cycle, above 0 to 1.
    climb_height_m : float
        Height of one climb, for the number of climbs in a pack.
    pack_temperature_c : float, optional
        Of the cells: the setup's resistance then counts as measured at 25 C and follows the temperature.

    Returns
    -------
    Prediction
        One entry for each propeller, in their order; a propeller that cannot work has its reasons.

    Raises
    ------
    SetupFileError
        When the setup lacks what every prediction needs, or its coefficient table cannot be used.
    OptionError
        When the throttle, the height or the temperature is out of range, or there are too many propellers.

    Notes
    -----
    Steady state, full-throttle unless said otherwise; straight flight; thrust along the flight path; no
    interference between propeller and fuselage; motor constants at one temperature. The interval holds the
    spread of propellers (`propeller_curves`) and of the setup's values (`input_spread.InputSpread`), not errors of
    these assumptions.
    """
    _check(throttle, climb_height_m, pack_temperature_c, len(propellers))
    system = power_system(setup, pack_temperature_c)
    candidates = candidates_of(setup, system, tuple(propellers) or (setup_propeller(setup),))
    curves = candidates.curves
    layout = variants(curves, candidates.calibration)
    solved = envelope(system, layout, throttle)
    cruising = cruise_points(system, layout)
    intervals = {part: Intervals(getattr(solved, part)) for part in ("points", "static", "climbs", "level")}

    def one(index: int) -> PropellerPrediction:
        curve = curves[index]
        climbs = bool(solved.climbs_at_all[index])
        limits = checks.predicted_limits(setup, system, solved, index)
        first, middle, last = (
            performance.climb(intervals["climbs"], index, at) if climbs else None for at in (FULL, MID, LAST)
        )
        return PropellerPrediction(
            propeller=curve.propeller.name,
            tier=curve.tier,
            basis=curve.basis_note,
            reasons=checks.no_answer_reasons(system, solved, index),
            static=performance.static_run(intervals["static"], curve.propeller, index),
            best_climb=middle,
            first_climb=first,
            last_climb=last,
            level=performance.level_flight(solved, intervals["level"], index),
            cruise=performance.cruise(cruising, index),
            pack=performance.pack_yield(system, solved, index, climb_height_m) if climbs else None,
            glide=performance.glide_with_propeller(system, curve.propeller),
            limits=limits,
            binds_first=checks.binding(limits),
            points=performance.points(intervals["points"], index),
        )

    found = tuple(one(index) for index in range(len(curves)))
    notices = (*system.notices, *_calibration_notice(setup))
    return Prediction(setup.name, throttle, system.air.density_kg_m3, found, notices)


def _calibration_notice(setup: Setup) -> tuple[Notice, ...]:
    if setup.calibration is None:
        return ()
    flown = "; ".join(f"{one.propeller} by {', '.join(one.logs)}" for one in setup.calibration.flown)
    return (Notice("calibrated", f"Predicted as the model flies: calibrated with the {flown}."),)


def _check(throttle: float, climb_height_m: float, pack_temperature_c: float | None, count: int) -> None:
    if not 0.0 < throttle <= 1.0:
        raise OptionError(f"{throttle:g} is no throttle", source="throttle", remedy="give a number above 0 and up to 1")
    if not 1.0 <= climb_height_m <= 5000.0:
        raise OptionError(
            f"{climb_height_m:g} m is no height of a climb", source="climb height", remedy="give 1 to 5000 m"
        )
    if pack_temperature_c is not None and not -20.0 <= pack_temperature_c <= 70.0:
        raise OptionError(
            f"{pack_temperature_c:g} C is no temperature of a pack in use",
            source="pack temperature",
            remedy="give -20 to 70 degrees Celsius",
        )
    if count > MOST_PROPELLERS:
        raise OptionError(
            f"{count} propellers are too many at once", source="propellers", remedy=f"ask for {MOST_PROPELLERS} at most"
        )
