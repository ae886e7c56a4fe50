"""The look of every figure: quiet, thin, readable in sunlight, and safe for colour-blind eyes.

Colours are those of M. Okabe and K. Ito, "Color Universal Design" (2002, revised 2008), recommended in B. Wong, "Points
of view: Color blindness", Nature Methods 8 (2011) 441. No meaning hangs on colour alone: each kind of segment also
has a line of its own and a letter.
"""

from __future__ import annotations

import html
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from analyzer.errors import printable

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from analyzer.records import SegmentKind

ORANGE: Final = "#E69F00"
SKY_BLUE: Final = "#56B4E9"
GREEN: Final = "#009E73"
BLUE: Final = "#0072B2"
VERMILLION: Final = "#D55E00"
PURPLE: Final = "#CC79A7"
GREY: Final = "#8A8F94"

SEQUENCE: Final = (BLUE, VERMILLION, GREEN, PURPLE, ORANGE, SKY_BLUE)
"""For series that have no colour of their own; the palette's yellow is left out, being too faint on white."""

NIGHT_SEQUENCE: Final = (SKY_BLUE, VERMILLION, GREEN, PURPLE, ORANGE, BLUE)
"""The same on dark paper, on which the blue of the first series is faint."""

MARKER_SEQUENCE: Final = ("circle", "square", "diamond", "triangle-up", "cross", "x")
"""Goes with `Look.series`, so that series differ in shape as well."""


@dataclass(frozen=True, slots=True)
class KindStyle:
    """How one kind of segment is drawn: colour, line, and the letter before its number."""

    color: str
    width: float
    dash: str
    letter: str


KIND_STYLES: Final[dict[SegmentKind, KindStyle]] = {
    "ground": KindStyle(GREY, 1.5, "dot", ""),
    "motor_run": KindStyle(VERMILLION, 3.5, "solid", "M"),
    "glide": KindStyle(BLUE, 1.5, "solid", "G"),
    "thermal_climb": KindStyle(GREEN, 3.0, "dash", "T"),
}


@dataclass(frozen=True, slots=True)
class Look:
    """The colours that change with day and night.

    Attributes
    ----------
    ink, muted, rule, paper : str
        Of text and lines, of what stands back, of the grid, of the ground.
    series : tuple of str
        Of the data; the first is that of a single curve, and of the glide.
    """

    ink: str
    muted: str
    rule: str
    paper: str
    series: tuple[str, ...] = SEQUENCE

    def of_kind(self, kind: SegmentKind) -> KindStyle:
        """How one kind of segment is drawn."""
        style = KIND_STYLES[kind]
        return replace(style, color=self.series[SEQUENCE.index(style.color)]) if style.color in SEQUENCE else style


DAY: Final = Look(ink="#1c2126", muted="#4a525a", rule="#dedbd0", paper="#ffffff")
NIGHT: Final = Look(ink="#e8e6df", muted="#b9bdc1", rule="#343c44", paper="#1c2228", series=NIGHT_SEQUENCE)
SUN: Final = Look(ink="#000000", muted="#000000", rule="#9a9a9a", paper="#ffffff")

FONT: Final = "system-ui, -apple-system, 'Segoe UI', 'Liberation Sans', 'DejaVu Sans', sans-serif"

PLOT_CONFIG: Final[dict[str, Any]] = {
    "displaylogo": False,
    "showSendToCloud": False,  # nothing leaves the machine
    "plotlyServerURL": "",
    "responsive": True,
    "modeBarButtonsToRemove": ["select2d", "lasso2d", "autoScale2d"],
}
"""Configuration of every interactive plot, in reports and in the dashboard."""


def new_figure(look: Look = DAY, *, height: int = 320) -> go.Figure:
    """An empty figure with the house look."""
    import plotly.graph_objects as go

    axis = {
        "gridcolor": look.rule,
        "linecolor": look.muted,
        "zeroline": False,
        "showline": True,
        "ticks": "outside",
        "tickcolor": look.muted,
        "ticklen": 4,
        "title": {"standoff": 6},
        "automargin": True,
    }
    return go.Figure(
        layout={
            "template": {"layout": {"xaxis": axis, "yaxis": axis}},
            "font": {"family": FONT, "size": 13, "color": look.ink},
            "paper_bgcolor": look.paper,
            "plot_bgcolor": look.paper,
            "colorway": look.series,
            "height": height,
            "margin": {"l": 60, "r": 16, "t": 34, "b": 44},
            "hovermode": "closest",
            "hoverlabel": {"bgcolor": look.paper, "font": {"color": look.ink}},
            "legend": {"orientation": "h", "x": 0.0, "y": 1.0, "xanchor": "left", "yanchor": "bottom"},
        }
    )


HOUR_S: Final = 3600.0


def clock_axis(end_s: float, **more: Any) -> dict[str, Any]:  # noqa: ANN401 - any axis setting
    """Settings of a time axis that reads as a clock since the first sample; give it `clock_values`.

    Parameters
    ----------
    end_s : float
        Where it ends: hours are shown where there are any, as in `display.clock`.
    **more
        Further settings of the axis.
    """
    reading = "%-H:%M:%S" if end_s >= HOUR_S else "%-M:%S"
    return {
        "type": "date",
        "tickformat": reading,
        "tickformatstops": [{"dtickrange": [None, None], "value": reading}],
        "hoverformat": f"{reading}.%1f",
        **more,
    }


CLOCK_ORIGIN_MS: Final = 946_684_800_000.0
"""Midnight, 1 January 2000 UTC: a time axis counts milliseconds, but would read a small number as a year."""


def clock_values(time_s: np.ndarray) -> np.ndarray:
    """Times since the first sample for a `clock_axis`."""
    return CLOCK_ORIGIN_MS + time_s * 1000.0


def words(text: str) -> str:
    """A foreign text for a figure: no markup, no control characters."""
    return html.escape(printable(text), quote=False)


def faint(color: str) -> str:
    """A colour that lets what is behind it show, and text on it be read."""
    red, green, blue = (int(color[at : at + 2], 16) for at in (1, 3, 5))
    return f"rgba({red}, {green}, {blue}, 0.35)"
