"""How well the polar is measured: least sink, its speed, best glide, coverage of the band.

    python tests/accuracy/soaring_polar.py --flights 40

Simulated flights of about ten minutes of glide at changing speeds, with airspeed and position logged, in air of a given
unrest. The simulated drag is no parabola: profile drag has a bucket and a Reynolds number, and flow separates near the
stall. Truth is the simulator's own sink in still air at the density flown. Seeds from 2000; nothing was tuned on them.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from simulator import Scenario, scenario_for, simulate
from simulator.airframe import sink_at
from simulator.scenario import Defects, Phase, Sensor

from analyzer.conditioning import condition
from analyzer.measures import measure
from analyzer.records import Log
from analyzer.segmentation import segment
from analyzer.soaring.records import PolarReport
from analyzer.soaring.report import soar

MINUTES = 10.0


@dataclass(frozen=True)
class Air:
    """How restless the air is: lasting patches and gusts, one sigma, and its mean sink."""

    name: str
    patchiness_m_s: float
    gust_m_s: float
    subsidence_m_s: float


AIRS = (
    Air("evening", 0.03, 0.15, 0.0),
    Air("calm day", 0.06, 0.3, 0.0),
    Air("day", 0.12, 0.5, 0.1),
)


@dataclass(frozen=True)
class Error:
    """Measured less true, and whether the band covered the truth at the speed of the best glide."""

    least_sink_m_s: float
    least_sink_speed_m_s: float
    best_glide_percent: float
    sink_at_best_glide_m_s: float
    covered: bool
    reached: bool


def gliding(seed: int, air: Air) -> Scenario:
    """Motor climbs and glides of 20 to 45 s at 0.8 to 1.6 times the speed of the best glide."""
    rng = np.random.default_rng([seed, 31])
    scenario = scenario_for("normal", seed)
    plan = [Phase("wait", 10.0), Phase("hold", 5.0)]
    glided_s = 0.0
    while glided_s < MINUTES * 60.0:
        plan.append(Phase("climb", 60.0, throttle=1.0, ceiling_m=250.0, max_angle_deg=40.0, mode="climb"))
        for _ in range(6):
            glide = Phase("glide", rng.uniform(20.0, 45.0), speed=rng.uniform(0.8, 1.6))
            plan.append(glide)
            glided_s += glide.duration_s
    plan += [Phase("land", 600.0), Phase("roll", 8.0)]
    place = Sensor(noise=1e-5, quantum=1e-6, rate_hz=5.0, lag_s=0.3)
    sensors = {
        **scenario.recorder.sensors,
        "airspeed_m_s": Sensor(noise=0.3, quantum=0.1, lag_s=0.2),
        "latitude_deg": place,
        "longitude_deg": place,
    }
    weather = replace(
        scenario.weather,
        patchiness_m_s=air.patchiness_m_s,
        gust_m_s=air.gust_m_s,
        subsidence_m_s=air.subsidence_m_s,
    )
    return replace(
        scenario,
        plan=tuple(plan),
        weather=weather,
        defects=Defects(),
        pack=replace(scenario.pack, capacity_ah=4.0 * scenario.pack.capacity_ah),
        recorder=replace(scenario.recorder, sensors=sensors),
    )


def measured_polar(seed: int, air: Air) -> tuple[PolarReport | None, Scenario]:
    """Fly, analyse, and take the polar."""
    scenario = gliding(seed, air)
    frame = simulate(scenario, seed).log.drop_duplicates("time_s").reset_index(drop=True)
    log = condition(Log("simulated", "", frame))
    cut = segment(log)
    polars = soar(log, cut, measure(log, cut)).glide.polars
    return (polars[0] if polars else None), scenario


def error_of(polar: PolarReport, scenario: Scenario) -> Error:
    """Compare a polar with the simulator's own drag."""
    density = polar.flown.density_kg_m3
    speeds = np.arange(4.0, 25.0, 0.02)
    true = np.array([sink_at(scenario.airframe, speed, density) for speed in speeds])
    least, best = int(true.argmin()), int((speeds / true).argmax())
    curve = np.array([(p.airspeed_m_s, p.sink_m_s, p.low_m_s, p.high_m_s) for p in polar.curve]).T
    middle, low, high = (float(np.interp(speeds[best], curve[0], row)) for row in curve[1:])
    return Error(
        least_sink_m_s=polar.flown.least_sink_m_s - float(true[least]),
        least_sink_speed_m_s=polar.flown.least_sink_speed_m_s - float(speeds[least]),
        best_glide_percent=100.0 * (polar.flown.best_glide_ratio / float(speeds[best] / true[best]) - 1.0),
        sink_at_best_glide_m_s=middle - float(true[best]),
        covered=bool(low <= true[best] <= high),
        reached=polar.least_sink_reached,
    )


def study(flights: int, first: int = 2000) -> dict[str, list[Error]]:
    """Errors by air."""
    found: dict[str, list[Error]] = {}
    for air in AIRS:
        for seed in range(first, first + flights):
            polar, scenario = measured_polar(seed, air)
            if polar is not None:
                found.setdefault(air.name, []).append(error_of(polar, scenario))
    return found


def table(found: dict[str, list[Error]]) -> str:
    """Medians of magnitude and 80 % quantiles."""
    lines = [
        f"{'air':10} {'n':>3}  {'least sink m/s':>16}  {'its speed m/s':>15}  {'best glide %':>14}  "
        f"{'sink at best glide':>19}  covered  reached"
    ]
    for name, errors in found.items():
        cells = [
            "{:.3f} ({:.3f})".format(*np.quantile(np.abs([getattr(e, field) for e in errors]), [0.5, 0.8]))
            for field in ("least_sink_m_s", "least_sink_speed_m_s", "best_glide_percent", "sink_at_best_glide_m_s")
        ]
        shares = [np.mean([getattr(e, field) for e in errors]) for field in ("covered", "reached")]
        lines.append(
            f"{name:10} {len(errors):3}  {cells[0]:>16}  {cells[1]:>15}  {cells[2]:>14}  {cells[3]:>19}  "
            f"{shares[0]:7.2f}  {shares[1]:7.2f}"
        )
    return "\n".join([*lines, "median of the magnitude (80 % quantile)"])


def main() -> None:
    """Run the study."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--flights", type=int, default=20)
    parser.add_argument("--first", type=int, default=2000)
    arguments = parser.parse_args()
    print(table(study(arguments.flights, arguments.first)))


if __name__ == "__main__":
    main()
