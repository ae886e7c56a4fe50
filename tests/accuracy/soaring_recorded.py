"""Recorded soaring flights of full-size aircraft against their own ground track.

    python tests/accuracy/soaring_recorded.py FOLDER

The recordings are no part of the project. FOLDER holds one CSV a flight (time_s, altitude_m, ground_speed_m_s, east_m,
north_m) and circling_climbs.csv (flight, start_s, end_s): stretches in which the track circles and gains height,
found from the track alone. Printed for each flight: the share of those stretches that thermal climbs cover by at least
half, the share of their time, thermal climbs whose track does not circle, and the wind found in the circles. Nothing is
tuned to these aircraft: they sink faster and circle wider than a model.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
import pandas as pd

from analyzer.circling.position import metres_per_degree
from analyzer.conditioning import condition
from analyzer.measures import measure
from analyzer.records import Log
from analyzer.segmentation import segment
from analyzer.soaring.records import SoaringReport
from analyzer.soaring.report import soar

LATITUDE_DEG, LONGITUDE_DEG = 45.0, 0.0


def analysed(path: Path) -> SoaringReport:
    """The soaring report of one recording, placed at an arbitrary spot."""
    frame = pd.read_csv(path)
    per_east, per_north = metres_per_degree(LATITUDE_DEG)
    frame["latitude_deg"] = LATITUDE_DEG + frame.pop("north_m") / per_north
    frame["longitude_deg"] = LONGITUDE_DEG + frame.pop("east_m") / per_east
    log = condition(Log(path.name, "", frame.astype(float)))
    cut = segment(log)
    return soar(log, cut, measure(log, cut))


def overlap_s(start_s: float, end_s: float, report: SoaringReport) -> float:
    """Time of a stretch that lies in thermal climbs."""
    climbs = [thermal.climb for thermal in report.thermals]
    return sum(max(0.0, min(end_s, climb.end_s) - max(start_s, climb.start_s)) for climb in climbs)


def line(name: str, stretches: pd.DataFrame, report: SoaringReport) -> str:
    """One flight."""
    shared = np.array([overlap_s(row.start_s, row.end_s, report) for row in stretches.itertuples()])
    lengths = (stretches["end_s"] - stretches["start_s"]).to_numpy()
    found = int(np.sum(shared >= 0.5 * lengths))
    time = f"{100.0 * shared.sum() / lengths.sum():.0f} %" if lengths.size else "-"
    circling = [thermal for thermal in report.thermals if thermal.circling is not None]
    wind = report.wind
    said = f"{wind.speed_m_s:.1f} m/s from {wind.from_deg:.0f} deg, {wind.circles:.0f} circles" if wind else "-"
    banks = [t.circling.bank_deg for t in circling if t.circling and t.circling.bank_deg is not None]
    bank = f"{np.median(banks):.0f} deg" if banks else "-"
    return (
        f"{name:14} {found:3} of {len(lengths):3} {time:>7} {len(report.thermals):7} "
        f"{len(report.thermals) - len(circling):9} {bank:>8}  {said}"
    )


def main() -> None:
    """Read a folder of recordings."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    known = pd.read_csv(folder / "circling_climbs.csv")
    print(f"{'flight':14} {'found':>10} {'of time':>7} {'climbs':>7} {'no circle':>9} {'bank':>8}  wind")
    for path in sorted(folder.glob("*.csv")):
        if path.name != "circling_climbs.csv":
            print(line(path.stem, known[known["flight"] == path.stem], analysed(path)))


if __name__ == "__main__":
    main()
