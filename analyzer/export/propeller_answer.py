"""Was the propeller better? One flight's propeller beside those of the flights that were kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.comparison.compare import compare_flights
from analyzer.comparison.flights import propeller_name
from analyzer.comparison.metrics import METRICS
from analyzer.comparison.verdict import in_words, open_question
from analyzer.errors import NoAnswerError
from analyzer.export.answers import Answer, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.comparison.flights import LoggedFlight
    from analyzer.comparison.records import Comparison, Difference

QUESTION: Final = "Was the propeller better?"
METRIC: Final = METRICS["climb_per_ah_m"]


def propeller_answer(flown: LoggedFlight, kept: Sequence[LoggedFlight]) -> Answer:
    """Answer from the climbs of all flights, by height per charge.

    Parameters
    ----------
    flown : LoggedFlight
        The flight asked about.
    kept : sequence of LoggedFlight
        Those to set it beside; it may be among them.
    """
    own = flown.propeller or propeller_name(flown.setup)
    if not own:
        return Answer(QUESTION, "Not compared: a setup names the propeller.")
    others = [one for one in kept if one.summary.log.sha256 != flown.summary.log.sha256]
    try:
        comparison = compare_flights([flown, *others], metric=METRIC.key)
    except NoAnswerError:
        return Answer(QUESTION, "Not compared: the logbook has no climbs with another propeller yet.")
    return _from_comparison(own, comparison)


def _from_comparison(own: str, comparison: Comparison) -> Answer:
    concerned = [pair for pair in comparison.differences if own in (pair.a, pair.b)]
    pairs = [pair for pair in concerned if not pair.why_not]
    if not pairs:
        why = concerned[0].why_not if concerned else "no climb of this flight can be compared"
        return Answer(QUESTION, f"Not compared: {why}.")
    surest = max(pairs, key=lambda pair: (pair.decided, pair.odds or 0.0))
    better = [pair.b for pair in pairs if pair.decided and pair.a == own]
    worse = [pair.a for pair in pairs if pair.decided and pair.b == own]
    alike = [_other(pair, own) for pair in pairs if not pair.decided]
    found = [
        *([f"further per Ah than {', '.join(better)}"] if better else []),
        *([f"less far per Ah than {', '.join(worse)}"] if worse else []),
        *([f"no difference shown to {', '.join(alike)}"] if alike else []),
    ]
    headline = ", ".join(found)
    state: State = "good" if better and not worse else "open"
    return Answer(QUESTION, f"{headline[0].upper()}{headline[1:]}: {_evidence(surest, comparison)}", state)


def _evidence(pair: Difference, comparison: Comparison) -> str:
    if pair.decided:
        return in_words(pair, METRIC, comparison.worthwhile_percent)
    return f"{pair.a} over {pair.b} {open_question(pair, METRIC, comparison.worthwhile_percent)}."


def _other(pair: Difference, own: str) -> str:
    return pair.b if pair.a == own else pair.a
