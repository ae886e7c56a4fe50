"""The result of a comparison: the keys of its JSON document, and what the figure draws."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from analyzer.records import Notice

COMPARISON_SCHEMA: Final = "climbledger/comparison/1"


@dataclass(frozen=True, slots=True)
class ComparedRun:
    """One motor run (or glide) that took part: the figure's dot.

    Attributes
    ----------
    log : str
        File name.
    flight : str
        Identifies the flight; runs of one flight share its air.
    start_s : float
        From the log's first sample.
    group : str
        What it is compared by, its propeller for example.
    value : float
        The metric, corrected to the reference conditions.
    as_flown : float
        The metric as measured.
    day : str or None
        Date of the flight, where known: flights of one day share its weather.
    weight : float
        Precision beside the other runs; a glide's is its length.
    shared_error : float
        Standard error that all runs have in common, with one sign: it does not average out, and cancels from a
        difference only as far as it is alike.
    correction_errors : tuple of float
        The same of the corrections for mass, air density and pack voltage.
    launch_error : float
        The same of the time that launches spend in the hand; 0 for a climb begun in flight.
    """

    log: str
    flight: str
    start_s: float
    group: str
    value: float
    as_flown: float
    day: str | None = None
    weight: float = 1.0
    shared_error: float = 0.0
    correction_errors: tuple[float, float, float] = (0.0, 0.0, 0.0)
    launch_error: float = 0.0


@dataclass(frozen=True, slots=True)
class SetAside:
    """A run that was not compared, and why, in words for the pilot."""

    log: str
    start_s: float
    why: str


@dataclass(frozen=True, slots=True)
class GroupResult:
    """One group: how much was flown, its mean and the mean's interval (None where one flight cannot give it)."""

    name: str
    runs: int
    flights: int
    mean: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class Difference:
    """Group a against group b.

    Attributes
    ----------
    a, b : str
        Names; a's mean is the higher one.
    difference : float
        Mean of a minus mean of b.
    low, high : float or None
        Simultaneous interval: all intervals of the comparison hold at once with the stated confidence. None when the
        data cannot tell the groups' difference from that of the air they were flown in.
    percent, low_percent, high_percent : float or None
        The same of b's mean, the interval by Fieller (1954); None where b's mean is not surely above zero.
    decided : bool
        Whether the interval leaves out zero.
    more_runs_needed : int or None
        About how many further runs with each would show the worthwhile difference; 0 when enough are there.
        None when no number can be given.
    p_value : float or None
        Chance of a difference this large, in this comparison, if none were real; corrected for multiple comparisons.
    odds : float or None
        Odds that a is really the higher one, ``(1 - p/2) / (p/2)``: of two groups the posterior odds when before the
        flights either was as likely to be the higher one and any size of difference as likely as any other; of more
        groups, whose p is corrected, no more than these.
    detectable_percent : float or None
        The difference that these runs would have shown with the stated power.
    degrees_of_freedom : float or None
        Of the interval.
    why_not : str
        When there is no interval: the reason, in words.
    unlike : str
        When no number of runs can be given because of what the groups were flown in: in what they differ too much.
    """

    a: str
    b: str
    difference: float
    percent: float | None
    low_percent: float | None
    high_percent: float | None
    decided: bool
    more_runs_needed: int | None
    low: float | None = None
    high: float | None = None
    p_value: float | None = None
    odds: float | None = None
    detectable_percent: float | None = None
    degrees_of_freedom: float | None = None
    why_not: str = ""
    unlike: str = ""


@dataclass(frozen=True, slots=True)
class Reference:
    """The common conditions that the values were corrected to; None for what was not corrected."""

    mass_kg: float | None = None
    air_density_kg_m3: float | None = None
    pack_voltage_v: float | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything a comparison found.

    Attributes
    ----------
    metric, unit, by : str
        What was compared, its unit, and what the groups are.
    groups : tuple of GroupResult
        Highest mean first.
    differences : tuple of Difference
        Every pair.
    set_aside : tuple of SetAside
        Runs that did not take part.
    verdict : tuple of str
        The answer in sentences, the most important first.
    confidence : float
        Of every interval.
    worthwhile_percent : float
        The difference that `Difference.more_runs_needed` is about.
    reference : Reference
        Conditions that values are corrected to.
    flight_sd, run_sd : float or None
        Scatter between flights and between runs of one flight, in the metric's unit.
    runs : tuple of ComparedRun
        What took part.
    notices : tuple of Notice
        What could not be corrected, and the like.
    """

    metric: str
    by: str
    groups: tuple[GroupResult, ...]
    differences: tuple[Difference, ...]
    set_aside: tuple[SetAside, ...]
    unit: str
    verdict: tuple[str, ...]
    confidence: float
    worthwhile_percent: float
    reference: Reference
    flight_sd: float | None
    run_sd: float | None
    runs: tuple[ComparedRun, ...]
    notices: tuple[Notice, ...] = ()
    schema: str = COMPARISON_SCHEMA
