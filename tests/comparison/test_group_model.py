"""What a layout of runs, flights and days can bear, and what it cannot."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analyzer.comparison.group_model import NO_COMMON_DAY, ONE_FLIGHT_EACH, RunTable, design_of, fit_groups, table_of
from analyzer.comparison.records import ComparedRun
from analyzer.comparison.tuning import TUNING

Layout = list[tuple[str, str, int, str]]  # group, flight, runs, day


def table(layout: Layout, seed: int = 0, shift: dict[str, float] | None = None, day_sd: float = 0.0) -> RunTable:
    """Runs of 1000 m/Ah with some scatter."""
    rng = np.random.default_rng(seed)
    days = {day: rng.normal(0, day_sd) for _, _, _, day in layout}
    runs = []
    for group, flight, count, day in layout:
        air = rng.normal(0, 10) + days[day] + (shift or {}).get(group, 0.0)
        for number in range(count):
            value = 1000.0 + air + rng.normal(0, 10)
            runs.append(ComparedRun(f"{flight}.csv", flight, 60.0 * number, group, value, value, day or None))
    return table_of(runs)


ONE_DAY: Layout = [("A", "1", 3, "d"), ("A", "2", 3, "d"), ("B", "3", 2, "d"), ("B", "4", 4, "d"), ("B", "5", 1, "d")]


def test_flights_have_flights_minus_groups_degrees() -> None:
    design = design_of(table(ONE_DAY), TUNING)
    assert (design.flight_degrees, design.day_degrees) == (3, 0)
    assert design.component.tolist() == [0, 0]


def test_a_flight_of_one_run_is_that_run() -> None:
    layout: Layout = [("A", str(number), 1, "d") for number in range(4)] + [
        ("B", str(number), 1, "d") for number in (5, 6)
    ]
    assert design_of(table(layout), TUNING).flight_degrees is None
    model = fit_groups(table(layout), TUNING)
    assert model.difference(0, 1).degrees_of_freedom == pytest.approx(4.0)


def test_one_flight_each_gives_no_interval() -> None:
    model = fit_groups(table([("A", "1", 5, "d"), ("B", "2", 5, "d")]), TUNING)
    assert model.flights_are_confounded
    assert model.why_not(0, 1) == ONE_FLIGHT_EACH


def test_one_flight_beside_several_is_compared_with_due_width() -> None:
    model = fit_groups(table([("A", "1", 6, "d"), *(("B", str(n), 3, "d") for n in range(2, 6))]), TUNING)
    assert model.why_not(0, 1) == ""
    # Its one flight's air is in the error.
    assert model.difference(0, 1).standard_error ** 2 >= model.flight_variance


def test_groups_of_different_days_cannot_be_compared() -> None:
    layout: Layout = [
        (group, f"{group}{n}", 3, day) for group, day in (("A", "1"), ("B", "1"), ("C", "2")) for n in range(3)
    ]
    model = fit_groups(table(layout), TUNING)
    assert model.why_not(0, 1) == ""
    assert model.why_not(0, 2) == NO_COMMON_DAY
    assert model.why_not(1, 2) == NO_COMMON_DAY


def test_two_days_shared_are_blocks() -> None:
    """A day that is 200 m/Ah better for all must not show in the difference, though A flew more on the good day."""
    layout: Layout = [
        ("A", "a1", 3, "good"), ("A", "a2", 3, "good"), ("A", "a3", 3, "good"), ("A", "a4", 3, "bad"),
        ("B", "b1", 3, "good"), ("B", "b2", 3, "bad"), ("B", "b3", 3, "bad"), ("B", "b4", 3, "bad"),
    ]  # fmt: skip
    flown = table(layout, seed=2)
    names = np.array([day for _, _, count, day in layout for _ in range(count)])
    moved = replace(flown, values=flown.values + np.where(names == "good", 200.0, 0.0))
    plain, better = fit_groups(flown, TUNING), fit_groups(moved, TUNING)
    assert better.design.day_degrees == 1
    assert not better.design.day_is_random
    assert better.difference(0, 1).estimate == pytest.approx(plain.difference(0, 1).estimate)
    assert better.mean(0).estimate == pytest.approx(plain.mean(0).estimate + 100.0)


def test_many_days_are_a_random_effect() -> None:
    layout: Layout = [(group, f"{group}{day}{n}", 3, str(day)) for day in range(8) for group in "AB" for n in range(2)]
    model = fit_groups(table(layout, seed=1, day_sd=60.0), TUNING)
    assert model.design.day_is_random
    # Both were flown equally on each day, so the days cancel: the error is that of 16 flights each.
    expected = np.sqrt(2 * (model.flight_variance + model.run_variance / 3) / 16)
    assert model.difference(0, 1).standard_error == pytest.approx(expected, rel=0.02)


def test_one_flight_a_day_is_the_day() -> None:
    layout: Layout = [("A" if n % 2 else "B", str(n), 3, f"day{n}") for n in range(10)]
    design = design_of(table(layout), TUNING)
    assert (design.flight_degrees, design.day_degrees) == (8, 0)


@pytest.mark.parametrize("known", ["", "2026-05-01"])
def test_days_are_not_told_apart_unless_all_are_known(known: str) -> None:
    layout: Layout = [("A", "1", 2, known), ("A", "2", 2, known), ("B", "3", 2, ""), ("B", "4", 2, "")]
    model = fit_groups(table(layout), TUNING)
    assert model.design.day_degrees == 0
    assert model.why_not(0, 1) == ""


def test_taking_rows_out_keeps_the_codes_dense() -> None:
    flown = table(ONE_DAY)
    less = flown.without([0, 1, 2])
    assert less.names == ("A", "B")
    assert sorted(np.unique(less.flights)) == list(range(4))
    assert fit_groups(less, TUNING).table is less


@pytest.mark.parametrize(
    "layout", [ONE_DAY, [(g, f"{g}{d}{n}", 2, d) for g in "AB" for d in "123456" for n in range(2)]]
)
def test_intervals_hold_the_truth_as_often_as_promised(layout: Layout) -> None:
    """95 % intervals of a difference that is 50: at least 90 % and, being made for few flights, rather more."""
    from analyzer.comparison.multiple import critical_t

    held = 0
    for seed in range(150):
        difference = fit_groups(table(layout, seed, {"A": 50.0}, day_sd=20.0), TUNING).difference(0, 1)
        half = critical_t(2, difference.degrees_of_freedom, 0.95) * difference.standard_error
        held += abs(difference.estimate - 50.0) <= half
    assert held >= 135


def lagging_days(durations_s: dict[str, float], count: int, lag_s: float) -> list[tuple[float, float, float]]:
    """Difference A minus B and its standard errors, with and without the shared part, on days of one wrong lag each."""
    rng = np.random.default_rng(11)
    found = []
    for _ in range(count):
        wrong_s = rng.normal(0.0, lag_s)
        runs = [
            ComparedRun(
                f"{group}{flight}.csv",
                f"{group}{flight}",
                60.0 * number,
                group,
                value := 1000.0 * (1.0 + wrong_s / length_s) + rng.normal(0.0, 5.0),
                value,
                shared_error=value * lag_s / length_s,
            )
            for group, length_s in durations_s.items()
            for flight in range(4)
            for number in range(5)
        ]
        model = fit_groups(table_of(runs), TUNING)
        contrast = model.difference(0, 1)
        plain = model.fit.contrast(model.rows[0] - model.rows[1]).standard_error
        found.append((contrast.estimate, contrast.standard_error, plain))
    return found


def test_an_altimeters_lag_that_all_runs_share_does_not_average_out() -> None:
    """Climbs of 8 s against climbs of 20 s, no true difference: only with the shared error does the interval hold."""
    days = np.array(lagging_days({"A": 8.0, "B": 20.0}, 150, 0.15))
    held = np.abs(days[:, :1]) <= 2.0 * days[:, 1:]
    assert held[:, 0].mean() >= 0.92
    assert held[:, 1].mean() < 0.6


def test_between_equally_long_climbs_the_shared_lag_cancels() -> None:
    days = np.array(lagging_days({"A": 15.0, "B": 15.0}, 20, 0.15))
    np.testing.assert_allclose(days[:, 1], days[:, 2], rtol=1e-3)
