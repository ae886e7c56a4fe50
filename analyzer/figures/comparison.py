"""A comparison to look at: one dot a motor run, an interval a group, and the differences with theirs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from analyzer.comparison.metrics import METRICS
from analyzer.display import Scale, System, clock, scale_of
from analyzer.figures.template import DAY, GREY, MARKER_SEQUENCE, Look, new_figure, words

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from analyzer.comparison.records import ComparedRun, Comparison, Difference

_SPREAD: Final = 0.5
"""Share of a group's place over which its flights stand side by side."""
_BESIDE: Final = 0.36
"""Where the mean stands, right of the dots."""
_HEIGHT: Final = 420
_PER_PAIR: Final = 34


def comparison_figure(comparison: Comparison, *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw the runs and means of each group, and all differences below.

    Parameters
    ----------
    comparison : Comparison
        What was found.
    system : System
        Units of the upper axis.
    look : Look
        Day or night.

    Returns
    -------
    plotly.graph_objects.Figure
        Above, one dot a run; runs of one flight stand in one column, because they shared its air; right of them the
        mean with its interval. Below, each pair's difference in percent with its simultaneous interval.
    """
    pairs = [pair for pair in comparison.differences if pair.low_percent is not None]
    below = _PER_PAIR * max(1, len(pairs)) + 60
    height = _HEIGHT + below
    share = below / height
    figure = new_figure(look, height=height)
    scale = scale_of(comparison.metric, system)
    for number, group in enumerate(comparison.groups):
        runs = [run for run in comparison.runs if run.group == group.name]
        figure.add_trace(_dots(runs, number, scale, look))
    figure.add_trace(_means(comparison, scale, look))
    figure.add_trace(_differences(pairs, look))
    figure.update_layout(_axes(comparison, pairs, scale, share), showlegend=False)
    figure.add_shape(
        type="line", xref="x2", yref="y2 domain", x0=0, x1=0, y0=0, y1=1, line={"color": GREY, "width": 1.5}
    )
    return figure


def comparison_caption(metric: str) -> str:
    """What the marks of a comparison's figure are."""
    return (
        f"Above: a dot is one {METRICS[metric].what}, those of one flight stand in one column; a diamond is the mean "
        "with its 95 % interval. Below: the differences, filled where one is shown."
    )


def _dots(runs: list[ComparedRun], number: int, scale: Scale, look: Look) -> go.Scatter:
    import plotly.graph_objects as go

    flights = list(dict.fromkeys(run.flight for run in runs))
    step = _SPREAD / max(1, len(flights))
    columns = {flight: number - _SPREAD / 2 + step * (place + 0.5) for place, flight in enumerate(flights)}
    return go.Scatter(
        x=[columns[run.flight] - 0.1 for run in runs],
        y=[run.value * scale.factor for run in runs],
        mode="markers",
        name=words(runs[0].group),
        marker={
            "color": look.series[number % len(look.series)],
            "symbol": MARKER_SEQUENCE[number % len(MARKER_SEQUENCE)],
            "size": 9,
            "opacity": 0.75,
        },
        hovertext=[f"{words(run.log)}, {clock(run.start_s)}" for run in runs],
        hovertemplate=f"%{{hovertext}}: %{{y:.{scale.decimals + 1}f}} {scale.symbol}<extra></extra>",
    )


def _means(comparison: Comparison, scale: Scale, look: Look) -> go.Scatter:
    import plotly.graph_objects as go

    groups = comparison.groups
    above = [((group.high or group.mean) - group.mean) * scale.factor for group in groups]
    under = [(group.mean - (group.low or group.mean)) * scale.factor for group in groups]
    return go.Scatter(
        x=[number + _BESIDE for number in range(len(groups))],
        y=[group.mean * scale.factor for group in groups],
        mode="markers",
        name="mean",
        marker={"color": look.ink, "size": 10, "symbol": "diamond"},
        error_y={"array": above, "arrayminus": under, "color": look.ink, "thickness": 2, "width": 7},
        hovertext=[f"{words(group.name)}: {group.runs} in {group.flights} flights" for group in groups],
        hovertemplate=f"%{{hovertext}}, mean %{{y:.{scale.decimals + 1}f}} {scale.symbol}<extra></extra>",
    )


def _differences(pairs: list[Difference], look: Look) -> go.Scatter:
    import plotly.graph_objects as go

    percents = [pair.percent or 0.0 for pair in pairs]
    above = [(pair.high_percent or 0.0) - percent for pair, percent in zip(pairs, percents, strict=True)]
    under = [percent - (pair.low_percent or 0.0) for pair, percent in zip(pairs, percents, strict=True)]
    return go.Scatter(
        x=percents,
        y=list(range(len(pairs))),
        xaxis="x2",
        yaxis="y2",
        mode="markers",
        name="difference",
        # A decided difference is filled, an open one is hollow.
        marker={
            "color": look.ink,
            "size": 10,
            "symbol": ["circle" if pair.decided else "circle-open" for pair in pairs],
        },
        error_x={"array": above, "arrayminus": under, "color": look.ink, "thickness": 2, "width": 6},
        hovertext=[f"{words(pair.a)} over {words(pair.b)}" for pair in pairs],
        hovertemplate="%{hovertext}: %{x:.1f} %<extra></extra>",
    )


def _axes(comparison: Comparison, pairs: list[Difference], scale: Scale, share: float) -> dict[str, Any]:
    groups = comparison.groups
    label = METRICS[comparison.metric].label
    return {
        "xaxis": {
            "anchor": "y",
            "tickmode": "array",
            "tickvals": list(range(len(groups))),
            "ticktext": [words(group.name) for group in groups],
            "range": [-0.6, len(groups) - 0.4],
            "showgrid": False,
        },
        "yaxis": {
            "anchor": "x",
            "domain": [share + 0.04, 1.0],
            "title": {"text": f"{label}, {scale.symbol}" if scale.symbol else label},
        },
        "xaxis2": {"anchor": "y2", "title": {"text": "difference, %"}},
        "yaxis2": {
            "anchor": "x2",
            "domain": [0.0, max(share - 0.12, 0.05)],
            "tickmode": "array",
            "tickvals": list(range(len(pairs))),
            "ticktext": [f"{words(pair.a)} over {words(pair.b)}" for pair in pairs],
            "range": [len(pairs) - 0.5, -0.5],
        },
    }
