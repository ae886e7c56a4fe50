"""How far a propeller's curves are from its measured points, in per cent of the measured peak.

Powered flight means J from 0.05 to 90 % of the J of zero thrust, and the propeller's rpm 2000 and more.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

import numpy as np
from curve_spread import standard_deviations

from analyzer.constants import INCH_M
from analyzer.power_system.family_basis import TUNNEL_VISCOSITY_M2_S, log_reynolds, reynolds_number
from analyzer.power_system.variants import student_95

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from analyzer.power_system.propeller_curves import PropellerCurves

LOWEST_RPM = 2000.0


@dataclass(frozen=True)
class CoefficientErrors:
    """Of one coefficient of one propeller, in per cent of the measured peak; coverage in per cent of the points."""

    median: float
    ninetieth: float
    static: float
    inside_interval: float
    bias: float


def powered(points: pd.DataFrame) -> pd.DataFrame:
    """Rows in powered flight, static ones left out."""
    zero_thrust = points.loc[points["CT"] > 0, "J"].max()
    fast = points["rpm"] >= LOWEST_RPM
    return points[fast & (points["J"] > 0.05) & (points["J"] < 0.9 * zero_thrust)]


def curve_errors(curves: PropellerCurves, points: pd.DataFrame) -> dict[str, CoefficientErrors]:
    """Errors of C_T and C_P of one propeller."""
    points = points[points["rpm"] >= LOWEST_RPM]
    flying = np.isin(points.index, powered(points).index)
    advance, speed = points["J"].to_numpy(float), points["rpm"].to_numpy(float) / 60.0
    diameter = float(points["diameter_in"].iloc[0]) * INCH_M
    log_re = log_reynolds(reynolds_number(advance, speed, diameter, TUNNEL_VISCOSITY_M2_S))
    values, spreads = curves.coefficients(advance, log_re), standard_deviations(curves, advance, log_re)
    reach = student_95(curves.degrees_of_freedom)
    found = {}
    for name, value, spread in zip(("CT", "CP"), values, spreads, strict=True):
        measured = points[name].to_numpy(float)
        off = 100.0 * (value - measured) / measured.max()
        held = np.abs(value - measured) <= reach * spread
        standing = advance == 0.0
        found[name] = CoefficientErrors(
            median=float(np.median(np.abs(off[flying]))),
            ninetieth=float(np.percentile(np.abs(off[flying]), 90)),
            static=float(np.median(np.abs(off[standing]))) if standing.any() else float("nan"),
            inside_interval=float(100.0 * held[flying].mean()),
            bias=float(np.median(off[flying])),
        )
    return found


def print_table(title: str, rows: Iterable[tuple[str, dict[str, CoefficientErrors]]]) -> None:
    """Print every propeller, then the median, the mean and the worst over the propellers."""
    rows = list(rows)
    heads = ("median", "90th", "static", "inside")
    print(f"\n{title}")
    print(" " * 24 + "".join(f"{part + ' ' + head:>12}" for part in ("C_T", "C_P") for head in heads))
    table = np.array([[value for part in ("CT", "CP") for value in astuple(errors[part])[:4]] for _, errors in rows])
    for (name, _), row in zip(rows, table, strict=True):
        print(f"{name:24}" + _line(row))
    for name, summary in (("median", np.median), ("mean", np.mean), ("worst", np.max)):
        print(f"{name + ' of ' + str(len(rows)):24}" + _line(summary(table, axis=0)))


def _line(values: np.ndarray) -> str:
    return "".join(f"{'-':>12}" if np.isnan(value) else f"{value:12.1f}" for value in values)
