"""How well wind, circles, netto and the odds of passed lift agree with the truth of simulated flights.

    python tests/accuracy/soaring_thermals.py --flights 40 --difficulty normal
    python tests/accuracy/soaring_thermals.py --flights 40 --difficulty hard

Random flights of the simulator, each with position logged (5 Hz, 1.1 m of white noise), some with airspeed as drawn.
Wind and period are compared climb by climb where at least two full circles were flown; netto with the true mean rise of
the air over the climb found; the odds of passed lift with how often the true air there, without gusts of a second or
two, exceeded the own sink in a circle. Seeds from 2000; nothing was tuned on them.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from simulator import Difficulty, SimulatedFlight, scenario_for, simulate
from simulator.airframe import sink_at
from simulator.flight import Flight
from simulator.scenario import Sensor
from simulator.truth import TrueThermal

from analyzer.conditioning import condition
from analyzer.measures import measure
from analyzer.records import Log
from analyzer.segmentation import segment
from analyzer.setup_file import Setup
from analyzer.soaring.records import SoaringReport, Thermal
from analyzer.soaring.report import soar

CIRCLES = 2.0
BANK_DEG = 35.0


def flights(difficulty: Difficulty, count: int, first: int) -> Iterator[tuple[int, SimulatedFlight]]:
    """Seeds and simulated flights with position."""
    place = Sensor(noise=1e-5, quantum=1e-6, rate_hz=5.0, lag_s=0.3)
    for seed in range(first, first + count):
        scenario = scenario_for(difficulty, seed)
        sensors = {**scenario.recorder.sensors, "latitude_deg": place, "longitude_deg": place}
        yield seed, simulate(replace(scenario, recorder=replace(scenario.recorder, sensors=sensors)), seed)


def analysed(flight: SimulatedFlight, setup: Setup | None) -> SoaringReport:
    """The soaring report of a simulated flight."""
    frame = flight.log.drop_duplicates("time_s").reset_index(drop=True)
    log = condition(Log("simulated", "", frame))
    cut = segment(log, setup)
    return soar(log, cut, measure(log, cut, setup), setup)


def true_climb(flight: SimulatedFlight, thermal: Thermal) -> TrueThermal | None:
    """The true climb that shares at least half of a climb's time."""
    climb = thermal.climb

    def shared(true: TrueThermal) -> float:
        return min(true.end_s, climb.end_s) - max(true.start_s, climb.start_s)

    best = max(flight.truth.thermal_climbs, key=shared, default=None)
    return best if best is not None and shared(best) > 0.5 * (climb.end_s - climb.start_s) else None


def study(difficulty: Difficulty, count: int, first: int) -> dict[str, list[Any]]:
    """All errors, by quantity."""
    found: dict[str, list[Any]] = defaultdict(list)
    for seed, flight in flights(difficulty, count, first):
        setup = Setup.model_validate(flight.setup)
        plain, known = analysed(flight, None), analysed(flight, setup)
        for thermal, same in zip(plain.thermals, known.thermals, strict=False):
            true = true_climb(flight, thermal)
            if true is not None:
                _circles(found, thermal, true)
                _netto(found, flight, thermal, "netto")
                _netto(found, flight, same, "netto, setup known")
        _passed(found, seed, flight, plain)
    return found


def _circles(found: dict[str, list[Any]], thermal: Thermal, true: TrueThermal) -> None:
    if true.circle_period_s is None or true.end_s - true.start_s < CIRCLES * true.circle_period_s:
        return
    found["wind found"].append(thermal.wind is not None)
    if thermal.wind is not None and thermal.wind.circles >= CIRCLES:
        found["wind m/s"].append(thermal.wind.speed_m_s - true.wind_m_s)
        found["wind error over se"].append((thermal.wind.speed_m_s - true.wind_m_s) / thermal.wind.speed_se_m_s)
        if true.wind_m_s > 1.0:
            found["wind deg"].append((thermal.wind.from_deg - true.wind_from_deg + 180.0) % 360.0 - 180.0)
    if thermal.circling is not None:
        found["period s"].append(thermal.circling.period_s - true.circle_period_s)


def _netto(found: dict[str, list[Any]], flight: SimulatedFlight, thermal: Thermal, name: str) -> None:
    if thermal.netto is not None:
        error = thermal.netto.netto_m_s - _true_air(flight, thermal.climb.start_s, thermal.climb.end_s)
        found[f"{name} m/s"].append(error)
        found[f"{name}: air's own sink left out m/s"].append(error - flight.scenario.weather.subsidence_m_s)
        found[f"{name} error over se"].append(error / thermal.netto.netto_se_m_s)


def _passed(found: dict[str, list[Any]], seed: int, flight: SimulatedFlight, report: SoaringReport) -> None:
    trace = flight.trace
    gusts = np.array(Flight(flight.scenario, np.random.default_rng([seed, 7])).air.vertical_gust)[: len(trace)]
    lasting = trace["air_vertical_m_s"].to_numpy() - gusts
    frame = flight.scenario.airframe
    speeds = np.arange(4.0, 20.0, 0.1)
    straight = min(sink_at(frame, speed, 1.15) for speed in speeds)
    needed = straight / np.cos(np.radians(BANK_DEG)) ** 1.5
    for item in report.lift_passed:
        inside = ((trace["time_s"] >= item.start_s) & (trace["time_s"] <= item.end_s)).to_numpy()
        found["passed"].append((item.probability, float(lasting[inside].mean()) > needed))


def _true_air(flight: SimulatedFlight, start_s: float, end_s: float) -> float:
    time = flight.trace["time_s"].to_numpy()
    inside = (time >= start_s) & (time <= end_s)
    return float(flight.trace["air_vertical_m_s"].to_numpy()[inside].mean())


def table(found: dict[str, list[Any]]) -> str:
    """One line a quantity: number, median and 80 % quantile of the magnitude, bias; then the odds."""
    lines = [f"{'quantity':42} {'n':>4}  median   80 %    bias"]
    for name, values in found.items():
        if name == "passed":
            continue
        if name == "wind found":
            lines.append(f"{name:42} {len(values):4}  {100.0 * np.mean(values):5.0f} %")
        elif name.endswith("over se"):
            inside = 100.0 * np.mean(np.abs(values) < 1.96)
            lines.append(f"{name:42} {len(values):4}  {inside:5.0f} % within 1.96")
        else:
            middle, most = np.quantile(np.abs(values), [0.5, 0.8])
            lines.append(f"{name:42} {len(values):4}  {middle:6.3f}  {most:6.3f}  {np.mean(values):+6.3f}")
    lines.append("passed lift: odds given, number, share that would have climbed")
    passed = np.array(found["passed"], dtype=float).reshape(-1, 2)
    for low, high in ((0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 1.001)):
        chosen = passed[(passed[:, 0] >= low) & (passed[:, 0] < high)]
        if chosen.size:
            lines.append(f"  {low:.1f} to {min(high, 1.0):.1f}  {len(chosen):4}  {chosen[:, 1].mean():.2f}")
    return "\n".join(lines)


def main() -> None:
    """Run the study."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--flights", type=int, default=20)
    parser.add_argument("--first", type=int, default=2000)
    parser.add_argument("--difficulty", choices=["normal", "hard"], default="normal")
    arguments = parser.parse_args()
    print(table(study(arguments.difficulty, arguments.flights, arguments.first)))


if __name__ == "__main__":
    main()
