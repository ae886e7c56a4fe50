"""How often a comparison is right, over invented test days with a known truth; beside it, plain mean against mean.

    python tests/accuracy/comparison_days.py --days 500

Seeds below 2000 are for tuning; what is reported comes from seeds of 2000 and above.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np

from accuracy.simulated_days import TestDay, simulate_day
from analyzer.comparison.compare import compare_flights
from analyzer.comparison.records import Comparison

REPORTING_FROM = 2000
REAL = 0.10


@dataclass
class Score:
    """Counts over days."""

    days: int = 0
    without_interval: int = 0
    pairs: int = 0
    pairs_held: int = 0
    days_held: int = 0
    days_decided: int = 0
    days_wrong: int = 0
    best_decided: int = 0
    best_pairs: int = 0
    widths: list[float] = field(default_factory=list)

    def add(self, results: Sequence[tuple[float, float, float, bool]]) -> None:
        """Take in a day's pairs: truth, low, high (percent), whether best against another is asked for."""
        self.days += 1
        if not results:
            self.without_interval += 1
            return
        held = [low <= truth <= high for truth, low, high, _ in results]
        decided = [low > 0.0 or high < 0.0 for _, low, high, _ in results]
        self.pairs += len(held)
        self.pairs_held += sum(held)
        self.days_held += all(held)
        self.days_decided += any(decided)
        self.days_wrong += any(
            yes and (abs(truth) < 1e-3 or (low > 0.0) != (truth > 0.0))
            for (truth, low, _, _), yes in zip(results, decided, strict=True)
        )
        asked = [yes for (_, _, _, is_asked), yes in zip(results, decided, strict=True) if is_asked]
        self.best_pairs += len(asked)
        self.best_decided += sum(asked)
        self.widths += [0.5 * (high - low) for _, low, high, _ in results]

    @property
    def judged(self) -> int:
        """Days on which an interval could be given."""
        return self.days - self.without_interval


def truth_of(day: TestDay, comparison: Comparison) -> dict[str, float]:
    """True climb per amp-hour at the conditions that the comparison chose."""
    reference = comparison.reference
    voltage, density, mass = reference.pack_voltage_v, reference.air_density_kg_m3, reference.mass_kg
    assert voltage is not None
    assert density is not None
    assert mass is not None
    return {name: drive.climb_per_ah_m(voltage, density, mass) for name, drive in day.drives.items()}


def judged_pairs(day: TestDay, comparison: Comparison, best: str) -> list[tuple[float, float, float, bool]]:
    """The comparison's own intervals beside the truth."""
    truth = truth_of(day, comparison)
    return [
        (100.0 * (truth[pair.a] / truth[pair.b] - 1.0), pair.low_percent, pair.high_percent, best in (pair.a, pair.b))
        for pair in comparison.differences
        if pair.low_percent is not None and pair.high_percent is not None
    ]


def plain_pairs(day: TestDay, comparison: Comparison, best: str) -> list[tuple[float, float, float, bool]]:
    """Mean against mean of the values as measured, each run by itself (Welch's interval)."""
    from scipy.special import stdtrit

    values: dict[str, list[float]] = {}
    for flown in day.flights:
        values.setdefault(flown.propeller, []).extend(run.climb_per_ah_m or 0.0 for run in flown.summary.motor_runs)
    truth = truth_of(day, comparison)
    results = []
    for a, b in combinations(sorted(values), 2):
        one, other = np.array(values[a]), np.array(values[b])
        parts = one.var(ddof=1) / len(one), other.var(ddof=1) / len(other)
        degrees = sum(parts) ** 2 / (parts[0] ** 2 / (len(one) - 1) + parts[1] ** 2 / (len(other) - 1))
        half = float(stdtrit(degrees, 0.975)) * np.sqrt(sum(parts))
        middle, scale = one.mean() - other.mean(), 100.0 / other.mean()
        truth_percent = 100.0 * (truth[a] / truth[b] - 1.0)
        results.append((truth_percent, scale * (middle - half), scale * (middle + half), best in (a, b)))
    return results


def study(
    days: int, first_seed: int, draw: Callable[[np.random.Generator], tuple[float, ...]], **kind: Any
) -> tuple[Score, Score]:
    """Fly so many days and score both ways of comparing them."""
    ours, plain = Score(), Score()
    for seed in range(first_seed, first_seed + days):
        rng = np.random.default_rng([seed, 11])
        day = simulate_day(rng, draw(rng), **kind)
        comparison = compare_flights(day.flights)
        best = "13x7"
        ours.add(judged_pairs(day, comparison, best))
        plain.add(plain_pairs(day, comparison, best))
    return ours, plain


def any_differences(rng: np.random.Generator) -> tuple[float, ...]:
    """Two to four propellers that differ as they please."""
    return tuple(rng.normal(0.0, 0.08, int(rng.integers(2, 5))).tolist())


def no_difference(rng: np.random.Generator) -> tuple[float, ...]:
    """Two to four propellers, all alike."""
    return (0.0,) * int(rng.integers(2, 5))


def one_better(rng: np.random.Generator) -> tuple[float, ...]:
    """Two to four propellers, the second 10 % better than the others."""
    return (0.0, REAL, 0.0, 0.0)[: int(rng.integers(2, 5))]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--days", type=int, default=500)
    parser.add_argument("--first-seed", type=int, default=REPORTING_FROM)
    options = parser.parse_args()
    differing = study(options.days, options.first_seed, any_differences)
    alike = study(options.days, options.first_seed, no_difference)
    better = study(options.days, options.first_seed, one_better, runs=(8, 12), flights=(3, 6))
    lively = study(options.days, options.first_seed, one_better, runs=(8, 12), flights=(3, 6), is_lively=True)
    rows = [
        ("all intervals of the day hold the truth", "93 to 97 %", differing, lambda s: s.days_held / s.judged),
        ("each interval by itself holds the truth", "", differing, lambda s: s.pairs_held / s.pairs),
        ("a wrong decision on the day", "", differing, lambda s: s.days_wrong / s.judged),
        ("no true difference, yet one decided", "at most 5 %", alike, lambda s: s.days_decided / s.judged),
        ("10 % better: decided against another", "at least 80 %", better, lambda s: s.best_decided / s.best_pairs),
        ("   the same days: all intervals hold", "93 to 97 %", better, lambda s: s.days_held / s.judged),
        ("10 % better, in lively air: decided", "", lively, lambda s: s.best_decided / s.best_pairs),
        ("   the same days: all intervals hold", "93 to 97 %", lively, lambda s: s.days_held / s.judged),
    ]
    print(f"{options.days} days a row, seeds from {options.first_seed}")
    print(f"{'':42}{'wanted':>15}{'climbledger':>14}{'mean-mean':>12}")
    for title, wanted, (ours, plain), share in rows:
        print(f"{title:42}{wanted:>15}{share(ours):>13.1%} {share(plain):>11.1%}")
    for title, (ours, plain) in (("any difference", differing), ("8+ runs, 3+ flights", better)):
        print(f"median half-width, {title:22}{'':>15}{np.median(ours.widths):>13.1f}%{np.median(plain.widths):>11.1f}%")
    print(f"days without an interval (one flight with each propeller): {differing[0].without_interval}")


if __name__ == "__main__":
    main()
