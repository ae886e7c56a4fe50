"""The whole comparison from top to bottom: flights in, a verdict out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from analyzer.comparison.conditions import common_conditions, corrected, correction_errors, shared_error
from analyzer.comparison.differences import difference_of, group_result
from analyzer.comparison.flights import GROUPINGS, airframe_of, candidates_of, model_of
from analyzer.comparison.group_model import fit_groups, table_of
from analyzer.comparison.metrics import metric_named
from analyzer.comparison.outliers import find_outliers
from analyzer.comparison.records import ComparedRun, Comparison, Reference, SetAside
from analyzer.comparison.screening import screen
from analyzer.comparison.tuning import TUNING, ComparisonTuning
from analyzer.comparison.verdict import verdict_of
from analyzer.errors import NoAnswerError
from analyzer.records import Notice
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.comparison.flights import Candidate, LoggedFlight
    from analyzer.comparison.metrics import Metric


def compare_flights(
    flights: Sequence[LoggedFlight],
    by: str = "propeller",
    metric: str = "climb_per_ah_m",
    tuning: ComparisonTuning = TUNING,
) -> Comparison:
    """Compare the climbs (or glides) of logged flights.

    Parameters
    ----------
    flights : sequence of LoggedFlight
        Whatever should take part.
    by : str
        "propeller", "motor", "pack", "airframe", "setup", "place", or the name of a tag.
    metric : str
        A key of `analyzer.comparison.METRICS`.
    tuning : ComparisonTuning
        How sure, and what counts.

    Returns
    -------
    Comparison
        Group means, all differences with intervals, what was set aside, and the verdict in words.

    Raises
    ------
    OptionError
        For an unknown `by` or `metric`.
    NoAnswerError
        When fewer than two groups have a run that can be compared.
    """
    chosen = metric_named(metric)
    candidates = candidates_of(flights, by, chosen, tuning)
    kept, aside = screen(candidates, by, chosen, tuning)
    if not kept:
        raise NoAnswerError(
            f"none of the {len(candidates)} {chosen.what}s can be compared",
            remedy=_remedy(_most_common(aside), by),
        )
    reference, notices = common_conditions(kept, by, chosen)
    notices = (*notices, *_of_which_model(kept, by, chosen))
    runs = [_compared(candidate, chosen, reference, tuning) for candidate in kept]
    return compare_runs(runs, by, metric, tuning, set_aside=aside, reference=reference, notices=notices)


def compare_runs(
    runs: Sequence[ComparedRun],
    by: str = "propeller",
    metric: str = "climb_per_ah_m",
    tuning: ComparisonTuning = TUNING,
    *,
    set_aside: Sequence[SetAside] = (),
    reference: Reference | None = None,
    notices: Sequence[Notice] = (),
) -> Comparison:
    """Compare a plain table of runs that are fit to be compared.

    Parameters
    ----------
    runs : sequence of ComparedRun
        Corrected to common conditions.
    by, metric, tuning
        As for `compare_flights`.
    set_aside, reference, notices
        What led to the table; handed on.

    Raises
    ------
    NoAnswerError
        When there are fewer than two groups, or no more runs than groups.
    """
    chosen = metric_named(metric)
    table = table_of(runs)
    _require_groups(table.names, len(runs), by, chosen, set_aside)
    foreign = find_outliers(table, tuning)
    left = [run for row, run in enumerate(runs) if row not in foreign]
    aside = [*set_aside, *(_foreign(runs[row], chosen) for row in foreign)]
    model = fit_groups(table_of(left), tuning)
    order = np.argsort([-model.mean(code).estimate for code in range(len(model.table.names))], kind="stable").tolist()
    pairs = [(a, b) for place, a in enumerate(order) for b in order[place + 1 :]]
    differences = tuple(difference_of(model, a, b, by, tuning) for a, b in pairs)
    return Comparison(
        metric=metric,
        by=by,
        groups=tuple(group_result(model, code, tuning) for code in order),
        differences=differences,
        set_aside=tuple(aside),
        unit=chosen.unit,
        verdict=verdict_of(differences, chosen, tuning),
        confidence=tuning.confidence,
        worthwhile_percent=tuning.worthwhile_percent,
        reference=reference or Reference(),
        flight_sd=None if model.flights_are_confounded else math.sqrt(model.flight_variance),
        run_sd=math.sqrt(model.run_variance),
        runs=tuple(left),
        notices=(*notices, *_undated(left, chosen)),
    )


def _require_groups(names: Sequence[str], runs: int, by: str, metric: Metric, aside: Sequence[SetAside]) -> None:
    if len(names) < 2:
        what = (
            f"{counted(runs, metric.what)} can be compared, of one {by} alone, {names[0]}"
            if names
            else "nothing was flown"
        )
        others = f" ({len(aside)} were set aside, most common reason: {_most_common(aside)})" if aside else ""
        raise NoAnswerError(what, remedy=f"add flights with another {by}{others}")
    if runs <= len(names):
        raise NoAnswerError(
            f"{runs} {metric.what}s with {len(names)} {by}s, one of each, cannot be told from chance",
            remedy=f"fly two more flights of each, in turn, on one day, with two {metric.what}s or more in a flight",
        )


def _compared(candidate: Candidate, metric: Metric, reference: Reference, tuning: ComparisonTuning) -> ComparedRun:
    as_flown = float(candidate.value or 0.0)
    value = corrected(
        metric,
        as_flown,
        candidate.conditions,
        reference,
        climb_rate_m_s=getattr(candidate.result, "climb_rate_m_s", None),
        default_sag=tuning.default_sag,
    )
    length_s = candidate.result.duration_s
    return ComparedRun(
        log=candidate.log,
        flight=candidate.flight,
        start_s=candidate.result.start_s,
        group=candidate.group,
        value=value,
        as_flown=as_flown,
        day=candidate.flown.day or None,
        # The air moves a long glide's mean less; a motor run is one climb whatever its length.
        weight=length_s if metric.source == "glides" else 1.0,
        shared_error=shared_error(metric, value, length_s, tuning.lag_s),
        correction_errors=correction_errors(metric, value, candidate.conditions, reference, tuning),
        launch_error=shared_error(metric, value, length_s, tuning.launch_loss_s) if candidate.is_launch else 0.0,
    )


def _foreign(run: ComparedRun, metric: Metric) -> SetAside:
    why = f"does not fit with the other {metric.what}s ({run.value:.3g} {metric.unit})".replace(" )", ")")
    return SetAside(run.log, run.start_s, why)


def _of_which_model(kept: Sequence[Candidate], by: str, metric: Metric) -> list[Notice]:
    """Nothing but a setup tells two models apart, where they are not what is compared."""
    unknown = [candidate for candidate in kept if not airframe_of(candidate.flown)]
    if by in ("airframe", "setup"):
        return []
    models = sorted({model_of(candidate.flown) for candidate in kept} - {""})
    if len(models) > 1:
        several = f"The {metric.what}s are of {len(models)} models ({'; '.join(models)}), so a difference may be"
        return [Notice("models-differ", f"{several} the model's. Compare one at a time: --where setup=NAME")]
    if not unknown:
        return []
    some = f"{len(unknown)} of {len(kept)} {metric.what}s have no setup that" if len(unknown) < len(kept) else ""
    return [
        Notice(
            "model-unknown",
            f"{some or 'No setup'} says which model was flown, so all are compared as if flown with one: with several, "
            "the difference may be the model's. Name it with: climbledger logbook edit NUMBER --setup S.toml; or give "
            "each model's logs a tag (--tag model=NAME), and compare with --where model=NAME",
        )
    ]


def _undated(runs: Sequence[ComparedRun], metric: Metric) -> list[Notice]:
    missing = len({run.log for run in runs if run.day is None})
    if missing == 0 or missing == len({run.log for run in runs}):
        return []
    undated = f"{counted(missing, 'log')} {'has' if missing == 1 else 'have'} no date"
    return [
        Notice(
            "no-date",
            f"{undated}, so days are not told apart, and all {metric.what}s are compared as if flown on one day; "
            "a date can be given with: climbledger logbook edit NUMBER --day DATE",
        )
    ]


def _remedy(reason: str, by: str) -> str:
    """What most runs were set aside for, and how to say what only the pilot knows."""
    if not reason.startswith(f"no {by} is known"):
        return f"most common reason: {reason}"
    options = {"propeller": "--propeller 14x8", "place": "--place WHERE"}
    option = options.get(by) or ("--setup S.toml" if by in GROUPINGS else f"--tag {by}=VALUE")
    return f"{reason}: say it with climbledger logbook edit NUMBER {option}"


def _most_common(aside: Sequence[SetAside]) -> str:
    reasons = [entry.why for entry in aside]
    return max(set(reasons), key=reasons.count)
