"""How well the folding-propeller family reproduces measured sizes, and sizes that were left out of its fit.

    python tests/accuracy/propeller_leave_one_out.py MEASUREMENTS.csv

MEASUREMENTS.csv: wind-tunnel points of the UIUC Propeller Database (columns prop, diameter_in, pitch_in, rpm, J, CT,
CP), which is not part of the project. Nothing is tuned on the left-out propeller: mean, modes and their spread come
from the other 33.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import pandas as pd

from accuracy.propeller_errors import curve_errors, print_table
from accuracy.propeller_family_fit import fitted_family, read_measurements
from analyzer.power_system.family_model import family_curves, mean_curves
from analyzer.power_system.propeller import Propeller


def main(path: str) -> None:
    """Print both tables."""
    table = pd.read_csv(path)
    table = table[table["prop"].str.startswith("folding_carbon_")]
    points = {name.removeprefix("folding_carbon_"): group for name, group in table.groupby("prop")}
    propellers = read_measurements(path)
    whole = fitted_family(propellers)
    sizes = [Propeller(one.diameter_in, one.pitch_in) for one in propellers]
    print_table(
        "measured sizes, per cent of the peak",
        [(size.name, curve_errors(family_curves(size, whole), points[size.name])) for size in sizes],
    )
    rows = []
    for left_out, size in zip(propellers, sizes, strict=True):
        others = [one for one in propellers if one is not left_out]
        family = fitted_family(others)
        rows.append((size.name, curve_errors(mean_curves(size, family), points[size.name])))
    print_table("left out of the fit, per cent of the peak", rows)


if __name__ == "__main__":
    main(sys.argv[1])
