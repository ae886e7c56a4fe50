"""A figure on the page: nothing in it can send data anywhere, and its camera button saves SVG."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from dash import dcc

from analyzer.figures.template import PLOT_CONFIG

if TYPE_CHECKING:
    import plotly.graph_objects as go

GRAPH_CONFIG: Final[Any] = {
    **PLOT_CONFIG,
    "toImageButtonOptions": {"format": "svg", "filename": "climbledger"},
    "scrollZoom": False,
}

EDITABLE_CONFIG: Final[Any] = {**GRAPH_CONFIG, "edits": {"shapePosition": True}}
"""For the plot whose segment edges can be dragged."""


def graph(figure: go.Figure) -> dcc.Graph:
    """Show a figure as tall as it was drawn."""
    return dcc.Graph(
        figure=figure, config=GRAPH_CONFIG, className="graph", style={"height": f"{figure.layout.height}px"}
    )
