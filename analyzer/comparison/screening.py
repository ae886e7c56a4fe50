"""Runs that cannot be compared are set aside, each with its reason in words.

A reason never depends on how well the run did: that would decide the comparison beforehand. (The one exception, runs
foreign to all others, is a test of its own: `analyzer.comparison.outliers`.)
"""

from __future__ import annotations

import statistics
from collections import Counter
from typing import TYPE_CHECKING

from analyzer.comparison.conditions import common_conditions, corrected, furthest_from
from analyzer.comparison.flights import power_system_of, sink_key, usual_sinks
from analyzer.comparison.metrics import METRICS
from analyzer.comparison.records import SetAside

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from analyzer.comparison.flights import Candidate
    from analyzer.comparison.metrics import Metric
    from analyzer.comparison.tuning import ComparisonTuning

    Rule = Callable[[Candidate], str]
    """Says why a run cannot be compared; "" when it can."""
    RulesFor = Callable[[Sequence[Candidate]], list[Rule]]


def screen(
    candidates: Sequence[Candidate], by: str, metric: Metric, tuning: ComparisonTuning
) -> tuple[list[Candidate], list[SetAside]]:
    """Part the runs that can be compared from those that cannot.

    Parameters
    ----------
    candidates : sequence of Candidate
        All runs.
    by : str
        What they are compared by.
    metric : Metric
        What is compared.
    tuning : ComparisonTuning
        Where the lines are drawn.
    """
    kept, aside = list(candidates), list[SetAside]()
    for rules_for in (_motor_rules if metric.source == "motor_runs" else _glide_rules)(by, metric, tuning):
        # Each round sees only what the one before has passed: the group's usual current is that of real runs.
        rules = rules_for(kept) if kept else []
        reasons = [next((why for rule in rules if (why := rule(candidate))), "") for candidate in kept]
        judged = list(zip(kept, reasons, strict=True))
        aside += [SetAside(candidate.log, candidate.result.start_s, why) for candidate, why in judged if why]
        kept = [candidate for candidate, why in judged if not why]
    return kept, aside


def _motor_rules(by: str, metric: Metric, tuning: ComparisonTuning) -> list[RulesFor]:
    return [
        lambda _: [_no_group(by), _no_real_run(tuning), _no_value(metric), _gap(tuning)],
        lambda runs: [_part_throttle(runs, by, tuning), _moving_air(runs, tuning)],
        lambda runs: [_imprecise(tuning), _too_far(runs, by, metric, tuning)],
    ]


def _glide_rules(by: str, metric: Metric, tuning: ComparisonTuning) -> list[RulesFor]:
    return [
        lambda _: [_no_group(by), _short_glide(tuning), _no_value(metric)],
        lambda glides: [_other_mode(glides), _too_far(glides, by, metric, tuning)],
    ]


def _no_group(by: str) -> Rule:
    return lambda candidate: "" if candidate.group else f"no {by} is known of this flight"


def _no_real_run(tuning: ComparisonTuning) -> Rule:
    def rule(candidate: Candidate) -> str:
        if getattr(candidate.result, "on_ground", False):
            return "on the ground"
        if getattr(candidate.result, "blip", False) or candidate.result.duration_s < tuning.shortest_run_s:
            return f"too short ({candidate.result.duration_s:.1f} s)"
        return ""

    return rule


def _short_glide(tuning: ComparisonTuning) -> Rule:
    def rule(candidate: Candidate) -> str:
        length_s = candidate.result.duration_s
        return f"too short ({length_s:.0f} s)" if length_s < tuning.shortest_glide_s else ""

    return rule


def _no_value(metric: Metric) -> Rule:
    return lambda candidate: "" if candidate.value is not None else f"no {metric.label.lower()} could be measured"


def _gap(tuning: ComparisonTuning) -> Rule:
    def rule(candidate: Candidate) -> str:
        share = getattr(candidate.result, "interpolated_charge_share", None) or 0.0
        return (
            f"{100.0 * share:.0f} % of its charge lies in a gap of the log" if share > tuning.most_interpolated else ""
        )

    return rule


def _part_throttle(candidates: Sequence[Candidate], by: str, tuning: ComparisonTuning) -> Rule:
    """By the throttle where all runs of the group have it, else by the current beside that of its power system."""

    def kind_of(run: Candidate) -> tuple[str, ...]:
        return (run.group, *power_system_of(run.flown))

    throttles: dict[str, list[float | None]] = {}
    for candidate in candidates:
        throttles.setdefault(candidate.group, []).append(getattr(candidate.result, "mean_throttle", None))
    full = {
        group: max(known)
        for group, values in throttles.items()
        if len(known := [value for value in values if value is not None]) == len(values)
    }
    currents = _currents(candidates, by, tuning)
    alike: dict[tuple[str, ...], list[float]] = {}
    for run in candidates:
        if id(run) in currents:
            alike.setdefault(kind_of(run), []).append(currents[id(run)])
    usual = {kind: statistics.median(values) for kind, values in alike.items()}

    def rule(candidate: Candidate) -> str:
        throttle, current = getattr(candidate.result, "mean_throttle", None), currents.get(id(candidate))
        if candidate.group in full and throttle is not None:
            is_part = throttle < tuning.lowest_throttle * full[candidate.group]
            return f"part throttle ({100.0 * throttle:.0f} %)" if is_part else ""
        if current is None or current >= tuning.lowest_current * usual[kind_of(candidate)]:
            return ""
        return f"part throttle, by its current ({current:.0f} A, usually {usual[kind_of(candidate)]:.0f} A)"

    return rule


def _currents(candidates: Sequence[Candidate], by: str, tuning: ComparisonTuning) -> dict[int, float]:
    """Mean current of each run at common conditions."""
    metric = METRICS["mean_current_a"]
    reference, _ = common_conditions(candidates, by, metric)
    return {
        id(candidate): corrected(
            metric, current, candidate.conditions, reference, climb_rate_m_s=None, default_sag=tuning.default_sag
        )
        for candidate in candidates
        if (current := getattr(candidate.result, "mean_current_a", None)) is not None
    }


def _moving_air(candidates: Sequence[Candidate], tuning: ComparisonTuning) -> Rule:
    flights = {id(candidate.flown): candidate.flown for candidate in candidates}.values()
    usual = usual_sinks(flights, tuning)

    def rule(candidate: Candidate) -> str:
        run, summary = candidate.result, candidate.flown.summary
        for climb in summary.thermal_climbs:
            if -tuning.neighbour_s <= climb.start_s - run.end_s <= tuning.neighbour_s:
                return "a thermal climb follows: flown in lift"
            if 0.0 <= run.start_s - climb.end_s <= tuning.neighbour_s:
                return "begun in a thermal: flown in lift"
        lift = _air_beside(candidate, usual, tuning)
        if abs(lift) <= tuning.lift_m_s:
            return ""
        return f"flown in {'lift' if lift > 0 else 'sink'} of about {abs(lift):.1f} m/s, by the glides beside it"

    return rule


def _air_beside(candidate: Candidate, usual: dict[tuple[str, str], float], tuning: ComparisonTuning) -> float:
    """Vertical motion of the air, m/s upwards, from the glides right before and after a run."""
    run, flown = candidate.result, candidate.flown
    motions = [
        usual[key] - glide.sink_rate_m_s
        for glide in flown.summary.glides
        if glide.sink_rate_m_s is not None
        and glide.duration_s >= tuning.neighbour_glide_s
        and (key := sink_key(flown, glide)) in usual
        and min(abs(glide.start_s - run.end_s), abs(run.start_s - glide.end_s)) <= tuning.neighbour_s
    ]
    return statistics.fmean(motions) if motions else 0.0


def _imprecise(tuning: ComparisonTuning) -> Rule:
    def rule(candidate: Candidate) -> str:
        value, error = candidate.value, candidate.standard_error
        if not value or error is None or error <= tuning.most_relative_error * abs(value):
            return ""
        return f"measured to within {100.0 * error / abs(value):.0f} % only"

    return rule


def _too_far(candidates: Sequence[Candidate], by: str, metric: Metric, tuning: ComparisonTuning) -> Rule:
    reference, _ = common_conditions(candidates, by, metric)

    def rule(candidate: Candidate) -> str:
        name, share = furthest_from(candidate.conditions, reference)
        if share <= tuning.widest_correction:
            return ""
        return f"{name} is {100.0 * share:.0f} % away from that of the others, too far to correct"

    return rule


def _other_mode(candidates: Sequence[Candidate]) -> Rule:
    modes = [getattr(candidate.result, "flight_mode", None) or "" for candidate in candidates]
    common = Counter(modes).most_common(1)[0][0] if modes else ""

    def rule(candidate: Candidate) -> str:
        mode = getattr(candidate.result, "flight_mode", None) or ""
        if mode == common:
            return ""
        return f"in flight mode '{mode or 'none'}'; glides in '{common or 'none'}' are compared"

    return rule
