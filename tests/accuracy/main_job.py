"""How well segments, figures and standard errors agree with the truth of simulated flights.

    python tests/accuracy/main_job.py --seeds 1000:1040 --difficulty normal
    python tests/accuracy/main_job.py --seeds 0:40 --difficulty hard --only segmentation --each

Seeds 0 to 499 are for tuning, 1000 and above for reporting: figures in the documentation come from the latter, and
nothing is ever tuned on them. `--each` names the logs in which an event was missed or false.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from simulator import Difficulty, SimulatedFlight, scenario_for, simulate

from accuracy.baseline import plain_segments
from accuracy.report import print_report, report
from accuracy.score import Figures, ScoreCard, match_events, score_segments

if TYPE_CHECKING:
    from analyzer.records import FlightSummary, Log

REPORTING_FROM = 1000
SHORTEST_RUN_S = 3.0
SHORTEST_GLIDE_S = 10.0


@dataclass
class Study:
    """Scores of the analyzer and of the plain threshold analyser over the same logs."""

    card: ScoreCard = field(default_factory=ScoreCard)
    plain: ScoreCard = field(default_factory=ScoreCard)


def simulated_log(flight: SimulatedFlight) -> Log:
    """The simulated log as ingest would hand it on: stamps strictly increasing."""
    from analyzer.records import Log

    frame = flight.log.drop_duplicates("time_s").reset_index(drop=True)
    return Log(name=flight.scenario.name, sha256="", frame=frame)


def score_figures(figures: dict[str, Figures], summary: FlightSummary, flight: SimulatedFlight) -> None:
    """Add one log's measures: runs from 3 s, glides from 10 s, paired with the truth by their overlap."""
    truth = flight.truth
    climbs = [run for run in truth.motor_runs if run.airborne and run.end_s - run.start_s >= SHORTEST_RUN_S]
    for run, real in match_events(summary.motor_runs, climbs):
        for name in ("charge_ah", "energy_wh", "height_gain_m", "climb_per_ah_m"):
            figures[name].add(getattr(run, name), getattr(real, name), getattr(run, f"{name}_se"))
    glides = [glide for glide in truth.glides if glide.end_s - glide.settled_s >= SHORTEST_GLIDE_S]
    for glide, real_glide in match_events(summary.glides, glides):
        figures["sink_rate_m_s"].add(glide.sink_rate_m_s, real_glide.sink_rate_m_s, glide.sink_rate_se_m_s)
    for thermal, real_thermal in match_events(summary.thermal_climbs, truth.thermal_climbs):
        figures["thermal_gain_m"].add(thermal.height_gain_m, real_thermal.height_gain_m)


def analyse(card: ScoreCard, flight: SimulatedFlight, only: str | None) -> None:
    """Run the analysis on one simulated log and add its scores to a card."""
    from analyzer.conditioning import condition
    from analyzer.segmentation import segment

    truth = flight.truth
    log = condition(simulated_log(flight))
    segmentation = segment(log)
    score_segments(card, segmentation.segments, truth.segments, truth.duration_s, truth.zooms)
    card.flights_right += len(segmentation.flights) == len(truth.flights)
    if only is None:
        from analyzer.measures import measure

        score_figures(card.figures, measure(log, segmentation), flight)


def run_study(
    seeds: range, difficulty: Difficulty, only: str | None = None, tell: Callable[[str], Any] | None = None
) -> Study:
    """Score all seeds; `tell` hears of each log in which an event was missed or false."""
    study = Study()
    for seed in seeds:
        flight = simulate(scenario_for(difficulty, seed), seed)
        truth = flight.truth
        score_segments(study.plain, plain_segments(flight.log), truth.segments, truth.duration_s, truth.zooms)
        if only == "baseline":
            continue
        before = _counts(study.card)
        analyse(study.card, flight, only)
        after = _counts(study.card)
        wrong = [f"{after[key] - before[key]} {key}" for key in after if after[key] > before[key]]
        if tell and wrong:
            tell(f"{flight.scenario.name}: {', '.join(wrong)}")
    return study


def _counts(card: ScoreCard) -> dict[str, int]:
    counts = {f"{kind} missed": events.missed for kind, events in card.events.items()}
    return counts | {f"{kind} false": events.false for kind, events in card.events.items()}


def main() -> None:
    """Run the study and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1000:1040", help="first:last, last excluded (default %(default)s)")
    parser.add_argument("--difficulty", choices=["normal", "hard"], default="normal")
    parser.add_argument("--only", choices=["segmentation", "baseline"], help="leave the later stages out")
    parser.add_argument("--each", action="store_true", help="name the logs with a missed or false event")
    arguments = parser.parse_args()
    first, last = (int(part) for part in arguments.seeds.split(":"))
    study = run_study(range(first, last), arguments.difficulty, arguments.only, print if arguments.each else None)
    use = "reporting" if first >= REPORTING_FROM else "tuning"
    print(f"{last - first} {arguments.difficulty} logs, {use} seeds {first} to {last - 1}")
    print_report(report(study.card, study.plain, arguments.difficulty))


if __name__ == "__main__":
    main()
