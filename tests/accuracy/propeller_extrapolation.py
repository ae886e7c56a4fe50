"""What blade-element theory tied to the family is worth outside the measured range.

    python tests/accuracy/propeller_extrapolation.py MEASUREMENTS.csv

Whole ranges of diameter or pitch are left out of the family's fit and asked for as if they had never been measured;
beside the tied theory stands the family's own polynomial, extrapolated.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
import pandas as pd

from accuracy.propeller_errors import curve_errors, print_table
from accuracy.propeller_family_fit import fitted_family, read_measurements
from analyzer.power_system.family_model import mean_curves
from analyzer.power_system.propeller import Propeller
from analyzer.power_system.tied_blade_element import tied_curves

RANGES = {
    "14 to 16 inch from 10 to 13": lambda size: size.diameter_in <= 13.0,
    "13 to 16 inch from 10 to 12.5": lambda size: size.diameter_in <= 12.5,
    "10 inch from 11 to 16": lambda size: size.diameter_in > 10.5,
    "10 and 11 inch from 12 to 16": lambda size: size.diameter_in > 11.5,
    "pitch/diameter above 0.78 from below": lambda size: size.pitch_ratio <= 0.78,
    "pitch/diameter above 0.68 from below": lambda size: size.pitch_ratio <= 0.68,
    "pitch/diameter below 0.45 from above": lambda size: size.pitch_ratio >= 0.45,
    "pitch/diameter below 0.52 from above": lambda size: size.pitch_ratio >= 0.52,
}


def main(path: str) -> None:
    """Print a table for each range, and the coverage of the intervals over all."""
    table = pd.read_csv(path)
    points = dict(tuple(table.groupby("prop")))
    propellers = read_measurements(path)
    held = []
    for title, keep in RANGES.items():
        sizes = {Propeller(one.diameter_in, one.pitch_in): one for one in propellers}
        kept = [one for size, one in sizes.items() if keep(size)]
        family = fitted_family(kept)
        asked = [size for size in sizes if not keep(size)]
        measured = {size: points[f"folding_carbon_{size.name}"] for size in asked}
        tied = [(size.name, curve_errors(tied_curves(size, family), measured[size])) for size in asked]
        print_table(f"{title}: tied theory", tied)
        polynomial = [curve_errors(mean_curves(size, family), measured[size]) for size in asked]
        means = [np.mean([errors[part].median for errors in polynomial]) for part in ("CT", "CP")]
        print(f"family's polynomial, mean of the medians: C_T {means[0]:.1f}, C_P {means[1]:.1f}")
        held += [[errors[part].inside_interval for part in ("CT", "CP")] for _, errors in tied]
    print(f"\ninside the 95 % interval, mean over {len(held)} cases: C_T and C_P {np.mean(held, axis=0).round(1)}")


if __name__ == "__main__":
    main(sys.argv[1])
