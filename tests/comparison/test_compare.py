"""The whole comparison: what it says, and what it refuses."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from accuracy.simulated_days import motor_run, simulate_day, summary_of
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.comparison.compare import compare_flights, compare_runs
from analyzer.comparison.differences import ratio_interval
from analyzer.comparison.flights import LoggedFlight, propeller_name
from analyzer.comparison.metrics import METRICS
from analyzer.comparison.records import ComparedRun, Comparison
from analyzer.errors import NoAnswerError, OptionError
from analyzer.export.json_document import json_document
from analyzer.setup_file import Airframe, Gearbox, Motor, Pack, PropellerSection, Setup


def runs(
    means: dict[str, float], flights: int = 3, each: int = 3, seed: int = 0, sd: float = 10.0, air: float = 8.0
) -> list[ComparedRun]:
    """So many flights a group, so many runs a flight."""
    rng = np.random.default_rng(seed)
    made = []
    for group, mean in means.items():
        for flight in range(flights):
            lift = rng.normal(0, air)
            for number in range(each):
                value = mean + lift + rng.normal(0, sd)
                made.append(
                    ComparedRun(f"{group}-{flight}.csv", f"{group}/{flight}", 90.0 * number, group, value, value)
                )
    return made


def test_a_clear_difference_is_decided_in_words() -> None:
    comparison = compare_runs(runs({"14x8": 1100.0, "13x7": 1000.0}))
    (pair,) = comparison.differences
    assert (pair.a, pair.b, pair.decided, pair.more_runs_needed) == ("14x8", "13x7", True, 0)
    assert pair.low_percent is not None
    assert pair.high_percent is not None
    assert 0.0 < pair.low_percent < 10.0 < pair.high_percent
    (said,) = comparison.verdict
    assert said.startswith("14x8 climbs ")
    assert " % (" in said
    assert "further per Ah than 13x7 (odds " in said


def test_no_difference_says_how_many_more_climbs_would_show_one() -> None:
    comparison = compare_runs(runs({"14x8": 1000.0, "13x7": 1003.0}, flights=2, sd=60.0))
    (pair,) = comparison.differences
    assert not pair.decided
    assert pair.more_runs_needed
    assert pair.more_runs_needed % 3 == 0  # whole flights of three climbs
    assert f"about {pair.more_runs_needed} more climbs with each would show 5 %" in comparison.verdict[0]


def test_enough_flown_says_so() -> None:
    comparison = compare_runs(runs({"14x8": 1000.0, "13x7": 1000.0}, flights=12, sd=4.0, air=2.0))
    assert comparison.differences[0].more_runs_needed == 0
    assert comparison.verdict[0].endswith("one of 5 % would most likely have shown.")


def test_climbs_of_unlike_length_share_an_error_that_more_climbs_do_not_lift() -> None:
    """8 s against 20 s with 0.5 s of unknown lag: 6 % against 2.5 %, and so no number of climbs tells 5 %."""
    length_s = {"14x8": 8.0, "13x7": 20.0}
    flown = [
        replace(run, shared_error=run.value * 0.5 / length_s[run.group])
        for run in runs({"14x8": 1000.0, "13x7": 1003.0}, flights=3, sd=30.0)
    ]
    (pair,) = compare_runs(flown).differences
    assert pair.more_runs_needed is None
    assert pair.unlike == "length"
    assert compare_runs(flown).verdict[0].endswith("would show 5 %, for they differ too much in length.")
    (alike,) = compare_runs([replace(run, shared_error=0.02 * run.value) for run in flown]).differences
    assert alike.more_runs_needed
    assert alike.unlike == ""


def test_a_correction_that_differs_between_the_groups_is_in_the_interval_and_named() -> None:
    """Full packs against half empty ones: 7 % of voltage, whose correction may be off by 0.3 of it."""
    error = {"14x8": (0.0, 0.0, -0.01), "13x7": (0.0, 0.0, 0.011)}
    flown = runs({"14x8": 1000.0, "13x7": 1003.0}, flights=4, sd=5.0)
    moved = [replace(run, correction_errors=tuple(run.value * one for one in error[run.group])) for run in flown]
    (plain,), (pair,) = compare_runs(flown).differences, compare_runs(moved).differences
    assert pair.unlike == "pack voltage"
    assert pair.high - pair.low > 2.0 * 1.9 * 21.0 > plain.high - plain.low


def launched(name: str, propeller: str, later: tuple[float, ...]) -> LoggedFlight:
    """A flight that begins with a slow launch of 11 s, and climbs on as it does."""
    from analyzer.records import Flight

    made = [motor_run(20.0, 8.5 + (later[0] - 9.7 if later else 0.0), 30.0, 11.5, length_s=11.0)]
    made += [motor_run(150.0 * place, climb, 30.0, 11.5) for place, climb in enumerate(later, start=1)]
    summary = replace(summary_of(name, made), flights=(Flight(20.0, 900.0),))
    return LoggedFlight(summary, propeller=propeller, day="2026-05-02")


def test_launches_are_kept_beside_climbs_begun_in_flight() -> None:
    steady = [launched(f"{number}.csv", "15x10", (11.0, 11.05, 10.95)) for number in range(3)]
    comparison = compare_flights(
        [launched("a.csv", "14x8", (9.7,)), launched("b.csv", "14x8", (9.72,)), *steady], metric="climb_rate_m_s"
    )
    assert comparison.set_aside == ()
    assert [run.start_s for run in comparison.runs if run.launch_error] == [20.0] * 5


def test_a_propeller_flown_in_launches_alone_is_not_called_worse_for_them() -> None:
    alone = [launched(f"a{number}.csv", "14x8", ()) for number in range(4)]
    both = [launched(f"b{number}.csv", "13x7", (9.7, 9.75, 9.65, 9.7)) for number in range(4)]
    (pair,) = compare_flights([*alone, *both], metric="climb_rate_m_s").differences
    assert not pair.decided
    assert pair.unlike == "the share of launches"


def test_one_flight_each_is_not_judged() -> None:
    comparison = compare_runs(runs({"14x8": 1100.0, "13x7": 1000.0}, flights=1, each=6))
    (pair,) = comparison.differences
    assert (pair.decided, pair.low, pair.low_percent, pair.more_runs_needed, pair.odds) == (
        False,
        None,
        None,
        None,
        None,
    )
    assert comparison.groups[0].low is None
    assert comparison.verdict == (
        "14x8 and 13x7 cannot be compared: "
        "each was flown in one flight only, whose air cannot be told from the propeller; "
        "fly two more flights of each, in turn, on one day.",
    )


def test_every_pair_is_there_and_the_surest_comes_first() -> None:
    comparison = compare_runs(runs({"a": 1000.0, "b": 1010.0, "c": 1200.0, "d": 1205.0}))
    assert len(comparison.differences) == 6
    assert [group.mean for group in comparison.groups] == sorted((g.mean for g in comparison.groups), reverse=True)
    assert all(pair.difference >= 0.0 for pair in comparison.differences)
    decided = [" no difference shown" not in sentence for sentence in comparison.verdict]
    assert decided == sorted(decided, reverse=True)
    assert sum(decided) == 4


def test_the_interval_of_percent_and_of_difference_decide_alike() -> None:
    for seed in range(30):
        for pair in compare_runs(runs({"a": 1000.0, "b": 1030.0, "c": 1010.0}, seed=seed)).differences:
            assert pair.low is not None
            assert pair.low_percent is not None
            assert pair.p_value is not None
            assert (pair.low > 0.0) == (pair.low_percent > 0.0) == pair.decided == (pair.p_value < 0.05)


def test_a_bad_run_is_set_aside_and_named() -> None:
    flown = runs({"14x8": 1000.0, "13x7": 1000.0}, flights=3, each=4, seed=11)
    flown[5] = replace(flown[5], value=500.0)
    comparison = compare_runs(flown)
    (entry,) = comparison.set_aside
    assert (entry.log, entry.start_s) == (flown[5].log, flown[5].start_s)
    assert entry.why == "does not fit with the other climbs (500 m/Ah)"
    assert len(comparison.runs) == len(flown) - 1


def test_the_document_has_the_agreed_keys() -> None:
    document = json.loads(json_document(compare_runs(runs({"14x8": 1100.0, "13x7": 1000.0}))))
    assert next(iter(document)) == "schema"
    assert document["schema"] == "climbledger/comparison/1"
    assert {"metric", "by", "groups", "differences", "set_aside"} <= document.keys()
    assert {"name", "runs", "flights", "mean", "low", "high"} <= document["groups"][0].keys()
    assert {
        "a", "b", "difference", "percent", "low_percent", "high_percent", "decided", "more_runs_needed", "odds"
    } <= document["differences"][0].keys()  # fmt: skip


@given(seed=st.integers(0, 1000), factor=st.floats(0.01, 100.0))
@settings(max_examples=20, deadline=None)
def test_order_and_unit_of_the_runs_change_nothing(seed: int, factor: float) -> None:
    flown = runs({"a": 1000.0, "b": 1040.0, "c": 980.0}, seed=seed)
    mixed = [
        replace(flown[place], value=factor * flown[place].value)
        for place in np.random.default_rng(seed).permutation(27)
    ]
    plain, other = compare_runs(flown), compare_runs(mixed)
    assert [group.name for group in plain.groups] == [group.name for group in other.groups]
    for one, two in zip(plain.differences, other.differences, strict=True):
        assert one.percent == pytest.approx(two.percent, abs=1e-6)
        assert one.low_percent == pytest.approx(two.low_percent, abs=1e-3)
        assert one.decided == two.decided


def test_a_ratio_is_bounded_where_fieller_says() -> None:
    """All ratios whose difference a - r b is within the critical value: both ends solve that equation."""
    ends = ratio_interval(10.0, 8.0, 0.3, 0.2, 0.05, 2.5)
    assert ends is not None
    for ratio in ends:
        error = np.sqrt(0.3 - 2 * ratio * 0.05 + ratio**2 * 0.2)
        assert abs(10.0 - ratio * 8.0) / error == pytest.approx(2.5)
    assert ratio_interval(10.0, 0.5, 0.3, 0.2, 0.0, 2.5) is None  # b may be zero: any ratio is possible


# ---- from flights


def logged(name: str, propeller: str, climb: float, day: str = "2026-05-01", **tags: str) -> LoggedFlight:
    made = [motor_run(5.0 + 150.0 * n, climb + 0.05 * n, 30.0, 11.5 - 0.05 * n) for n in range(4)]
    return LoggedFlight(summary_of(name, made), propeller=propeller, day=day, tags=tags)


FLIGHTS = [
    logged("a.csv", "13x7", 6.0, cells="old"), logged("b.csv", "13x7", 6.1, cells="new"),
    logged("c.csv", "14x8", 6.8, cells="old"), logged("d.csv", "14x8", 6.7, cells="new"),
]  # fmt: skip


def test_flights_are_compared_by_propeller_or_a_tag() -> None:
    assert [group.name for group in compare_flights(FLIGHTS).groups] == ["14x8", "13x7"]
    assert {group.name for group in compare_flights(FLIGHTS, by="cells").groups} == {"old", "new"}


def test_a_tag_named_like_what_the_setup_says_counts_before_it() -> None:
    """Two packs of one kind, told apart by the pilot's tag "pack"."""
    setup = Setup(name="x", pack=Pack(cells=3, capacity_ah=2.6))
    flown = [replace(flight, setup=setup, tags={"pack": flight.tags["cells"]}) for flight in FLIGHTS[:3]]
    flown.append(replace(FLIGHTS[3], setup=setup, tags={}))
    assert {group.name for group in compare_flights(flown, by="pack").groups} == {"old", "new", "3S 2.6 Ah"}


def test_a_missing_date_is_said() -> None:
    flown = [replace(FLIGHTS[0], day=""), *FLIGHTS[1:]]
    assert [notice.code for notice in compare_flights(flown).notices if "date" in notice.code] == ["no-date"]
    assert not [notice for notice in compare_flights(FLIGHTS).notices if notice.code == "no-date"]


def test_where_nobody_says_which_model_was_flown_the_answer_does_not_pretend() -> None:
    """Without a setup a big model and a small one look like two propellers."""
    setup = Setup(name="x", airframe=Airframe(wingspan_m=2.5))
    known = [replace(flight, setup=setup) for flight in FLIGHTS]

    def said(flights: list[LoggedFlight]) -> list[str]:
        found = compare_flights(flights).notices
        return [notice.message.split(",")[0] for notice in found if notice.code == "model-unknown"]

    assert said(known) == []
    assert said(FLIGHTS) == ["No setup says which model was flown"]
    assert said([FLIGHTS[0], *known[1:]]) == ["4 of 16 climbs have no setup that says which model was flown"]


def test_two_models_are_named() -> None:
    """A pack that weighs more makes no other model; a wing that spans more does."""
    setups = [Setup(name="x", airframe=Airframe(wingspan_m=span, mass_kg=mass)) for span, mass in ((2, 1.5), (3, 1.6))]
    heavier = Setup(name="y", airframe=Airframe(wingspan_m=2, mass_kg=1.6))

    def said(*flown: Setup) -> list[str]:
        flights = [replace(flight, setup=setup) for flight, setup in zip(FLIGHTS, flown, strict=True)]
        return [notice.message for notice in compare_flights(flights).notices if notice.code == "models-differ"]

    assert said(setups[0], heavier, setups[0], heavier) == []
    (message,) = said(setups[0], setups[0], setups[1], setups[1])
    assert message.startswith("The climbs are of 2 models (2 m; 3 m), so a difference may be the model's.")


def test_one_climb_each_says_what_to_fly_next() -> None:
    once = [LoggedFlight(summary_of(f"{name}.csv", [motor_run(5.0, 6.0, 30.0, 11.5)]), propeller=name) for name in "ab"]
    with pytest.raises(NoAnswerError, match="cannot be told from chance; fly two more flights of each, in turn"):
        compare_flights(once)


@pytest.mark.parametrize(
    ("by", "option"), [("propeller", "--propeller 14x8"), ("motor", "--setup S.toml"), ("cells", "--tag cells=VALUE")]
)
def test_where_nothing_can_be_compared_the_pilot_is_told_how_to_say_what_is_missing(by: str, option: str) -> None:
    flown = [replace(FLIGHTS[0], propeller="", tags={"cells": ""}), replace(FLIGHTS[2], propeller="", tags={})]
    with pytest.raises(NoAnswerError) as error:
        compare_flights(flown, by=by)
    assert (
        error.value.remedy == f"no {by} is known of this flight: say it with climbledger logbook edit NUMBER {option}"
    )


def test_what_nobody_knows_cannot_be_compared_by() -> None:
    with pytest.raises(OptionError, match="propeller, motor, pack, airframe, setup, place"):
        compare_flights(FLIGHTS, by="colour")


@pytest.mark.parametrize("metric", [key for key in METRICS if key not in ("sink_rate_m_s", "climb_efficiency")])
def test_every_metric_of_a_climb_can_be_compared(metric: str) -> None:
    comparison = compare_flights(FLIGHTS, metric=metric)
    assert comparison.metric == metric
    assert comparison.unit == METRICS[metric].unit


@pytest.mark.parametrize(
    ("flights", "metric", "message"),
    [
        ([], "climb_per_ah_m", "there is no climb"),
        (FLIGHTS, "sink_rate_m_s", "there is no glide"),
        (FLIGHTS, "climb_efficiency", "none of the 16 climbs can be compared; most common reason: no climb efficiency"),
        (
            FLIGHTS[:2],
            "climb_per_ah_m",
            "compared, of one propeller alone, 13x7; add flights with another propeller",
        ),
    ],
)
def test_no_answer_says_why(flights: list[LoggedFlight], metric: str, message: str) -> None:
    with pytest.raises(NoAnswerError, match=message):
        compare_flights(flights, metric=metric)


def test_when_all_of_a_group_was_set_aside_it_says_why() -> None:
    blips = summary_of("c.csv", [motor_run(5.0, 6.8, 30.0, 11.5, length_s=2.0)] * 2)
    with pytest.raises(NoAnswerError, match=r"\(2 were set aside, most common reason: too short"):
        compare_flights([*FLIGHTS[:2], LoggedFlight(blips, propeller="14x8")])


def test_groups_are_named_as_pilots_write_them() -> None:
    setup = Setup(
        name="Demo, invented",
        motor=Motor(kv_rpm_per_v=890.0),
        gearbox=Gearbox(ratio=4.4),
        pack=Pack(cells=3, capacity_ah=2.2),
        propeller=PropellerSection(diameter_in=12.5, pitch_in=7.0, blades=3),
    )
    flight = LoggedFlight(summary_of("a.csv", []), setup)
    from analyzer.comparison.flights import group_namer

    names = {by: group_namer(by, [flight])(flight) for by in ("propeller", "motor", "pack", "setup", "place")}
    assert names == {
        "propeller": "12.5x7x3", "motor": "890 rpm/V, 4.4:1", "pack": "3S 2.2 Ah", "setup": "Demo, invented",
        "place": "",
    }  # fmt: skip
    assert propeller_name(None) == ""


@pytest.mark.parametrize("second_start_s", [400.0, 379.0], ids=["in flight", "before its release"])
def test_two_flights_in_one_log_are_two(second_start_s: float) -> None:
    """The motor may run in the hand: a run belongs to the flight that it leads into."""
    from analyzer.records import Flight

    made = [motor_run(start, 6.0, 30.0, 11.5) for start in (20.0, 150.0, second_start_s)]
    two = replace(summary_of("a.csv", made), flights=(Flight(0.0, 300.0), Flight(380.0, 700.0)))
    other = logged("b.csv", "13x7", 6.0)
    comparison: Comparison = compare_flights([LoggedFlight(two, propeller="14x8"), other, logged("c.csv", "13x7", 6.2)])
    assert {group.name: group.flights for group in comparison.groups} == {"14x8": 2, "13x7": 2}


# ---- over invented days: a reduced version of tests/accuracy/comparison_days.py


def test_invented_days_are_judged_as_promised() -> None:
    """40 days each with fixed seeds; the bounds are those of the full study less three binomial standard errors."""
    from accuracy.comparison_days import any_differences, no_difference, one_better, study

    differing, plain = study(40, 500, any_differences)
    assert differing.days_held >= 34
    assert differing.days_held > plain.days_held
    alike, plain = study(40, 600, no_difference)
    assert alike.days_decided <= 6
    assert alike.days_decided < plain.days_decided
    better, _ = study(25, 700, one_better, runs=(8, 12), flights=(3, 6))
    assert better.best_decided / better.best_pairs >= 0.65


def test_a_day_can_be_flown_again_from_its_seed() -> None:
    one, two = (simulate_day(np.random.default_rng(5), (0.0, 0.1)) for _ in range(2))
    assert compare_flights(one.flights) == compare_flights(two.flights)
