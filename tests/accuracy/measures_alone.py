"""How well the measures alone agree with the truth of simulated flights: true segments, so that only they err.

    python tests/accuracy/measures_alone.py --seeds 1000:1100 --difficulty normal
    python tests/accuracy/measures_alone.py --seeds 0:100 --difficulty hard --segments found

For each figure: the size of the errors, their median with its sign, and the share of cases within two stated standard
errors. Besides the figures that `main_job.py` scores: what is known of the altimeter, the pack, circles and drift.
Seeds 0 to 499 are for tuning, 1000 and above for reporting.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from simulator import Difficulty, SimulatedFlight, scenario_for, simulate

from accuracy.main_job import SHORTEST_GLIDE_S, SHORTEST_RUN_S, simulated_log
from accuracy.score import Figures, match_events

if TYPE_CHECKING:
    from analyzer.measures.altimeter import Altimeter
    from analyzer.records import FlightSummary, Log, Segmentation

RELATIVE = (
    "charge_ah",
    "energy_wh",
    "height_gain_m",
    "climb_per_ah_m",
    "climb_per_wh_m",
    "max_current_a",
    "min_voltage_v",
    "thermal gain",
    "circle period",
    "pack ohm",
    "motor gain",
    "total charge",
    "total energy",
)
"""Figures whose errors are told as shares of the truth; the others in their own unit."""

RUN_FIGURES = ("charge_ah", "energy_wh", "height_gain_m", "climb_per_ah_m", "climb_per_wh_m", "zoom_gain_m")


def true_segmentation(flight: SimulatedFlight) -> Segmentation:
    """The truth's segments as segmentation would give them."""
    from analyzer.records import Flight, Segment, Segmentation

    truth = flight.truth
    segments = tuple(Segment(s.kind, s.start_s, s.end_s, s.start_altitude_m, s.end_altitude_m) for s in truth.segments)  # type: ignore[arg-type]
    return Segmentation(tuple(Flight(*times) for times in truth.flights), segments)


def score(figures: dict[str, Figures], summary: FlightSummary, flight: SimulatedFlight) -> None:
    """Add one log's figures."""
    truth = flight.truth
    runs = [run for run in truth.motor_runs if run.airborne and run.end_s - run.start_s >= SHORTEST_RUN_S]
    for run, real in match_events(summary.motor_runs, runs):
        for name in RUN_FIGURES:
            figures[name].add(getattr(run, name), getattr(real, name), getattr(run, f"{name}_se"))
        figures["max_current_a"].add(run.max_current_a, real.max_current_a)
        figures["min_voltage_v"].add(run.min_voltage_v, real.min_voltage_v)
    glides = [glide for glide in truth.glides if glide.end_s - glide.settled_s >= SHORTEST_GLIDE_S]
    for glide, real_glide in match_events(summary.glides, glides):
        figures["sink rate"].add(glide.sink_rate_m_s, real_glide.sink_rate_m_s, glide.sink_rate_se_m_s)
        figures["typical sink, still air"].add(
            glide.typical_sink_m_s, real_glide.still_air_sink_m_s, glide.typical_sink_se_m_s
        )
    for climb, real_climb in match_events(summary.thermal_climbs, truth.thermal_climbs):
        figures["thermal gain"].add(climb.height_gain_m, real_climb.height_gain_m, climb.height_gain_m_se)
        figures["thermal climb rate"].add(climb.climb_rate_m_s, real_climb.climb_rate_m_s, climb.climb_rate_m_s_se)
        if climb.circle_period_s is not None and real_climb.circle_period_s is not None:
            figures["circle period"].add(climb.circle_period_s, real_climb.circle_period_s)
        if climb.drift_m_s is not None:
            figures["drift, wind m/s"].add(climb.drift_m_s, real_climb.wind_m_s)
    score_log(figures, summary, flight)


def score_log(figures: dict[str, Figures], summary: FlightSummary, flight: SimulatedFlight) -> None:
    """Add what there is once a log."""
    truth, pack = flight.truth.totals, summary.power_system
    figures["pack ohm"].add(pack.pack_resistance_ohm, flight.scenario.pack.resistance_ohm, pack.pack_resistance_ohm_se)
    if flight.scenario.recorder.avionics_on_pack:
        figures["total charge"].add(summary.totals.charge_ah, truth.charge_ah)
        figures["total energy"].add(summary.totals.energy_wh, truth.energy_wh)
    if truth.motor_gain_m > 0.0:
        figures["motor gain"].add(summary.totals.motor_gain_m, truth.motor_gain_m)


def altimeter_of(log: Log, segmentation: Segmentation) -> Altimeter:
    """What the measures find out about the altimeter."""
    from analyzer.measures import TUNING
    from analyzer.measures.edge_heights import heights_of
    from analyzer.measures.traces import traces_of

    return heights_of(traces_of(log), segmentation, TUNING).altimeter


def run(seeds: range, difficulty: Difficulty, true_segments: bool) -> dict[str, Figures]:
    """Score all seeds."""
    from analyzer.conditioning import condition
    from analyzer.measures import measure
    from analyzer.segmentation import segment

    figures: dict[str, Figures] = defaultdict(Figures)
    for seed in seeds:
        flight = simulate(scenario_for(difficulty, seed), seed)
        log = condition(simulated_log(flight))
        segmentation = true_segmentation(flight) if true_segments else segment(log)
        score(figures, measure(log, segmentation), flight)
        altimeter = altimeter_of(log, segmentation)
        if altimeter.stops:
            recorder = flight.scenario.recorder
            figures["altimeter lag s"].add(altimeter.lag_s, recorder.sensors["altitude_m"].lag_s, altimeter.lag_se_s)
            figures["propeller wash m"].add(altimeter.wash_m, recorder.propwash_m, altimeter.wash_se_m)
    return figures


def lines(figures: dict[str, Figures]) -> Iterator[str]:
    """The table."""
    yield f"{'':26s}{'values':>7s}{'median':>9s}{'90 %':>9s}{'signed':>9s}{'within 2 se':>13s}{'not given':>11s}"
    for name, entry in figures.items():
        relative = name in RELATIVE
        errors = entry.errors(relative) * (100.0 if relative else 1.0)
        if errors.size:
            size, unit = np.abs(errors), "%" if relative else " "
            covered = f"{entry.coverage():13.3f}" if np.isfinite(entry.coverage()) else f"{'':13s}"
            yield (
                f"{name:26s}{size.size:7d}{np.median(size):8.3f}{unit}{np.quantile(size, 0.9):8.3f}{unit}"
                f"{np.median(errors):8.3f}{unit}{covered}{entry.absent:11d}"
            )


def main() -> None:
    """Run the study and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1000:1100", help="first:last, last excluded (default %(default)s)")
    parser.add_argument("--difficulty", choices=["normal", "hard"], default="normal")
    parser.add_argument("--segments", choices=["true", "found"], default="true")
    arguments = parser.parse_args()
    first, last = (int(part) for part in arguments.seeds.split(":"))
    print(f"{last - first} {arguments.difficulty} logs, seeds {first} to {last - 1}, {arguments.segments} segments")
    for line in lines(run(range(first, last), arguments.difficulty, arguments.segments == "true")):
        print(line)


if __name__ == "__main__":
    main()
