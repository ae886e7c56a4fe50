"""What is believed of a setup before its logs speak, the propeller's make and its own departure included."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.power_system.belief import Belief, independent
from analyzer.power_system.calibrated import MAKE, SHARED, basis_curves, belief_of, family_mean, flown_before, own_names
from analyzer.power_system.coefficients import setup_table
from analyzer.power_system.family_model import folding_family
from analyzer.power_system.flown_shape import level_covariance, levels
from analyzer.power_system.input_spread import default_calibration
from analyzer.power_system.variants import PARAMETERS

if TYPE_CHECKING:
    from typing import Literal

    from analyzer.arrays import Array
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.flown_shape import FlownPoint
    from analyzer.power_system.propeller import Propeller
    from analyzer.power_system.propeller_curves import PropellerCurves
    from analyzer.power_system.system import PowerSystem
    from analyzer.setup_file import Setup

    Basis = Literal["table", "measured", "family"]

CERTAIN: Final = 1e-4
"""Standard deviation of what cannot be otherwise: a direct drive's efficiency."""


@dataclass(frozen=True)
class Prior:
    """What is believed beforehand.

    Attributes
    ----------
    belief : Belief
        Of `SHARED`, `MAKE`, the propeller's own factors and those of propellers flown before.
    curves : PropellerCurves
        The curves that the propeller's factors belong to.
    basis : {"table", "measured", "family"}
        Which they are.
    as_measured : bool
        Whether the propellers are taken to be of the measured make.
    """

    belief: Belief
    curves: PropellerCurves
    basis: Basis
    as_measured: bool


def priors(
    setup: Setup, system: PowerSystem, propeller: Propeller, point: FlownPoint, tuning: MatchTuning
) -> tuple[Prior, ...]:
    """Every belief that is possible beforehand, the more cautious first.

    A size that was measured is either of the measured make, and then close to its measurement, or of another, and
    then anywhere around the family's mean: which of the two is for the log to say. A setup that was calibrated before
    has settled that.

    Parameters
    ----------
    setup : Setup
        The combination flown.
    system : PowerSystem
        Its models.
    propeller : Propeller
        Its propeller.
    point : (float, float, float)
        Advance ratio, propeller speed and kinematic viscosity of the climbs: where a propeller's factors are learnt.
    tuning : MatchTuning
        Tuning values.

    Raises
    ------
    SetupFileError
        When the setup's coefficient table or its calibration cannot be used.
    """
    section = setup.calibration
    table = setup_table(setup, propeller)
    if section is not None:
        known = _aged(belief_of(section, setup.name), tuning)
        flown = flown_before(setup, section, propeller)
        if flown is not None:
            curves = basis_curves(propeller, flown.basis, setup)
            return (Prior(known, curves, flown.basis, section.propellers_as_measured),)
        return (_prior(known, setup, propeller, point, section.propellers_as_measured, tuning),)
    shared = _shared(system, tuning)
    other = _prior(_with_make(shared, tuning.make_load, tuning.make_efficiency), setup, propeller, point, False, tuning)
    if table is not None or folding_family().measured_row(propeller) is None:
        return (other,)
    same = _with_make(shared, tuning.same_batch, tuning.same_efficiency)
    return other, _prior(same, setup, propeller, point, True, tuning)


def _shared(system: PowerSystem, tuning: MatchTuning) -> Belief:
    """The usual spread of what a setup states; the pack's wider than for a prediction."""
    usual = default_calibration(system).directions.sum(axis=0)
    spreads = {name: max(float(usual[PARAMETERS.index(name)]), CERTAIN) for name in SHARED}
    assumed = system.assumed("pack-resistance-assumed")
    spreads["pack_resistance"] = tuning.assumed_pack_resistance if assumed else tuning.pack_resistance
    return independent(spreads)


def _with_make(belief: Belief, load: float, efficiency: float) -> Belief:
    """Add the make's factors: both coefficients together, and thrust alone."""
    return belief.beside(MAKE, load**2 * np.ones((2, 2)) + np.diag((CERTAIN**2, efficiency**2)))


def _prior(
    known: Belief, setup: Setup, propeller: Propeller, point: FlownPoint, as_measured: bool, tuning: MatchTuning
) -> Prior:
    """Add the propeller's own factors, relative to the curves that it has.

    They are the make's plus its own. Where the setup has a table of coefficients, that table is what is known of their
    sum, relative to the family's mean: the family has no say in a propeller that the pilot has measured.
    """
    names, mean = own_names(propeller.name), family_mean(propeller)
    if setup_table(setup, propeller) is not None:
        curves = basis_curves(propeller, "table", setup)
        above_mean = levels(curves, point) - levels(mean, point)
        whole = known.with_sum(names, MAKE, size_covariance(mean, point, tuning))
        told = whole.replaced(names, above_mean, level_covariance(curves, point))
        shift = np.zeros(len(told.names))
        shift[told.rows(names)] = above_mean
        return Prior(Belief(told.names, told.mean - shift, told.covariance), curves, "table", as_measured)
    if as_measured and folding_family().measured_row(propeller) is not None:
        curves = basis_curves(propeller, "measured", setup)
        return Prior(known.with_sum(names, MAKE, level_covariance(curves, point)), curves, "measured", True)
    return Prior(known.with_sum(names, MAKE, size_covariance(mean, point, tuning)), mean, "family", as_measured)


def size_covariance(mean: PropellerCurves, point: FlownPoint, tuning: MatchTuning) -> Array:
    """How one size departs from its make's trend, as covariance of ln C_P and ln C_T: load, and efficiency alone."""
    load = level_covariance(mean, point)[0, 0]
    covariance: Array = load * np.ones((2, 2)) + np.diag((0.0, tuning.size_efficiency**2))
    return covariance


def _aged(belief: Belief, tuning: MatchTuning) -> Belief:
    """A belief some days later: the pack is another, colder or older."""
    covariance = belief.covariance.copy()
    row = belief.names.index("pack_resistance")
    covariance[row, row] += tuning.another_day**2
    return Belief(belief.names, belief.mean, covariance)
