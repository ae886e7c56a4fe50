"""The mixed model finds what made the data, and the shipped table is what it makes."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from accuracy import propeller_family_fit as family_fit
from analyzer.power_system.family_basis import basis, trend_terms

POINTS = Path(__file__).parents[1] / "power_system" / "measured_points.csv"

SIZES = [
    (diameter, round(diameter * ratio, 2))
    for diameter in (10.0, 12.0, 14.0, 16.0)
    for ratio in (0.4, 0.5, 0.6, 0.7, 0.8)
]


def made_family(spread: float, noise: float) -> tuple[list[family_fit.MeasuredPropeller], np.ndarray]:
    """Propellers made by the model itself: a random mean, one random deviation each."""
    random = np.random.default_rng(7)
    width = basis(np.zeros(1), np.zeros(1)).shape[1]
    trend = random.normal(0.0, 0.1, (4, 2 * width))
    found = []
    for diameter, pitch in SIZES:
        own = trend_terms(diameter, pitch) @ trend
        own[[0, width]] += random.normal(0.0, spread, 2)
        design = basis(random.uniform(0.0, 1.05, 150), random.uniform(-0.5, 0.5, 150))
        values = design @ own.reshape(2, -1).T + random.normal(0.0, noise, (150, 2))
        found.append(family_fit.MeasuredPropeller(f"{diameter:g}x{pitch:g}", diameter, pitch, design, values))
    return found, trend


def test_the_spread_between_propellers_is_found() -> None:
    propellers, _ = made_family(spread=0.05, noise=0.006)
    fit = family_fit.fit_family(propellers)
    assert np.sqrt(fit.covariance[0, 0]) == pytest.approx(0.05, rel=0.45)  # 16 degrees of freedom
    assert fit.degrees_of_freedom == len(SIZES) - 4


def test_without_spread_the_mean_itself_is_found() -> None:
    propellers, trend = made_family(spread=0.0, noise=0.002)
    fit = family_fit.fit_family(propellers)
    for one, (diameter, pitch) in zip(propellers, SIZES, strict=True):
        truth = one.design @ (trend_terms(diameter, pitch) @ trend).reshape(2, -1).T
        fitted = one.design @ (trend_terms(diameter, pitch) @ fit.trend).reshape(2, -1).T
        assert np.abs(fitted - truth).max() < 0.01


def test_modes_hold_the_covariance_of_the_functions() -> None:
    propellers, _ = made_family(spread=0.05, noise=0.006)
    fit = family_fit.fit_family(propellers)
    modes = family_fit.deviation_modes(fit.covariance, 6)
    design = basis(np.linspace(0.0, 0.9, 10), np.zeros(10))
    width = design.shape[1]
    whole = np.einsum("ij,jk,ik->i", design, fit.covariance[:width, :width], design)
    held = ((modes[:, :width] @ design.T) ** 2).sum(axis=0)
    assert (held / whole > 0.9).all()
    assert (held <= whole * (1.0 + 1e-9)).all()


def test_the_program_writes_a_table_that_can_be_read(tmp_path: Path) -> None:
    points = pd.read_csv(POINTS, comment="#").rename(columns={"propeller": "prop"})
    points.to_csv(tmp_path / "points.csv", index=False)
    assert family_fit.main([str(tmp_path / "points.csv"), str(tmp_path / "out.json")]) == 0
    document = json.loads((tmp_path / "out.json").read_text(encoding="utf-8"))
    assert len(document["propellers"]) == 34
    assert "University of Illinois" in document["source"]


def test_wrong_use_says_how(capsys: pytest.CaptureFixture[str]) -> None:
    assert family_fit.main([]) == 2
    assert "MEASUREMENTS.csv" in capsys.readouterr().err
