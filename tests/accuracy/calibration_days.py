"""Calibrate on one propeller's log, predict another's climb: how often the interval holds, and how far off it is.

    python tests/accuracy/calibration_days.py --days 1000:1320

Each day is one case (see propeller_test_days.py): a log of three to five climbs with one propeller goes through the
whole pipeline; the calibrated setup then predicts current and climb per amp-hour of a propeller that was not flown, and
the simulator knows both. Beside it stands the prediction from the data sheets alone. Seeds below 1000 are for tuning;
what is reported comes from seeds of 1000 and above. A prediction that calls the other propeller no answer at all, or a
log that tells nothing, is counted apart.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from accuracy.propeller_test_days import TestDay, test_day
from analyzer.analysis import analyze_conditioned
from analyzer.conditioning import condition
from analyzer.errors import NoAnswerError
from analyzer.match.calibration import calibrate
from analyzer.power_system.prediction import predict
from analyzer.power_system.prediction_records import Estimate
from analyzer.setup_file import Setup

REPORTING_FROM = 1000
QUANTITIES = ("current_a", "climb_per_ah_m")
MEDIAN_ERROR_PERCENT = {"current_a": 5.0, "climb_per_ah_m": 8.0}
HELD_PERCENT = (93.0, 97.0)


@dataclass(frozen=True)
class Case:
    """One quantity of one day: what was predicted and what is true."""

    quantity: str
    calibrated: bool
    of_measured_make: bool
    predicted: Estimate
    truth: float

    @property
    def held(self) -> bool:
        """Whether the 95 % interval holds the truth."""
        return self.predicted.low <= self.truth <= self.predicted.high

    @property
    def error_percent(self) -> float:
        """Size of the error."""
        return 100.0 * abs(self.predicted.value / self.truth - 1.0)

    @property
    def width_percent(self) -> float:
        """Half-width of the interval."""
        return 100.0 * self.predicted.half_width / self.truth


def cases_of(day: TestDay) -> list[Case]:
    """Calibrate on the day's log and hold both predictions of the other propeller against the truth.

    Raises
    ------
    NoAnswerError
        When the log tells nothing.
    """
    analysis = analyze_conditioned(condition(day.log), day.setup)
    fitted = calibrate([analysis], day.setup).setup
    return [*_cases(day, day.setup, False), *_cases(day, fitted, True)]


def _cases(day: TestDay, setup: Setup, calibrated: bool) -> list[Case]:
    best = predict(setup, [day.other]).propellers[0].best_climb
    if best is None:
        return []
    return [
        Case(name, calibrated, day.of_measured_make, getattr(best, name), float(getattr(day.truth, name)))
        for name in QUANTITIES
    ]


@dataclass
class Study:
    """All cases, and the days that gave none."""

    cases: list[Case]
    silent: int = 0
    without_climb: int = 0

    def some(self, quantity: str, calibrated: bool, of_measured_make: bool | None = None) -> list[Case]:
        """The cases of one kind."""
        return [
            case
            for case in self.cases
            if case.quantity == quantity
            and case.calibrated == calibrated
            and of_measured_make in (None, case.of_measured_make)
        ]


def run_study(seeds: Iterable[int], tell: Callable[[str], Any] | None = None) -> Study:
    """Score days by their seeds."""
    study = Study([])
    for seed in seeds:
        try:
            found = cases_of(test_day(seed))
        except NoAnswerError as error:
            study.silent += 1
            if tell:
                tell(f"day {seed}: {error}")
            continue
        study.without_climb += len(found) < 2 * len(QUANTITIES)
        study.cases += found
        if tell:
            for case in found:
                if case.calibrated and not case.held:
                    tell(
                        f"day {seed}: {case.quantity} truth {case.truth:.1f} not in "
                        f"{case.predicted.low:.1f} to {case.predicted.high:.1f}"
                    )
    return study


def print_table(study: Study) -> None:
    """Print coverage, errors and widths, calibrated and not, for all days and for each kind of make."""
    print(f"{'':46}{'cases':>6}{'held %':>8}{'median':>8}{'90th':>8}{'95 % ±':>8}  (errors and half-width in %)")
    makes = ((None, "all days"), (True, "of the measured make"), (False, "of another make"))
    for quantity in QUANTITIES:
        for calibrated in (True, False):
            for make, name in makes:
                cases = study.some(quantity, calibrated, make)
                if cases:
                    how = "calibrated" if calibrated else "data sheets"
                    print(
                        f"{quantity:16}{how:12} {name:<17.17}{_row(cases)}{_verdict(quantity, calibrated, make, cases)}"
                    )
    print(f"logs that told nothing: {study.silent}; predictions without a climb: {study.without_climb}")


def _row(cases: list[Case]) -> str:
    errors = np.array([case.error_percent for case in cases])
    widths = np.median([case.width_percent for case in cases])
    held = 100.0 * np.mean([case.held for case in cases])
    return f"{len(cases):6d}{held:8.1f}{np.median(errors):8.1f}{np.percentile(errors, 90):8.1f}{widths:8.1f}"


def _verdict(quantity: str, calibrated: bool, make: bool | None, cases: list[Case]) -> str:
    if not calibrated or make is not None:
        return ""
    held = 100.0 * np.mean([case.held for case in cases])
    median = np.median([case.error_percent for case in cases])
    missed = []
    if not HELD_PERCENT[0] <= held <= HELD_PERCENT[1]:
        missed.append(f"held: {HELD_PERCENT[0]:.0f} to {HELD_PERCENT[1]:.0f} wanted")
    if median >= MEDIAN_ERROR_PERCENT[quantity]:
        missed.append(f"median: under {MEDIAN_ERROR_PERCENT[quantity]:.0f} wanted")
    return f"   MISSED {', '.join(missed)}" if missed else "   reached"


def main() -> None:
    """Run the study."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--days", default="0:40", help="seeds, as 1000:1320")
    parser.add_argument("--each", action="store_true", help="name the days whose truth was outside")
    arguments = parser.parse_args()
    first, last = (int(part) for part in arguments.days.split(":"))
    print_table(run_study(range(first, last), print if arguments.each else None))


if __name__ == "__main__":
    main()
