"""What each motor run gave for what it drew, with its interval: the picture behind "which climb was better"."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from analyzer.constants import NORMAL_95
from analyzer.display import Scale, System, clock, scale_of
from analyzer.figures.template import DAY, KIND_STYLES, new_figure

if TYPE_CHECKING:
    from collections.abc import Sequence

    import plotly.graph_objects as go

    from analyzer.records import MotorRun

_PANELS: Final = (("height_gain_m", "height"), ("climb_rate_m_s", "climb"), ("climb_per_ah_m", "per Ah"))
_GAP: Final = 0.14
MOST_TICKS: Final = 4
"""Runs named under a panel: more names would lie on one another."""


def climbs_figure(runs: Sequence[MotorRun], *, system: System = "metric") -> go.Figure:
    """Draw height gain, climb rate and climb per amp-hour of each measured motor run.

    Parameters
    ----------
    runs : sequence of MotorRun
        Blips and runs on the ground are left out, but keep their numbers.
    system : System
        Units of the axes.

    Returns
    -------
    plotly.graph_objects.Figure
        One panel a quantity that is known, one point a run with its 95 % interval; each axis starts where the points
        are, because the differences between runs matter here.
    """
    figure = new_figure(DAY, height=260)
    measured = [(number, run) for number, run in enumerate(runs, start=1) if run.is_climb]
    panels = [panel for panel in _PANELS if any(getattr(run, panel[0]) is not None for _, run in measured)]
    width = (1.0 - _GAP * (len(panels) - 1)) / max(len(panels), 1)
    ticks = [number for number, _ in measured][:: max(math.ceil(len(measured) / MOST_TICKS), 1)]
    for panel, (field, title) in enumerate(panels):
        suffix = "" if panel == 0 else str(panel + 1)
        left = panel * (width + _GAP)
        scale = scale_of(field, system)
        figure.update_layout(
            {
                f"xaxis{suffix}": {
                    "domain": [left, left + width],
                    "anchor": f"y{suffix}",
                    "title": {"text": "motor run"},
                    "tickmode": "array",
                    "tickvals": ticks,
                    "ticktext": [f"{KIND_STYLES['motor_run'].letter}{number}" for number in ticks],
                    "range": [0.5, max((number for number, _ in measured), default=1) + 0.5],
                },
                f"yaxis{suffix}": {"anchor": f"x{suffix}", "title": {"text": f"{title}, {scale.symbol}"}, "nticks": 6},
            }
        )
        figure.add_trace(_points(measured, field, suffix, scale))
    return figure


def _points(measured: Sequence[tuple[int, MotorRun]], field: str, suffix: str, scale: Scale) -> go.Scatter:
    import plotly.graph_objects as go

    known = [(number, run, getattr(run, field)) for number, run in measured if getattr(run, field) is not None]
    errors = [NORMAL_95 * scale.factor * (getattr(run, f"{field}_se") or 0.0) for _, run, _ in known]
    style = KIND_STYLES["motor_run"]
    return go.Scatter(
        x=[number for number, _, _ in known],
        y=[value * scale.factor for _, _, value in known],
        xaxis=f"x{suffix}",
        yaxis=f"y{suffix}",
        mode="markers",
        marker={"color": style.color, "size": 8, "symbol": "square"},
        error_y={"array": errors, "color": style.color, "thickness": 1.5, "width": 4},
        hovertext=[f"run {number}, {clock(run.start_s)}" for number, run, _ in known],
        hovertemplate=f"%{{hovertext}}: %{{y:.{scale.decimals + 1}f}} {scale.symbol}<extra></extra>",
        showlegend=False,
    )
