"""Fit of the folding-propeller family: a linear mixed model, and the program that makes the shipped table.

    python tests/accuracy/propeller_family_fit.py MEASUREMENTS.csv analyzer/data/folding_propellers.json

MEASUREMENTS.csv holds published wind-tunnel points (columns prop, rpm, diameter_in, pitch_in, J, CT, CP) of one
family. Each propeller i has coefficients b_i = G'z_i + u_i: a family mean over pitch ratio and diameter, and a
deviation u_i ~ N(0, S) of its own, since pitch is only a label and blades differ in plan and section. G, S and
every b_i come from expectation maximisation (Laird & Ware 1982, *Biometrics* 38, 963-974), with the restricted
divisor n - q for S.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.constants import INCH_M
from analyzer.power_system.family_basis import (
    TUNNEL_VISCOSITY_M2_S,
    basis,
    log_reynolds,
    nominal_peaks,
    nominal_zero_thrust_advance,
    reynolds_number,
    trend_terms,
)
from analyzer.power_system.family_model import PropellerFamily

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SOURCE: Final = (
    "UIUC Propeller Database, volume 3 (J.B. Brandt, R.W. Deters, G.K. Ananda, O.D. Dantsker, M.S. Selig, "
    "University of Illinois); O.D. Dantsker et al. 2020, AIAA 2020-2762"
)


@dataclass(frozen=True, slots=True)
class FitSettings:
    """Tuning values of the fit."""

    lowest_rpm: float = 2000.0
    """Below it the torque is near the balance's resolution."""
    noise: float = 0.006
    """Scatter of one point over the nominal peak: residual of the fits (0.3 to 0.8 %)."""
    iterations: int = 40
    """The mean changes by less than 1e-4 of the peak after about 20."""
    ridge: float = 1e-7
    """Added to S: keeps it invertible where 34 propellers cannot fill its rank."""
    modes: int = 6
    """Deviation modes shipped: they hold 98 % of the variance between propellers."""


DEFAULT_SETTINGS: Final = FitSettings()


@dataclass(frozen=True, slots=True)
class MeasuredPropeller:
    """One propeller's points in the model's coordinates.

    Attributes
    ----------
    design : array, shape (points, k)
        Basis at the points.
    values : array, shape (points, 2)
        C_T and C_P over their nominal peaks.
    """

    name: str
    diameter_in: float
    pitch_in: float
    design: Array
    values: Array

    @property
    def trend(self) -> Array:
        """Terms of the family mean."""
        return trend_terms(self.diameter_in, self.pitch_in)


@dataclass(frozen=True, slots=True)
class FamilyFit:
    """Result of the mixed model.

    Attributes
    ----------
    trend : array, shape (q, 2k)
        G, the family mean's coefficients: those of C_T, then of C_P.
    covariance : array, shape (2k, 2k)
        S, between propellers.
    coefficients : array, shape (n, 2k)
        b_i of each propeller (best linear unbiased predictor).
    inverse_gram : array, shape (q, q)
        Inverse of the sum of z z' over the propellers: how well the mean is known at a size.
    degrees_of_freedom : int
        n - q.
    """

    trend: Array
    covariance: Array
    coefficients: Array
    inverse_gram: Array
    degrees_of_freedom: int


def measured_propeller(points: pd.DataFrame, settings: FitSettings = DEFAULT_SETTINGS) -> MeasuredPropeller:
    """Put one propeller's measured points into the model's coordinates."""
    kept = points[points["rpm"] >= settings.lowest_rpm]
    diameter, pitch = float(kept["diameter_in"].iloc[0]), float(kept["pitch_in"].iloc[0])
    advance = kept["J"].to_numpy(float)
    reynolds = reynolds_number(advance, kept["rpm"].to_numpy(float) / 60.0, diameter * INCH_M, TUNNEL_VISCOSITY_M2_S)
    x = advance / nominal_zero_thrust_advance(pitch / diameter)
    peaks = nominal_peaks(pitch / diameter)
    values = kept[["CT", "CP"]].to_numpy(float) / np.array(peaks)
    return MeasuredPropeller(f"{diameter:g}x{pitch:g}", diameter, pitch, basis(x, log_reynolds(reynolds)), values)


def fit_family(propellers: Sequence[MeasuredPropeller], settings: FitSettings = DEFAULT_SETTINGS) -> FamilyFit:
    """Fit the mixed model.

    Parameters
    ----------
    propellers : sequence of MeasuredPropeller
        More of them than trend terms.
    settings : FitSettings
        Tuning values.
    """
    terms = np.array([propeller.trend for propeller in propellers])
    precision = np.array([_doubled(p.design.T @ p.design) for p in propellers]) / settings.noise**2
    weighted = np.array([(p.design.T @ p.values).T.ravel() for p in propellers]) / settings.noise**2
    size = weighted.shape[1]
    dof = len(propellers) - terms.shape[1]
    coefficients = np.linalg.solve(precision + 10.0 * np.eye(size), weighted[..., None])[..., 0]
    trend = np.linalg.lstsq(terms, coefficients, rcond=None)[0]
    covariance = 0.05**2 * np.eye(size)
    for _ in range(settings.iterations):
        prior = np.linalg.inv(covariance)
        posterior = np.linalg.inv(precision + prior)
        coefficients = np.einsum("nij,nj->ni", posterior, weighted + terms @ trend @ prior)
        trend = np.linalg.lstsq(terms, coefficients, rcond=None)[0]
        deviation = coefficients - terms @ trend
        covariance = (deviation.T @ deviation + posterior.sum(axis=0)) / dof + settings.ridge * np.eye(size)
    own = np.asarray(coefficients, float)
    return FamilyFit(trend, np.asarray(covariance), own, np.linalg.inv(terms.T @ terms), dof)


def _doubled(block: Array) -> Array:
    """The same block for C_T and for C_P on the diagonal."""
    zero = np.zeros_like(block)
    return np.block([[block, zero], [zero, block]])


def deviation_modes(covariance: Array, count: int) -> Array:
    """Strongest ways in which a propeller of the family departs from the mean, one standard deviation each.

    Principal components of the deviation as a function (not of its coefficients), over powered flight and the
    middle of the Reynolds range.

    Returns
    -------
    array, shape (count, 2k)
        Coefficients of each mode; modes are independent.
    """
    x, log_re = np.meshgrid(np.linspace(0.0, 0.95, 20), np.linspace(-0.6, 0.6, 5), indexing="ij")
    functions = _doubled(basis(x.ravel(), log_re.ravel()))
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    _, _, directions = np.linalg.svd(functions @ root, full_matrices=False)
    modes: Array = directions[:count] @ root.T
    return modes


def fitted_family(propellers: Sequence[MeasuredPropeller], settings: FitSettings = DEFAULT_SETTINGS) -> PropellerFamily:
    """Fit, and lay the result out as the model that predictions use."""
    fit = fit_family(propellers, settings)
    return PropellerFamily(
        sizes_in=np.array([(p.diameter_in, p.pitch_in) for p in propellers]),
        coefficients=fit.coefficients,
        trend=fit.trend,
        inverse_gram=fit.inverse_gram,
        modes=deviation_modes(fit.covariance, settings.modes),
        degrees_of_freedom=float(fit.degrees_of_freedom),
    )


def family_document(family: PropellerFamily) -> dict[str, object]:
    """The shipped table as plain data."""

    def rounded(values: Array) -> object:
        return np.vectorize(lambda value: float(f"{value:.6g}"))(values).tolist()

    return {
        "source": SOURCE,
        "made_by": "python tests/accuracy/propeller_family_fit.py",
        "degrees_of_freedom": family.degrees_of_freedom,
        "trend": rounded(family.trend),
        "inverse_gram": rounded(family.inverse_gram),
        "modes": rounded(family.modes),
        "propellers": [
            {"diameter_in": float(diameter), "pitch_in": float(pitch), "coefficients": rounded(row)}
            for (diameter, pitch), row in zip(family.sizes_in, family.coefficients, strict=True)
        ],
    }


def read_measurements(path: str | Path, family: str = "folding_carbon") -> list[MeasuredPropeller]:
    """Read the family's propellers from a table of measurements, sorted by size."""
    import pandas as pd

    table = pd.read_csv(path)
    table = table[table["prop"].str.startswith(family + "_")]
    found = [measured_propeller(points) for _, points in table.groupby("prop")]
    return sorted(found, key=lambda propeller: (propeller.diameter_in, propeller.pitch_in))


def main(arguments: Sequence[str]) -> int:
    """Make the shipped table."""
    if len(arguments) != 2:
        sys.stderr.write("usage: python tests/accuracy/propeller_family_fit.py MEASUREMENTS.csv OUT.json\n")
        return 2
    document = family_document(fitted_family(read_measurements(arguments[0])))
    lines = json.dumps(document, indent=1)
    Path(arguments[1]).write_text(_compact(lines) + "\n", encoding="utf-8")
    return 0


def _compact(text: str) -> str:
    """Innermost lists on one line, so that the table can be read and compared."""
    import re

    return re.sub(r"\[\s*([^\[\]{}]*?)\s*\]", lambda match: "[" + " ".join(match[1].split()) + "]", text)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
