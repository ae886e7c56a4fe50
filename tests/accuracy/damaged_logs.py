"""What faults of sensors and links cost: simulated logs, each with one fault, scored as the sound ones are.

    python tests/accuracy/damaged_logs.py --seeds 1000:1030 --difficulty normal

Prints one line a fault. In flight, the altimeter counts anew from zero, at once or behind 4 s of silence; it reads zero
for 3 s, twice; every channel is held for 5 s at the stops of two motor runs; the rpm is held while the motor stands;
the propeller does not fold after one run, and the air turns it; the current's zero is off by 8 A; four rows are garbled
on their way, or lost and read zero, in all channels.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from simulator import Difficulty, SimulatedFlight, scenario_for, simulate

from accuracy.main_job import score_figures, simulated_log
from accuracy.score import Figures, ScoreCard, score_segments

if TYPE_CHECKING:
    from collections.abc import Callable

    Damage = Callable[[pd.DataFrame, SimulatedFlight, np.random.Generator], pd.DataFrame]


def sound(frame: pd.DataFrame, _flight: SimulatedFlight, _rng: np.random.Generator) -> pd.DataFrame:
    """Nothing is changed."""
    return frame


def new_zero(frame: pd.DataFrame, flight: SimulatedFlight, rng: np.random.Generator, silent_s: float) -> pd.DataFrame:
    """The altimeter restarts, and all channels are silent meanwhile."""
    at_s = _in_flight(flight, rng)
    after = frame["time_s"] >= at_s + silent_s
    level_m = frame["altitude_m"][after].dropna().iloc[0]
    anew = frame.assign(altitude_m=frame["altitude_m"] - level_m * after)
    return anew[(frame["time_s"] < at_s) | after].reset_index(drop=True)


def zeros(frame: pd.DataFrame, flight: SimulatedFlight, rng: np.random.Generator) -> pd.DataFrame:
    """The altimeter reads zero for 3 s, twice."""
    lost = np.zeros(len(frame), dtype=bool)
    for _ in range(2):
        at_s = _in_flight(flight, rng)
        lost |= frame["time_s"].between(at_s, at_s + 3.0).to_numpy()
    return frame.assign(altitude_m=frame["altitude_m"].mask(lost, 0.0))


def link_lost(frame: pd.DataFrame, flight: SimulatedFlight, rng: np.random.Generator) -> pd.DataFrame:
    """Every channel keeps what it said last for 5 s around the stops of two motor runs."""
    lost = np.zeros(len(frame), dtype=bool)
    stops = [run.end_s for run in flight.truth.motor_runs if run.airborne and run.end_s - run.start_s > 6.0]
    for stop_s in rng.permutation(stops)[:2]:
        at_s = stop_s - rng.uniform(1.0, 4.0)
        lost |= frame["time_s"].between(at_s, at_s + 5.0, inclusive="right").to_numpy()
    channels = frame.columns.drop("time_s")
    known = frame[channels].ffill()
    known[lost] = np.nan
    known = known.ffill()
    return frame.assign(**{name: frame[name].mask(lost, known[name]) for name in channels})


def rpm_held(frame: pd.DataFrame, _flight: SimulatedFlight, _rng: np.random.Generator) -> pd.DataFrame:
    """The rpm stays what it was while the motor stands."""
    if "rpm" not in frame:
        return frame
    return frame.assign(rpm=frame["rpm"].where(frame["rpm"] > 300.0).ffill().fillna(0.0))


def windmilling(frame: pd.DataFrame, flight: SimulatedFlight, rng: np.random.Generator) -> pd.DataFrame:
    """The air turns the shaft after one motor run, at an eighth of full speed, until the next one or the landing."""
    if "rpm" not in frame:
        return frame
    stops = [run.end_s for run in flight.truth.motor_runs if run.airborne]
    begins = [run.start_s for run in flight.truth.motor_runs] + [end_s for _, end_s in flight.truth.flights]
    stop_s = stops[rng.integers(len(stops))]
    turned = frame["time_s"].between(stop_s, min(begin for begin in begins if begin > stop_s))
    speed = 0.125 * frame["rpm"].quantile(0.999) * (1.0 + 0.03 * rng.standard_normal(len(frame)))
    return frame.assign(rpm=frame["rpm"].mask(turned & (frame["rpm"] < speed), speed.round()))


def zero_off(frame: pd.DataFrame, _flight: SimulatedFlight, _rng: np.random.Generator) -> pd.DataFrame:
    """The current reads 8 A too much, and so does the counter that sums it up."""
    over = {"current_a": 8.0, "charge_ah": 8.0 / 3600.0 * frame["time_s"]}
    return frame.assign(**{name: frame[name] + more for name, more in over.items() if name in frame})


def garbled(frame: pd.DataFrame, _flight: SimulatedFlight, rng: np.random.Generator) -> pd.DataFrame:
    """Four rows hold random values, up to twice the highest of each channel."""
    return _with_rows(frame, rng, lambda highest: rng.uniform(0.0, 2.0 * highest))


def rows_of_zeros(frame: pd.DataFrame, _flight: SimulatedFlight, rng: np.random.Generator) -> pd.DataFrame:
    """Four rows read zero in all channels."""
    return _with_rows(frame, rng, lambda _highest: 0.0)


def _with_rows(
    frame: pd.DataFrame, rng: np.random.Generator, value: Callable[[float], float], count: int = 4
) -> pd.DataFrame:
    """A log of which some rows hold other values; what was not logged there stays so."""
    damaged = frame.copy()
    rows = rng.choice(np.arange(5, len(frame) - 5), count, replace=False)
    for name in frame.select_dtypes("number").columns.drop("time_s"):
        highest = float(frame[name].abs().max())
        there = [row for row in rows if np.isfinite(frame[name].iloc[row])]
        damaged[name] = damaged[name].astype(float)
        damaged.iloc[there, damaged.columns.get_loc(name)] = [value(highest) for _ in there]
    return damaged


FAULTS: dict[str, Damage] = {
    "none": sound,
    "new zero": lambda *log: new_zero(*log, 0.0),
    "new zero behind a silence": lambda *log: new_zero(*log, 4.0),
    "zeros in the altitude": zeros,
    "link lost at stops": link_lost,
    "rpm held": rpm_held,
    "windmilling after a run": windmilling,
    "current 8 A too high": zero_off,
    "garbled rows": garbled,
    "rows of zeros": rows_of_zeros,
}


def _in_flight(flight: SimulatedFlight, rng: np.random.Generator) -> float:
    """An instant of a glide or a thermal climb, 5 s from its ends at least."""
    flown = (one for one in flight.truth.segments if one.kind in ("glide", "thermal_climb"))
    long = [one for one in flown if one.end_s - one.start_s > 20.0]
    chosen = long[rng.integers(len(long))]
    return float(rng.uniform(chosen.start_s + 5.0, chosen.end_s - 5.0))


def study(seeds: range, difficulty: Difficulty, fault: str) -> ScoreCard:
    """Score all seeds with one fault."""
    from analyzer.conditioning import condition
    from analyzer.measures import measure
    from analyzer.records import Log
    from analyzer.segmentation import segment

    card, rng = ScoreCard(), np.random.default_rng(1)
    for seed in seeds:
        flight = simulate(scenario_for(difficulty, seed), seed)
        truth = flight.truth
        log = condition(Log("damaged", "", FAULTS[fault](simulated_log(flight).frame, flight, rng)))
        found = segment(log)
        score_segments(card, found.segments, truth.segments, truth.duration_s, truth.zooms)
        score_figures(card.figures, measure(log, found), flight)
    return card


def told(fault: str, card: ScoreCard) -> str:
    """One line: overlaps, and errors at the 90th percentile with how many lie within two standard errors."""
    overlaps = ", ".join(f"{kind} {card.overlap[kind].f1:.3f}" for kind in ("ground", "motor_run", "thermal_climb"))
    sink, gain, charge = (card.figures[name] for name in ("sink_rate_m_s", "height_gain_m", "charge_ah"))
    return (
        f"{fault:26} F1 {overlaps}; sink {_tail(sink, False):.3f} m/s ({sink.coverage():.2f}), "
        f"gain {100.0 * _tail(gain, True):.1f} % ({gain.coverage():.2f}), "
        f"charge {100.0 * _tail(charge, True):.1f} % ({charge.coverage():.2f})"
    )


def _tail(figures: Figures, relative: bool) -> float:
    errors = figures.errors(relative)
    return float(np.quantile(np.abs(errors), 0.9)) if len(errors) else float("nan")


def main() -> None:
    """Run the study and print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1000:1030", help="first:last, last excluded (default %(default)s)")
    parser.add_argument("--difficulty", choices=["normal", "hard"], default="normal")
    arguments = parser.parse_args()
    first, last = (int(part) for part in arguments.seeds.split(":"))
    for fault in FAULTS:
        print(told(fault, study(range(first, last), arguments.difficulty, fault)), flush=True)


if __name__ == "__main__":
    main()
