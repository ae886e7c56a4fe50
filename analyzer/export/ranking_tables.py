"""A ranking of candidates as tables: which propeller to try next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.display import System, scale_for_symbol, scale_of, with_intervals
from analyzer.export.columns import estimated, plain
from analyzer.export.prediction_tables import chance
from analyzer.export.table import Column, Table
from analyzer.match.ranking import ACCEPTED_RISK

if TYPE_CHECKING:
    from analyzer.match import Ranking

MOST_SHOWN: Final = 15
"""Places that the terminal shows; the document has all."""


def ranking_table(ranking: Ranking, system: System = "metric", most: int | None = None) -> Table:
    """The candidates that keep all limits, the best first."""
    ranked = ranking.ranked[:most]
    tightest = [one.tightest for one in ranked]
    names = sorted({limit.name for limit in tightest})
    told_by_row = tuple(limit.name for limit in tightest) if len(names) > 1 else ()
    columns = (
        Column("", tuple(str(one.place) for one in ranked)),
        Column(
            "propeller", tuple(f"{one.propeller} *" if one.flown else one.propeller for one in ranked), is_number=False
        ),
        Column("aim", tuple(f"{one.gain_percent:+.1f}" for one in ranked), "%"),
        Column("risk", tuple(chance(limit.odds_beyond) for limit in tightest)),
        Column("room", tuple(scale_for_symbol(limit.unit).with_unit(limit.margin) for limit in tightest)),
        estimated("per Ah", scale_of("climb_per_ah_m", system), [one.climb_per_ah_m for one in ranked]),
        estimated("climb", scale_of("climb_rate_m_s", system), [one.climb_rate_m_s for one in ranked]),
        estimated("level speed", scale_of("airspeed_m_s", system), [one.top_speed_m_s for one in ranked]),
        *([Column("tightest limit", told_by_row, is_number=False)] if told_by_row else []),
    )
    left = len(ranking.ranked) - len(ranked)
    of_what = "the limit named" if told_by_row else f"the limit of {names[0]}" if names else ""
    note = (
        f"Aim: {ranking.aim}, over {ranking.reference}. 95 % intervals. "
        f"Risk and room: the chance to pass {of_what}, and what is left below it."
    )
    marks = " * flown and in the calibration." if any(one.flown for one in ranked) else ""
    rest = f" {left} more stand in the document." if left else ""
    return Table("Which to try next", columns, note + marks + rest).without_empty_columns()


def advice(ranking: Ranking) -> str:
    """Which one to try first, in one sentence."""
    first, best = ranking.first_to_try, ranking.ranked[0]
    accepted = f"{100.0 * ACCEPTED_RISK:.0f} %"
    if first is None:
        return (
            f"Each candidate has a risk of more than {accepted} of passing a limit: calibrate with a logged flight, or "
            "choose smaller ones."
        )
    if first.propeller == ranking.own:
        return f"Stay with {first.propeller}: nothing better by this aim keeps the risk at {accepted} or below."
    risk = f"at a risk of {chance(first.tightest.odds_beyond)}"
    if first is best:
        return f"Try {first.propeller} first: the best by this aim, {risk}."
    return f"Try {first.propeller} first: the best by this aim of those with a risk of at most {accepted}."


def excluded_table(ranking: Ranking) -> Table:
    """The candidates that were left out, and why."""
    return Table(
        "Left out",
        (
            Column("propeller", tuple(one.propeller for one in ranking.excluded), is_number=False),
            Column("why", tuple("; ".join(one.reasons) for one in ranking.excluded), is_number=False),
        ),
        "Currents are the highest that a full pack gives, standing still included: a climb under way draws less.",
    )


def flown_table(ranking: Ranking, system: System = "metric") -> Table:
    """What was measured of the propellers that were flown."""
    per_ah, current = scale_of("climb_per_ah_m", system), scale_of("current_a")
    flown = ranking.flown
    return Table(
        "As flown",
        (
            Column("propeller", tuple(one.propeller for one in flown), is_number=False),
            Column(
                "per Ah",
                with_intervals(per_ah, [one.climb_per_ah_m for one in flown], [one.climb_per_ah_se_m for one in flown]),
                per_ah.symbol,
            ),
            plain("current", current, [one.current_a for one in flown]),
        ),
        "Means over the logged climbs: in their air, at their charge, at their airspeeds.",
    )
