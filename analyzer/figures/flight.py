"""The course of a log: height by kind of segment, and below it what the power system did, on one time axis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from analyzer.channels import channel_of
from analyzer.display import KIND_TITLES, System, clock, scale_of
from analyzer.figures.decimation import decimated
from analyzer.figures.template import DAY, KIND_STYLES, Look, clock_axis, clock_values, new_figure, words
from analyzer.limits import BY_NAME, CELL_VOLTAGE, MOTOR_SPEED
from analyzer.records import SEGMENT_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd
    import plotly.graph_objects as go

    from analyzer.figures.template import KindStyle
    from analyzer.records import LimitCheck, Log, Segment, SegmentKind
    from analyzer.setup_file import Setup

POWER_CHANNELS: Final = ("power_w", "current_a", "voltage_v", "rpm")
"""What is drawn below the height, where it is logged."""

NAMED_KINDS: Final[tuple[SegmentKind, ...]] = ("motor_run", "thermal_climb")
"""Kinds whose segments bear a letter and a number, in the plot and wherever they are listed."""

_HEIGHT_ROW_PX: Final = 270
_CHANNEL_ROW_PX: Final = 92
_GAP_PX: Final = 16
_MARGIN_PX: Final = 78
_LETTER: Final = (0.024, 0.06)
"""Width and height of a letter with its number, as shares of the row of the height on a laptop's screen."""
_FAR: Final = 1.5
"""A limit further away than this times the highest value would only squeeze the curve."""


def flight_figure(
    log: Log,
    segments: Sequence[Segment],
    limits: Iterable[LimitCheck] = (),
    *,
    setup: Setup | None = None,
    system: System = "metric",
    look: Look = DAY,
) -> go.Figure:
    """Draw the whole log.

    Parameters
    ----------
    log : Log
        Conditioned; `height_m` is drawn where it is there, else `altitude_m`.
    segments : sequence of Segment
        They colour the height and put letters on it: M1 is the first motor run, T1 the first thermal climb.
    limits : iterable of LimitCheck
        Drawn as dashed lines in the row of their channel, unless far above anything that was measured.
    setup : Setup, optional
        The combination flown; tells what its limits are in the channels' own terms: of a cell in the row of the pack's
        voltage, of the motor's rpm in that of the shaft whose rpm is logged.
    system : System
        Units of the axes.
    look : Look
        Day or night.

    Returns
    -------
    plotly.graph_objects.Figure
        The rows share one time axis; extremes and gaps survive the thinning of long logs.
    """
    rows = [channel for channel in POWER_CHANNELS if log.has(channel)]
    inner_px = _HEIGHT_ROW_PX + len(rows) * (_CHANNEL_ROW_PX + _GAP_PX)
    figure = new_figure(look, height=inner_px + _MARGIN_PX)
    time_s = log.frame["time_s"].iloc[[0, -1]].to_numpy()
    _lay_out(figure, rows, inner_px, system, clock_axis(float(time_s[1]), range=clock_values(time_s)))
    profile = _profile(log, system)
    for kind in SEGMENT_KINDS:
        figure.add_trace(_height_trace(profile, look.of_kind(kind), kind, segments))
    figure.add_trace(_letters(profile, segments))
    for number, channel in enumerate(rows, start=2):
        figure.add_trace(_channel_trace(log.frame, channel, number, system, look))
        _draw_limits(figure, number, _levels(limits, channel, setup), look)
    return figure


def _lay_out(figure: go.Figure, rows: Sequence[str], inner_px: int, system: System, time_axis: dict[str, Any]) -> None:
    """Stack the rows from the top, height first, under one time axis at the bottom."""
    lowest = len(rows) + 1
    figure.update_layout(
        hovermode="x unified",
        hoversubplots="axis",
        xaxis={**time_axis, "anchor": f"y{lowest}" if rows else "y", "title": {"text": "time since the log began"}},
        yaxis=_row_axis("height", scale_of("height_m", system).symbol, 1.0 - _HEIGHT_ROW_PX / inner_px, 1.0),
    )
    top_px = float(_HEIGHT_ROW_PX)
    for number, channel in enumerate(rows, start=2):
        top_px += _GAP_PX
        low, high = 1.0 - (top_px + _CHANNEL_ROW_PX) / inner_px, 1.0 - top_px / inner_px
        title, symbol = channel_of(channel).title, scale_of(channel, system).symbol
        title = title.removeprefix("electrical ").removeprefix("pack ")
        axis = _row_axis(title, symbol, max(0.0, low), high)
        figure.update_layout({f"yaxis{number}": {**axis, "rangemode": "normal" if symbol == "V" else "tozero"}})
        top_px += _CHANNEL_ROW_PX


def _row_axis(title: str, symbol: str, low: float, high: float) -> dict[str, Any]:
    text = title if symbol in ("", title) else f"{title}, {symbol}"
    # a zoom is one in time: zoomed in height too, the curve would leave its row
    return {"domain": [low, high], "title": {"text": text}, "nticks": 5, "fixedrange": True}


@dataclass(frozen=True, slots=True)
class _Profile:
    """Height over time in the unit shown, and which of its samples are drawn."""

    time_s: np.ndarray
    height: np.ndarray
    kept: np.ndarray
    symbol: str

    def index_at(self, time_s: float) -> int:
        """The sample at or after a time."""
        return min(int(np.searchsorted(self.time_s, time_s)), self.time_s.size - 1)

    def samples_of(self, segment: Segment) -> np.ndarray:
        """Indices of the samples drawn for a segment; its first and last always among them."""
        first, last = self.index_at(segment.start_s), self.index_at(segment.end_s)
        low, high = np.searchsorted(self.kept, [first, last + 1])
        return np.unique(np.concatenate([[first], self.kept[low:high], [last]]))


def _profile(log: Log, system: System) -> _Profile:
    scale = scale_of("height_m", system)
    column = "height_m" if log.has("height_m") else "altitude_m"
    height = log.frame[column].to_numpy(dtype=float) * scale.factor
    return _Profile(log.frame["time_s"].to_numpy(), height, decimated(height), scale.symbol)


def _height_trace(profile: _Profile, style: KindStyle, kind: SegmentKind, segments: Sequence[Segment]) -> go.Scatter:
    """The segments of one kind as one broken line."""
    import plotly.graph_objects as go

    times: list[np.ndarray] = [np.zeros(0)]
    heights: list[np.ndarray] = [np.zeros(0)]
    own = [segment for segment in segments if segment.kind == kind]
    for segment in own:
        samples = profile.samples_of(segment)
        times += [profile.time_s[samples], profile.time_s[samples[-1:]]]
        heights += [profile.height[samples], np.array([np.nan])]  # lifts the pen before the next segment
    return go.Scatter(
        x=clock_values(np.concatenate(times)),
        y=np.concatenate(heights),
        mode="lines",
        name=KIND_TITLES[kind],
        showlegend=bool(own),
        line={"color": style.color, "width": style.width, "dash": style.dash},
        hovertemplate=f"%{{y:.1f}} {profile.symbol}",
    )


def _letters(profile: _Profile, segments: Sequence[Segment]) -> go.Scatter:
    """M1, T1 and so on, above the end of the segment that they name."""
    import plotly.graph_objects as go

    named = [
        (f"{KIND_STYLES[kind].letter}{number}", segment)
        for kind in NAMED_KINDS
        for number, segment in enumerate((entry for entry in segments if entry.kind == kind), start=1)
    ]
    details = [
        f"{KIND_TITLES[segment.kind]} {letter[1:]}: {clock(segment.start_s)} to {clock(segment.end_s)}"
        for letter, segment in named
    ]
    ends_s = np.array([segment.end_s for _, segment in named])
    heights = profile.height[[profile.index_at(end_s) for end_s in ends_s]]
    is_free = _free(ends_s / np.ptp(profile.time_s), heights / np.fmax.reduce(profile.height, initial=1.0))
    return go.Scatter(
        x=clock_values(ends_s),
        y=heights,
        mode="text",
        text=[letter if free else "" for (letter, _), free in zip(named, is_free, strict=True)],
        textposition="top center",
        textfont={"size": 11},
        hovertext=details,
        hoverinfo="text",
        showlegend=False,
        cliponaxis=False,
    )


def _free(along: np.ndarray, up: np.ndarray) -> list[bool]:
    """Which letters find room, by their places as shares of the plot: one that would lie on another is left out."""
    wide, high = _LETTER
    is_free: list[bool] = []
    for number in range(len(along)):
        beside = (np.abs(along[:number] - along[number]) < wide) & (np.abs(up[:number] - up[number]) < high)
        is_free.append(not np.any(beside & np.array(is_free, dtype=bool)))
    return is_free


def _channel_trace(frame: pd.DataFrame, channel: str, row: int, system: System, look: Look) -> go.Scatter:
    import plotly.graph_objects as go

    scale = scale_of(channel, system)
    values = frame[channel].to_numpy(dtype=float) * scale.factor
    kept = decimated(values)
    return go.Scatter(
        x=clock_values(frame["time_s"].to_numpy()[kept]),
        y=values[kept],
        yaxis=f"y{row}",
        mode="lines",
        name=channel_of(channel).title,
        showlegend=False,
        line={"color": look.series[0], "width": 1.2},
        hovertemplate=f"%{{y:.{scale.decimals}f}} {scale.symbol}",
    )


def _levels(limits: Iterable[LimitCheck], channel: str, setup: Setup | None) -> dict[float, str]:
    """The limits of a channel as it is logged, each with its names; limits at one level share a line."""
    levels: dict[float, str] = {}
    for limit in limits:
        kind = BY_NAME.get(limit.name)  # a logbook may keep one that is no more
        factor = _factor(kind.name, setup) if kind is not None and kind.channel == channel else None
        if kind is not None and factor is not None:
            level = limit.limit * factor
            levels[level] = f"{levels[level]}; {kind.label}" if level in levels else kind.label
    return levels


def _factor(limit: str, setup: Setup | None) -> float | None:
    """What a limit is multiplied by to stand in the row of its channel; None where that is not known."""
    if limit == CELL_VOLTAGE.name:
        return setup.value("pack.cells") if setup is not None else None
    if limit == MOTOR_SPEED.name and setup is not None and setup.telemetry.rpm_measured_at == "propeller":
        return 1.0 / (setup.value("gearbox.ratio") or 1.0)
    return 1.0


def _draw_limits(figure: go.Figure, row: int, levels: dict[float, str], look: Look) -> None:
    """A dashed line for each level; the names of neighbouring levels stand side by side, not over one another."""
    values = np.asarray(figure.data[-1].y, dtype=float)
    highest = np.max(values[np.isfinite(values)], initial=0.0)
    for number, (level, names) in enumerate(sorted(levels.items())):
        if level <= _FAR * highest:
            axes = {"xref": "paper", "yref": f"y{row}"}
            line = {"color": look.ink, "width": 1.2, "dash": "dash"}
            figure.add_shape(type="line", x0=0, x1=1, y0=level, y1=level, line=line, **axes)
            place = {
                "bgcolor": look.paper,
                "x": 1.0 - 0.33 * (number % 3),
                "y": level,
                "xanchor": "right",
                "yanchor": "bottom",
            }
            figure.add_annotation(
                text=words(f"{names}: {level:g}"), showarrow=False, font={"size": 11}, **place, **axes
            )
