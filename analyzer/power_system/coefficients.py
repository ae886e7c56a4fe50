"""Which coefficients a propeller gets: the user's table, else measurement, else the family, else theory."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.power_system.coefficient_table import CoefficientTable, table_curves
from analyzer.power_system.family_model import family_curves, folding_family
from analyzer.power_system.propeller import stated_propeller
from analyzer.power_system.tied_blade_element import tied_curves

if TYPE_CHECKING:
    from analyzer.power_system.propeller import Propeller
    from analyzer.power_system.propeller_curves import PropellerCurves
    from analyzer.setup_file import Setup


def propeller_curves(propeller: Propeller, table: CoefficientTable | None = None) -> PropellerCurves:
    """C_T and C_P of a propeller, from the best there is.

    Parameters
    ----------
    propeller : Propeller
        Size and number of blades.
    table : CoefficientTable, optional
        The user's own coefficients of this propeller.

    Returns
    -------
    PropellerCurves
        Its `tier` and `basis_note` say what was used.

    Raises
    ------
    SetupFileError
        When the table cannot be used.
    """
    if table is not None:
        return table_curves(propeller, table)
    if folding_family().covers(propeller):
        return family_curves(propeller)
    return tied_curves(propeller)


def setup_propeller(setup: Setup) -> Propeller:
    """The propeller of a setup.

    Raises
    ------
    SetupFileError
        When the setup names no diameter or no pitch.
    """
    setup.require("propeller.diameter_in", "propeller.pitch_in", purpose="a prediction for the setup's own propeller")
    own = stated_propeller(setup)
    if own is None:
        raise AssertionError("require() checks the section")
    return own


def stated_table(setup: Setup) -> CoefficientTable | None:
    """The coefficient table that a setup names; None where it names none."""
    section = setup.propeller
    if section is None or section.coefficients_csv is None:
        return None
    return CoefficientTable(setup.folder / section.coefficients_csv, setup.coefficients)


def setup_table(setup: Setup, propeller: Propeller) -> CoefficientTable | None:
    """The setup's coefficient table, where it names one and the propeller is the setup's own."""
    return stated_table(setup) if stated_propeller(setup) == propeller else None
