"""Which curves each propeller of a prediction gets, and what is known of it: by flights, else by data sheets.

A propeller departs from its curves by a factor on C_P and one on C_T. Part of that it shares with its siblings (its
make: the family of the measurements may be another than the pilot's), part is its own. A propeller that was flown
has the factors that its logs gave; one that was not has its make's, and the usual spread of a single size around it.
Where nothing was flown at all, the make is anyone's guess, and the interval holds that guess.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.errors import SetupFileError
from analyzer.power_system.belief import Belief
from analyzer.power_system.coefficients import propeller_curves, setup_table
from analyzer.power_system.family_model import OTHER_MAKE_PROBABILITY, any_make_curves, folding_family, mean_curves
from analyzer.power_system.flown_shape import held_at
from analyzer.power_system.input_spread import DEFAULT_SPREAD, InputSpread, default_calibration
from analyzer.power_system.tied_blade_element import tied_curves
from analyzer.power_system.variants import (
    PARAMETERS,
    Calibration,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.power_system.propeller import Propeller
    from analyzer.power_system.propeller_curves import PropellerCurves
    from analyzer.power_system.system import PowerSystem
    from analyzer.setup_file import CalibrationSection, FlownPropeller, Setup


SHARED: Final = PARAMETERS[2:]
"""What belongs to everything but the propeller."""

MAKE: Final = ("make power", "make thrust")
"""Factors on C_P and C_T that a make's propellers share."""

AS_STATED: Final = "as stated"
"""A factor that is not there: of a propeller whose own table says what it is."""


def own_names(propeller: str) -> tuple[str, str]:
    """Names of a flown propeller's own factors on C_P and C_T."""
    return f"{propeller} power", f"{propeller} thrust"


@dataclass(frozen=True)
class Candidates:
    """Propellers with their curves and what is known of each."""

    curves: tuple[PropellerCurves, ...]
    calibration: Calibration


def candidates_of(setup: Setup, system: PowerSystem, propellers: Sequence[Propeller]) -> Candidates:
    """Curves and calibration of some propellers on a setup.

    Parameters
    ----------
    setup : Setup
        Its calibration is used, where it has one; else its own values with their usual spread.
    system : PowerSystem
        The setup's.
    propellers : sequence of Propeller
        At least one.

    Raises
    ------
    SetupFileError
        When the setup's coefficient table or its calibration cannot be used.
    """
    section = setup.calibration
    if section is None:
        return _of_any_make(setup, system, propellers)
    belief = belief_of(section, setup.name).beside((AS_STATED,), np.zeros((1, 1)))
    found = [_calibrated(setup, system, section, one) for one in propellers]
    names = [(*levels, *SHARED) for _, levels in found]
    rows = np.array([belief.rows(some) for some in names])
    directions = belief.directions()[:, rows]
    return Candidates(tuple(curves for curves, _ in found), Calibration(belief.mean[rows], directions))


def _of_any_make(setup: Setup, system: PowerSystem, propellers: Sequence[Propeller]) -> Candidates:
    """Nothing was flown: the setup's own values, and propellers whose make nobody knows."""
    tables = [setup_table(setup, one) for one in propellers]
    curves = tuple(
        any_make_curves(one) if table is None and folding_family().covers(one) else propeller_curves(one, table)
        for one, table in zip(propellers, tables, strict=True)
    )
    known = default_calibration(system)
    others = np.repeat(known.directions[:, None, :], len(curves), axis=1)
    make = _make_directions()[:, None, :] * np.array([[one.tier != "table"] for one in curves])
    return Candidates(curves, Calibration(known.offsets, np.concatenate((others, make))))


def _make_directions(spread: InputSpread = DEFAULT_SPREAD) -> Array:
    """How a make of whichever propellers departs from the measured one, shape (2, p): load, and thrust alone.

    The load by the chance that it is another make at all; part of the thrust no make explains (`InputSpread`).
    """
    directions = np.zeros((2, len(PARAMETERS)))
    power, thrust = PARAMETERS.index("power"), PARAMETERS.index("thrust")
    directions[0, [power, thrust]] = np.sqrt(OTHER_MAKE_PROBABILITY) * spread.make_load
    directions[1, thrust] = spread.make_efficiency
    return directions


def belief_of(section: CalibrationSection, source: str) -> Belief:
    """The joint distribution that a setup's calibration states.

    Raises
    ------
    SetupFileError
        When it lacks a parameter, or its covariance is none.
    """
    wanted = {*SHARED, *MAKE, *(name for flown in section.flown for name in own_names(flown.propeller))}
    if set(section.parameters) != wanted or len(section.parameters) != len(wanted):
        raise _unusable(source, "its parameters are not those of its propellers")
    count = len(section.parameters)
    lower = np.zeros((count, count))
    for row, values in enumerate(section.covariance):
        lower[row, : row + 1] = values
    covariance = lower + np.tril(lower, -1).T
    if np.linalg.eigvalsh(covariance).min() < -1e-9 * covariance.max():
        raise _unusable(source, "its covariance is none: no spread can be negative")
    return Belief(tuple(section.parameters), np.array(section.offsets), covariance)


def _unusable(source: str, problem: str) -> SetupFileError:
    return SetupFileError(
        problem, source=f"setup '{source}'", where="[calibration]", remedy="calibrate again, or leave the section out"
    )


def _calibrated(
    setup: Setup, system: PowerSystem, section: CalibrationSection, propeller: Propeller
) -> tuple[PropellerCurves, tuple[str, str]]:
    """Curves of one propeller, and the names of its factors."""
    flown, table = flown_before(setup, section, propeller), setup_table(setup, propeller)
    if flown is not None:
        curves = basis_curves(propeller, flown.basis, setup)
        point = (flown.advance_ratio, flown.rpm / 60.0, system.air.kinematic_viscosity_m2_s)
        return _noted(held_at(curves, point), "moved to what its own flights show"), own_names(flown.propeller)
    if table is not None:
        return propeller_curves(propeller, table), (AS_STATED, AS_STATED)
    if section.propellers_as_measured:
        return propeller_curves(propeller), MAKE
    return _noted(family_mean(propeller), "moved by what flights show of its siblings"), MAKE


def flown_before(setup: Setup, section: CalibrationSection, propeller: Propeller) -> FlownPropeller | None:
    """What a calibration holds of a propeller; None where it was not flown, or with a table that is not there now."""
    flown = next((one for one in section.flown if one.propeller == propeller.name), None)
    gone = flown is not None and flown.basis == "table" and setup_table(setup, propeller) is None
    return None if gone else flown


def _noted(curves: PropellerCurves, what: str) -> PropellerCurves:
    return replace(curves, basis_note=f"{curves.basis_note}, {what}")


def basis_curves(propeller: Propeller, basis: str, setup: Setup) -> PropellerCurves:
    """Curves that a flown propeller's factors belong to: "table", "measured" or "family".

    Raises
    ------
    SetupFileError
        When the setup's coefficient table cannot be used.
    """
    if basis == "family":
        return family_mean(propeller)
    return propeller_curves(propeller, setup_table(setup, propeller) if basis == "table" else None)


def family_mean(propeller: Propeller) -> PropellerCurves:
    """Curves of a size whose make is not the measured one: the family's mean, whatever was measured at that size."""
    return mean_curves(propeller) if folding_family().covers(propeller) else tied_curves(propeller)
