"""How well segments, figures and standard errors agree with the truth of simulated flights.

    python tests/accuracy/main_job.py --seeds 1000:1040 --difficulty normal
    python tests/accuracy/main_job.py --seeds 0:40 --difficulty hard --only segmentation

Seeds 0 to 499 are for tuning, 1000 and above for reporting: figures in the documentation come from the latter, and
nothing is ever tuned on them.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from simulator import SimulatedFlight, scenario_for, simulate

from accuracy.baseline import plain_segments
from accuracy.report import print_report
from accuracy.score import ScoreCard, match_events, score_segments
from analyzer.records import FlightSummary, Log

REPORTING_FROM = 1000


def simulated_log(flight: SimulatedFlight) -> Log:
    """The simulated log as ingest would hand it on."""
    return Log(name=flight.scenario.name, sha256="", frame=flight.log)


def flights(first: int, last: int, difficulty: str) -> Iterator[SimulatedFlight]:
    """Simulated flights of a range of seeds."""
    for seed in range(first, last):
        yield simulate(scenario_for(difficulty, seed), seed)


def score_figures(card: ScoreCard, summary: FlightSummary, flight: SimulatedFlight) -> None:
    """Add one log's measures to a score card; events are paired by their overlap."""
    truth = flight.truth
    climbs = [run for run in truth.motor_runs if run.airborne and run.end_s - run.start_s >= 3.0]
    for run, real in match_events(summary.motor_runs, climbs):
        for name in ("charge_ah", "energy_wh", "height_gain_m", "climb_per_ah_m"):
            card.figures[name].add(getattr(run, name), getattr(real, name), getattr(run, f"{name}_se"))
    glides = [glide for glide in truth.glides if glide.end_s - glide.settled_s >= 10.0]
    for glide, real_glide in match_events(summary.glides, glides):
        card.figures["sink_rate_m_s"].add(glide.sink_rate_m_s, real_glide.sink_rate_m_s, glide.sink_rate_se_m_s)
    for thermal, real_thermal in match_events(summary.thermal_climbs, truth.thermal_climbs):
        card.figures["thermal_gain_m"].add(thermal.height_gain_m, real_thermal.height_gain_m)


def study(first: int, last: int, difficulty: str, only: str | None) -> tuple[ScoreCard, ScoreCard]:
    """Score cards of the analyzer and of the plain threshold analyser."""
    card, plain = ScoreCard(), ScoreCard()
    for flight in flights(first, last, difficulty):
        truth = flight.truth
        score_segments(plain, plain_segments(flight.log), truth.segments, truth.duration_s, truth.zooms)
        if only != "baseline":
            _analyse(card, flight, only)
    return card, plain


def _analyse(card: ScoreCard, flight: SimulatedFlight, only: str | None) -> None:
    from analyzer.conditioning import condition
    from analyzer.segmentation import segment

    truth = flight.truth
    log = condition(simulated_log(flight))
    segmentation = segment(log)
    score_segments(card, segmentation.segments, truth.segments, truth.duration_s, truth.zooms)
    card.flights_right += len(segmentation.flights) == len(truth.flights)
    if only is None:
        from analyzer.measures import measure

        score_figures(card, measure(log, segmentation), flight)


def main() -> None:
    """Run the study and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1000:1040", help="first:last, last excluded")
    parser.add_argument("--difficulty", choices=["normal", "hard"], default="normal")
    parser.add_argument("--only", choices=["segmentation", "baseline"], help="leave the later stages out")
    arguments = parser.parse_args()
    first, last = (int(part) for part in arguments.seeds.split(":"))
    card, plain = study(first, last, arguments.difficulty, arguments.only)
    use = "reporting" if first >= REPORTING_FROM else "tuning"
    print(f"{arguments.difficulty} logs, {use} seeds {first} to {last - 1}")
    print_report(card, plain, arguments.difficulty)


if __name__ == "__main__":
    main()
