"""How far makes of propellers, and the sizes of one make, depart from the folding family's mean.

    python tests/accuracy/propeller_makes.py MEASUREMENTS.csv

MEASUREMENTS.csv: wind-tunnel points of the UIUC Propeller Database (columns prop, diameter_in, pitch_in, rpm, J, CT,
CP), which is not part of the project. For each propeller: the median of the logarithms of C_T and C_P over the mean's,
in climbing flight (35 to 75 % of the zero-thrust advance ratio). Then, over the makes of one-piece propellers, the
standard deviation within a make, and between makes (analysis of variance, one way). `InputSpread.make_load` and
`make_efficiency` rest on it.
"""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd

from analyzer.constants import INCH_M
from analyzer.power_system.family_basis import TUNNEL_VISCOSITY_M2_S, log_reynolds, reynolds_number
from analyzer.power_system.family_model import mean_curves
from analyzer.power_system.propeller import Propeller

LOWEST_RPM = 2000.0
CLIMBING = (0.35, 0.75)
FEWEST_POINTS = 3
FOLDING = "folding_carbon"


def departures(table: pd.DataFrame) -> pd.DataFrame:
    """One row a propeller: make, logarithm of thrust and power over the mean's, and of thrust for its power."""
    rows = []
    for name, points in table[table["rpm"] >= LOWEST_RPM].groupby("prop"):
        size = Propeller(float(points["diameter_in"].iloc[0]), float(points["pitch_in"].iloc[0]))
        curves = mean_curves(size)
        advance, speed = points["J"].to_numpy(float), points["rpm"].to_numpy(float) / 60.0
        share = advance / curves.advance_scale
        climbing = (share > CLIMBING[0]) & (share < CLIMBING[1])
        if climbing.sum() < FEWEST_POINTS:
            continue
        reynolds = reynolds_number(advance[climbing], speed[climbing], size.diameter_in * INCH_M, TUNNEL_VISCOSITY_M2_S)
        means = curves.coefficients(advance[climbing], log_reynolds(reynolds))
        thrust, power = (
            float(np.median(np.log(np.maximum(points[key].to_numpy(float)[climbing], 1e-3) / mean)))
            for key, mean in zip(("CT", "CP"), means, strict=True)
        )
        rows.append((str(name).rsplit("_", 1)[0], thrust, power, thrust - power))
    return pd.DataFrame(rows, columns=["make", "thrust", "power", "thrust for its power"])


def spreads(found: pd.DataFrame, what: str) -> tuple[float, float]:
    """Standard deviation within a make, and between makes."""
    groups = found.groupby("make")[what]
    within = float(np.sqrt(((found[what] - groups.transform("mean")) ** 2).sum() / (len(found) - groups.ngroups)))
    between = groups.mean().var(ddof=1) - within**2 * float((1.0 / groups.count()).mean())
    return within, float(np.sqrt(max(between, 0.0)))


def main(path: str) -> None:
    """Print every make, then the spreads."""
    found = departures(pd.read_csv(path))
    columns = list(found.columns[1:])
    print(found.groupby("make")[columns].agg(["count", "mean", "std"]).round(3).to_string())
    one_piece = found[found["make"] != FOLDING]
    print(f"\n{'one-piece propellers':24}{'within a make':>16}{'between makes':>16}")
    for what in columns:
        within, between = spreads(one_piece, what)
        print(f"{what:24}{within:16.3f}{between:16.3f}")
    folding = found[found["make"] == FOLDING]
    print(f"\ncorrelation of thrust and power, folding: {np.corrcoef(folding['thrust'], folding['power'])[0, 1]:.3f}")


if __name__ == "__main__":
    main(sys.argv[1])
