"""A flight in answers, in the order of a pilot's questions after landing: what text, report and dashboard open with."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from analyzer.display import System, clock, scale_for_symbol, scale_of, shown
from analyzer.export.flight_tables import cells_doubtful, limits_verdict
from analyzer.power_system.pack import USABLE_CHARGE
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.records import FlightSummary, Glide, MotorRun, Span
    from analyzer.setup_file import Setup
    from analyzer.soaring.records import SoaringReport

State = Literal["good", "bad", "open"]


NO_CLIMB: Final = "The motor made no climb."
MOTOR_UNKNOWN: Final = "Not known: the log has no channel that shows the motor."


@dataclass(frozen=True, slots=True)
class Answer:
    """One question and what the flight says to it.

    Attributes
    ----------
    question : str
        As the pilot would ask.
    said : str
        A sentence or two.
    state : {"good", "bad", "open"}
        Whether all is well, something needs the pilot, or it is neither.
    """

    question: str
    said: str
    state: State = "open"

    @property
    def headline(self) -> str:
        """What stands before the first full stop, colon or semicolon: the answer at a glance."""
        ends = [at + 1 for at in (self.said.find(f"{mark} ") for mark in ".:;") if at >= 0]
        return self.said[: min(ends)] if ends else self.said

    @property
    def rest(self) -> str:
        """What follows the headline."""
        return self.said[len(self.headline) :]


def answers(
    summary: FlightSummary,
    system: System = "metric",
    setup: Setup | None = None,
    beside_others: Answer | None = None,
) -> tuple[Answer, ...]:
    """Answer the questions from a flight summary.

    Parameters
    ----------
    summary : FlightSummary
        What was found.
    system : System
        Units of the sentences.
    setup : Setup, optional
        For the pack's capacity; without it nothing is asked of what is left in the pack.
    beside_others : Answer, optional
        How this flight's propeller did beside others (`propeller_answer`), where there are flights to compare with.
    """
    costed = [run for run in summary.climbs if run.height_gain_m is not None and run.charge_ah]
    capacity_ah = setup.value("pack.capacity_ah") if setup is not None else None
    return (
        _limits(summary, system),
        _cost(summary, costed, system),
        *_pack(summary, costed, capacity_ah),
        *(() if beside_others is None else (beside_others,)),
        _prediction(summary),
        _glide(summary, system),
        _air(summary, system),
    )


def _limits(summary: FlightSummary, system: System) -> Answer:
    limits = summary.power_system.limits
    verdict = limits_verdict(summary)
    known = [limit for limit in limits if limit.ok is not None and limit.margin is not None and limit.limit]
    if any(limit.ok is False for limit in known):
        return Answer("Inside its limits?", verdict, "bad")
    if not known or cells_doubtful(summary):
        return Answer("Inside its limits?", verdict)
    tightest = min(known, key=lambda limit: (limit.margin or 0.0) / abs(limit.limit))
    room = scale_for_symbol(tightest.unit, system).with_unit(tightest.margin)
    return Answer("Inside its limits?", f"{verdict} Least room: {tightest.name}, {room} left.", "good")


def _cost(summary: FlightSummary, costed: list[MotorRun], system: System) -> Answer:
    question = "What did the climbs cost?"
    runs = summary.climbs
    if not runs and summary.motor_unknown:
        return Answer(question, MOTOR_UNKNOWN)
    if not runs:
        return Answer(question, NO_CLIMB)
    if not costed:
        return Answer(question, _without_cost(runs, system))
    charges_ah = [run.charge_ah or 0.0 for run in costed]
    gain_m, charge_ah = sum(run.height_gain_m or 0.0 for run in costed), sum(charges_ah)
    least, most = (scale_of("charge_ah").text(charge) for charge in (min(charges_ah), max(charges_ah)))
    each = f"{least} mAh" if least == most else f"{least} to {most} mAh"
    gave = f"{shown('gain_m', gain_m, system)} for {shown('charge_ah', charge_ah)}"
    return Answer(
        question,
        f"{each}{' each' * (len(costed) > 1)}, {shown('climb_per_ah_m', gain_m / charge_ah, system)}: "
        f"{gave} in {_number_of(costed)} ({clock(_time_s(costed))}).",
    )


def _without_cost(runs: Sequence[MotorRun], system: System) -> str:
    """What climbs gave of which nobody measured the charge."""
    known = [run for run in runs if run.height_gain_m is not None]
    if not known:
        return f"{_number_of(runs)} in {clock(_time_s(runs))}."
    gain_m, time_s = sum(run.height_gain_m or 0.0 for run in known), _time_s(known)
    gained = f"{shown('gain_m', gain_m, system)} in {_number_of(known)} ({clock(time_s)})"
    return f"{shown('climb_rate_m_s', gain_m / time_s, system)}: {gained}. Without a current their cost is not known."


def _number_of(runs: Sequence[MotorRun]) -> str:
    return counted(len(runs), "climb")


def _time_s(spans: Sequence[Span]) -> float:
    return sum(span.duration_s for span in spans)


def _pack(summary: FlightSummary, costed: list[MotorRun], capacity_ah: float | None) -> tuple[Answer, ...]:
    """How many climbs like these are left, with some of the pack kept for the landing."""
    used_ah = summary.totals.charge_ah
    if capacity_ah is None or used_ah is None or not costed:
        return ()
    if used_ah > capacity_ah and len(summary.flights) > 1:
        return ()  # several packs, one a flight: which are left, no log tells
    question = "What is left in the pack?"
    each_ah = sum(run.charge_ah or 0.0 for run in costed) / len(costed)
    left = math.floor((USABLE_CHARGE * capacity_ah - used_ah) / each_ah)
    charge = scale_of("charge_ah")
    used = f"{charge.text(used_ah)} of {charge.with_unit(capacity_ah)} are used"
    reserve = shown("reserve_share", 1.0 - USABLE_CHARGE)
    # The charge shows neither what the pack held at first, nor whether another was put in.
    pack = "one pack for all flights, full" if len(summary.flights) > 1 else "a pack that was full"
    since = f"Counted from {pack} when the log began."
    if left < 0:
        return (Answer(question, f"Less than the {reserve} that is kept for the landing: {used}. {since}", "bad"),)
    like = "like these" if len(costed) > 1 else "like it"
    more = f"{counted(left, 'more climb')} {like}" if left else f"No further climb {like}"
    return (Answer(question, f"{more}: {used}, {reserve} is kept for the landing. {since}"),)


def _prediction(summary: FlightSummary) -> Answer:
    question = "As predicted?"
    whole = [item for item in summary.match if item.run_start_s is None and item.difference_percent is not None]
    if not whole:
        without = "Not compared: a setup with motor, propeller, pack and airframe gives the prediction."
        why_not = (notice.message for notice in summary.log.notices if notice.code == "not-matched")
        return Answer(question, next(why_not, without))
    apart = [item for item in whole if item.within_uncertainty is False]
    # What explains the difference best stands first among the findings.
    why = "".join(f" {finding.said}" for finding in summary.findings[:1] if finding.verdict == "differs")
    if not apart:
        return Answer(question, f"Yes, within the uncertainty of prediction and measurement.{why}", "good")
    said = "; ".join(f"{item.quantity} {item.difference_percent:+.0f} %" for item in apart)
    agreed = {item.quantity for item in whole} - {item.quantity for item in apart}
    if not why and "current" in agreed and "climb rate" not in agreed:
        why = " The motor draws what is predicted: check flying mass, drag, propeller, and how it was flown."
    return Answer(question, f"Measured against predicted: {said}, beyond the uncertainty.{why}", "bad")


def _glide(summary: FlightSummary, system: System) -> Answer:
    question = "How did it glide?"
    measured = [glide for glide in summary.single_mode_glides if glide.sink_rate_m_s is not None]
    if not measured:
        return Answer(question, "No glide was long enough to measure.")
    by_mode: dict[str | None, list[Glide]] = {}
    for glide in measured:
        by_mode.setdefault(glide.flight_mode, []).append(glide)
    sinks = [
        f"{shown('sink_rate_m_s', _mean_sink_m_s(glides), system)}{f' in {mode}' if mode else ''}"
        for mode, glides in by_mode.items()
    ]
    said = f"Sink {', '.join(sinks)}: mean over {clock(_time_s(measured))} of glide, the air's own motion included."
    return Answer(question, said)


def _mean_sink_m_s(glides: list[Glide]) -> float:
    return sum((glide.sink_rate_m_s or 0.0) * glide.duration_s for glide in glides) / _time_s(glides)


def _air(summary: FlightSummary, system: System) -> Answer:
    question = "What did the air give?"
    climbs, totals = len(summary.thermal_climbs), summary.totals
    said = lift_said(summary, climbs, totals.thermal_gain_m, totals.lift_share, system)
    if not climbs:
        return Answer(question, said)
    if summary.motor_unknown:
        return Answer(question, f"Not known: {said}")
    return Answer(question, said, "open" if summary.motor_by_shape else "good")


def lift_said(
    found: FlightSummary | SoaringReport, climbs: int, gain_m: float | None, lift_share: float | None, system: System
) -> str:
    """What the climbs of a flight gave, in a sentence."""
    gain = shown("gain_m", gain_m, system)
    if climbs == 0:
        return "No thermal climb."
    if found.motor_unknown:
        return f"{counted(climbs, 'climb')}, {gain}, of which the motor may be part."
    how = " (told from the motor by their shape alone)" if found.motor_by_shape else ""
    return f"{counted(climbs, 'thermal climb')}, {gain}{how}{share_said(lift_share)}."


def share_said(lift_share: float | None) -> str:
    """What lift paid of all height gained, to end a sentence with; "" where it is not known."""
    return "" if lift_share is None else f"; lift paid {shown('lift_share', lift_share)} of all height gained"
