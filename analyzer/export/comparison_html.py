"""A comparison as one page that opens in any browser without a network: the verdict, the figure, the tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.comparison.metrics import METRICS
from analyzer.display import notice_lines
from analyzer.export.comparison_tables import differences_table, groups_table, set_aside_table
from analyzer.export.html_page import picture_of, render
from analyzer.figures.comparison import comparison_caption, comparison_figure

if TYPE_CHECKING:
    from analyzer.comparison.records import Comparison
    from analyzer.display import System


def comparison_page(comparison: Comparison, system: System = "metric") -> str:
    """Write a comparison as a page.

    Parameters
    ----------
    comparison : Comparison
        What was found.
    system : System
        Units for heights and speeds.

    Returns
    -------
    str
        A complete HTML document; everything that comes from a logbook is escaped.
    """
    names = [group.name for group in comparison.groups]
    metric, flights = METRICS[comparison.metric], len({run.flight for run in comparison.runs})
    return render(
        "comparison.html",
        title=f"Compared by {comparison.by}: {', '.join(names)}",
        facts=[metric.label, f"{len(comparison.runs)} {metric.what}s in {flights} flights"],
        verdict=comparison.verdict,
        what=metric.what,
        picture=picture_of(
            comparison_figure(comparison, system=system), "comparison", comparison_caption(comparison.metric)
        ),
        groups=groups_table(comparison, system),
        differences=differences_table(comparison, system),
        set_aside=set_aside_table(comparison, system),
        notices=notice_lines(comparison.notices, system),
        cautions=(),
    )
