"""One bad run must not decide a comparison, and a good one must seldom be set apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analyzer.comparison.group_model import table_of
from analyzer.comparison.outliers import find_outliers
from analyzer.comparison.records import ComparedRun
from analyzer.comparison.tuning import TUNING

ROSNER = (
    "-0.25 0.68 0.94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69 1.70 1.76 1.77 1.81 1.91 "
    "1.94 1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40 2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 "
    "3.21 3.26 3.30 3.59 3.68 4.30 4.64 5.34 5.42 6.01"
)
"""Vitamin E measurements of Rosner (1983), Technometrics 25, 165-172, as in the NIST/SEMATECH e-Handbook of Statistical
Methods, section 1.3.5.17.3 (from memory)."""


def runs_of(values: list[float], flights: list[int], groups: list[str]) -> list[ComparedRun]:
    return [
        ComparedRun(f"log{flight}.csv", str(flight), 10.0 * row, group, value, value)
        for row, (value, flight, group) in enumerate(zip(values, flights, groups, strict=True))
    ]


def test_three_outliers_are_found_in_the_published_example() -> None:
    """The handbook finds exactly three at the 5 % level: 6.01, 5.42, 5.34; testing one by one would find none, because
    they hide each other (first two statistics, 3.118 and 2.942, are below their critical values)."""
    values = [float(text) for text in ROSNER.split()]
    table = table_of(runs_of(values, list(range(len(values))), ["all"] * len(values)))
    found = find_outliers(table, replace(TUNING, outlier_level=0.05))
    assert sorted(values[row] for row in found) == [5.34, 5.42, 6.01]


def flown(seed: int, flight_sd: float = 20.0) -> tuple[list[float], list[int], list[str]]:
    rng = np.random.default_rng(seed)
    flights = np.repeat(np.arange(6), 4).tolist()
    groups = ["12x6" if flight < 3 else "14x8" for flight in flights]
    air = rng.normal(0, flight_sd, 6)
    return [900.0 + air[flight] + rng.normal(0, 15.0) for flight in flights], flights, groups


@pytest.mark.parametrize("seed", range(205, 210))
@pytest.mark.parametrize("wrong", [-300.0, 250.0])
def test_a_bad_run_is_found_whatever_its_flight(seed: int, wrong: float) -> None:
    values, flights, groups = flown(seed)
    values[9] += wrong
    assert find_outliers(table_of(runs_of(values, flights, groups)), TUNING) == (9,)


def test_two_bad_runs_do_not_hide_each_other() -> None:
    values, flights, groups = flown(203)
    values[2] -= 250.0
    values[17] -= 240.0
    assert sorted(find_outliers(table_of(runs_of(values, flights, groups)), TUNING)) == [2, 17]


def test_good_runs_are_seldom_set_apart() -> None:
    """At the 1 % level: at most 4 of 100 clean days lose a run (binomial 99 % bound for a true 1 %)."""
    lost = sum(bool(find_outliers(table_of(runs_of(*flown(seed))), TUNING)) for seed in range(100, 200))
    assert lost <= 4


@pytest.mark.parametrize("others", [1, 4])
def test_half_of_a_group_is_no_exception(others: int) -> None:
    """Two flights of one propeller, in each a slow climb and a fast one, beside a propeller that was flown steadily."""
    steady = np.random.default_rng(7).normal(11.0, 0.04, 4 * others).tolist()
    flights = [0, 0, 1, 1, *(2 + row // 4 for row in range(4 * others))]
    values, groups = [8.5, 9.7, 8.55, 9.72, *steady], ["14x8"] * 4 + ["15x10"] * 4 * others
    assert find_outliers(table_of(runs_of(values, flights, groups)), TUNING) == ()


def test_a_group_that_scatters_hides_no_bad_run_of_another() -> None:
    steady = np.random.default_rng(7).normal(11.0, 0.04, 12).tolist()
    steady[5] -= 3.0
    flights = [0, 0, 1, 1, *(2 + row // 4 for row in range(12))]
    values, groups = [8.5, 9.7, 8.55, 9.72, *steady], ["14x8"] * 4 + ["15x10"] * 12
    assert find_outliers(table_of(runs_of(values, flights, groups)), TUNING) == (9,)


def test_a_few_runs_have_no_outliers() -> None:
    assert find_outliers(table_of(runs_of([1.0, 1.1, 9.0], [0, 1, 2], ["a"] * 3)), TUNING) == ()
