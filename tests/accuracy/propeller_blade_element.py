"""Blade-element theory alone, with its one generic blade, against every measured propeller of six families.

    python tests/accuracy/propeller_blade_element.py MEASUREMENTS.csv

The blade's width was matched once to the folding family as a whole; nothing is tuned to a propeller, and nothing at
all to the one-piece families.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
import pandas as pd

from accuracy.propeller_errors import CoefficientErrors, powered, print_table
from analyzer.constants import INCH_M
from analyzer.power_system import blade_element
from analyzer.power_system.family_basis import TUNNEL_VISCOSITY_M2_S, reynolds_number

WITHIN = 15.0


def theory_errors(points: pd.DataFrame) -> dict[str, CoefficientErrors]:
    """Errors of theory for one propeller."""
    flying = powered(points)
    first = flying.iloc[0]
    advance, speed = flying["J"].to_numpy(float), flying["rpm"].to_numpy(float) / 60.0
    reynolds = reynolds_number(advance, speed, first["diameter_in"] * INCH_M, TUNNEL_VISCOSITY_M2_S)
    values = blade_element.coefficients(first["pitch_in"] / first["diameter_in"], advance, reynolds)
    found = {}
    for name, value in zip(("CT", "CP"), values, strict=True):
        off = 100.0 * (value - flying[name].to_numpy(float)) / points[name].max()
        found[name] = CoefficientErrors(
            median=float(np.median(np.abs(off))),
            ninetieth=float(np.percentile(np.abs(off), 90)),
            static=float("nan"),
            inside_interval=float("nan"),
            bias=float(np.median(off)),
        )
    return found


def main(path: str) -> None:
    """Print the table, and how many propellers of how many families are within the mark."""
    table = pd.read_csv(path)
    rows = [(str(name), theory_errors(points)) for name, points in table.groupby("prop")]
    print_table("blade-element theory, per cent of the peak", rows)
    good = [name for name, errors in rows if max(errors["CT"].median, errors["CP"].median) <= WITHIN]
    families = sorted({name.rsplit("_", 1)[0] for name in good})
    print(f"C_T and C_P within {WITHIN:g} %: {len(good)} of {len(rows)} propellers, families {', '.join(families)}")


if __name__ == "__main__":
    main(sys.argv[1])
