"""A figure as a still picture (SVG), for paper and for viewers that run no scripts.

Draws what the figures of the reports use: lines, bands, markers, texts, error bars, level and upright lines, stacked
or side-by-side axes. It is no general renderer of Plotly figures; the interactive one is Plotly's own.
"""

from __future__ import annotations

import html
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from analyzer.display import clock
from analyzer.figures.decimation import decimated
from analyzer.figures.template import CLOCK_ORIGIN_MS

if TYPE_CHECKING:
    from collections.abc import Iterator

    import plotly.graph_objects as go

_WIDTH: Final = 860
_LEFT, _RIGHT, _TOP, _BOTTOM = 70.0, 12.0, 26.0, 42.0
_LETTER_PX: Final = 6.2
_TITLE_PX: Final = 54.0
_FONT: Final = 12
_POINTS: Final = 1200
_DASHES: Final = {
    "solid": "",
    "dash": "7 4",
    "dot": "2 3",
    "dashdot": "7 3 2 3",
    "longdash": "12 4",
    "longdashdot": "12 3 2 3",
}


@dataclass(frozen=True, slots=True)
class _Axis:
    """One axis: data range to pixel range."""

    low: float
    high: float
    start_px: float
    end_px: float
    title: str
    is_clock: bool
    labels: dict[float, str]

    def px(self, value: float) -> float:
        return self.start_px + (value - self.low) / (self.high - self.low) * (self.end_px - self.start_px)

    def ticks(self) -> list[tuple[float, str]]:
        if self.labels:
            low, high = sorted((self.low, self.high))
            return [(value, text) for value, text in self.labels.items() if low <= value <= high]
        step = _clock_step(self.high - self.low) if self.is_clock else _round_step((self.high - self.low) / 5)
        values = [step * count for count in range(math.ceil(self.low / step), math.floor(self.high / step) + 1)]
        if self.is_clock:
            return [(value, clock((value - CLOCK_ORIGIN_MS) / 1000.0)) for value in values]
        decimals = max(0, -math.floor(math.log10(step)))
        return [(value, f"{value:.{decimals}f}") for value in values]


def _round_step(rough: float) -> float:
    """The next of 1, 2, 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= rough * 0.999)


def _clock_step(span_ms: float) -> float:
    """A step of whole seconds, minutes or hours that gives about seven labels."""
    steps_s = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200)
    return 1000.0 * next((step for step in steps_s if span_ms / 1000.0 / step <= 8), 86400)


def still_svg(figure: go.Figure, title: str = "") -> str:
    """Draw a figure of a report as an SVG element.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        The course of a log, climbs, glides, a comparison or a prediction.
    title : str
        What a screen reader says of it.

    Returns
    -------
    str
        One ``<svg>`` element that scales to the width it is given; all text is escaped.
    """
    layout = figure.to_plotly_json()["layout"]
    height = float(layout["height"])
    traces = [trace.to_plotly_json() for trace in figure.data]
    left = _left_margin(layout)
    axes = {key: _axis(key, layout, traces, (left, height)) for key in layout if key.startswith(("xaxis", "yaxis"))}
    ink = layout["font"]["color"]
    parts = [
        *_frames(layout, axes, layout["template"]["layout"]["xaxis"]["gridcolor"], ink),
        *(part for trace in traces for part in _trace(trace, axes)),
        *_shapes_and_notes(layout, axes),
        *_legend(traces, left),
    ]
    label = html.escape(title or "figure")
    body = "".join(parts)
    return (
        f'<svg class="still" role="img" aria-label="{label}" viewBox="0 0 {_WIDTH} {height:.0f}" '
        f'xmlns="http://www.w3.org/2000/svg" font-size="{_FONT}" fill="{ink}">{body}</svg>'
    )


def _left_margin(layout: dict[str, Any]) -> float:
    """Room for the longest name on an upright axis."""
    names = [text for key in layout if key.startswith("yaxis") for text in layout[key].get("ticktext", ())]
    return max(_LEFT, 12.0 + _LETTER_PX * max(map(len, names), default=0))


def _axis(key: str, layout: dict[str, Any], traces: list[dict[str, Any]], room: tuple[float, float]) -> _Axis:
    """Find the range of an axis from its settings and the data on it, and its place right of and above the margins."""
    settings, letter, (left, height) = layout[key], key[0], room
    name = letter + key[5:]
    low, high = settings.get("range") or _data_range(name, layout, traces, settings)
    start, end = settings.get("domain", (0.0, 1.0))
    if letter == "x":
        inner = _WIDTH - left - _RIGHT
        start_px, end_px = left + start * inner, left + end * inner
    else:
        inner = height - _TOP - _BOTTOM
        start_px, end_px = height - _BOTTOM - start * inner, height - _BOTTOM - end * inner
    title = settings.get("title", {}).get("text", "")
    labels = dict(zip(settings.get("tickvals", ()), settings.get("ticktext", ()), strict=True))
    return _Axis(float(low), float(high), start_px, end_px, title, settings.get("type") == "date", labels)


def _data_range(
    name: str, layout: dict[str, Any], traces: list[dict[str, Any]], settings: dict[str, Any]
) -> tuple[float, float]:
    letter = name[0]
    own = [trace for trace in traces if trace.get(f"{letter}axis", letter) == name]
    values = [_numbers(trace[letter]) for trace in own]
    for trace in own:
        under, above = _errors(trace, letter)
        values += [_numbers(trace[letter]) - under, _numbers(trace[letter]) + above]
    values += [np.array([shape[f"{letter}0"]]) for shape in layout.get("shapes", ()) if shape[f"{letter}ref"] == name]
    only_points = all(trace["mode"].startswith("markers") for trace in own)
    joined = np.concatenate([*values, [0.0]] if settings.get("rangemode") == "tozero" else values or [np.zeros(0)])
    finite = joined[np.isfinite(joined)]
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 1.0)
    if high <= low:
        low, high = low - 0.5, high + 0.5
    if settings.get("rangemode") == "nonnegative":
        low = max(low, 0.0)
    room = 0.06 * (high - low)
    if letter == "x":
        return (low - room, high + room) if only_points else (low, high)
    return (low if "rangemode" in settings and low == 0.0 else low - room), high + room


def _numbers(values: Any) -> np.ndarray:  # noqa: ANN401 - list, tuple or array, None for a break
    return np.array(values, dtype=float).reshape(-1)


def _errors(trace: dict[str, Any], letter: str) -> tuple[np.ndarray, np.ndarray]:
    """Error bars along one axis: how far below and above each point they reach."""
    bars, none = trace.get(f"error_{letter}", {}), np.zeros(_numbers(trace[letter]).size)
    above = _numbers(bars.get("array", none))
    return _numbers(bars.get("arrayminus", above)), above


def _frames(layout: dict[str, Any], axes: dict[str, _Axis], rule: str, ink: str) -> Iterator[str]:
    """Axis lines, grid, tick labels and titles."""
    for key, y in axes.items():
        if key.startswith("xaxis"):
            continue
        x = axes[f"xaxis{layout[key].get('anchor', 'x')[1:]}"]
        left, right = x.start_px, x.end_px
        for value, text in y.ticks():
            yield _line(left, y.px(value), right, y.px(value), rule)
            yield _text(left - 5, y.px(value) + 4, text, "end")
        yield _line(left, y.start_px, left, y.end_px, ink)
        middle = 0.5 * (y.start_px + y.end_px)
        turned = f' transform="rotate(-90 {left - _TITLE_PX:.1f} {middle:.1f})"'
        yield _text(left - _TITLE_PX, middle, y.title, "middle", turned)
    for key, x in axes.items():
        if key.startswith("yaxis"):
            continue
        y = axes[f"yaxis{layout[key].get('anchor', 'y')[1:]}"]
        bottom = y.start_px
        yield _line(x.start_px, bottom, x.end_px, bottom, ink)
        for value, text in x.ticks():
            yield _line(x.px(value), bottom, x.px(value), bottom + 4, ink)
            yield _text(x.px(value), bottom + 16, text, "middle")
        yield _text(0.5 * (x.start_px + x.end_px), bottom + 33, x.title, "middle")


def _trace(trace: dict[str, Any], axes: dict[str, _Axis]) -> Iterator[str]:
    """Lines, error bars, markers and texts of one trace."""
    x = axes[f"xaxis{trace.get('xaxis', 'x')[1:]}"]
    y = axes[f"yaxis{trace.get('yaxis', 'y')[1:]}"]
    values, heights = _numbers(trace["x"]), _numbers(trace["y"])
    if trace.get("fill") == "toself":
        yield _band(trace, x, y, values, heights)
        return
    if "lines" in trace["mode"]:
        yield _curve(trace, x, y, values, heights)
        return
    texts = trace.get("text", ())
    bars = (*_errors(trace, "x"), *_errors(trace, "y"))
    for number in np.flatnonzero(np.isfinite(values) & np.isfinite(heights)).tolist():
        at_x, at_y = x.px(values[number]), y.px(heights[number])
        if "markers" in trace["mode"]:
            left, right, under, above = (float(bar[number]) for bar in bars)
            if left > 0.0 or right > 0.0:
                ends = x.px(values[number] - left), x.px(values[number] + right)
                yield _line(ends[0], at_y, ends[1], at_y, trace["error_x"]["color"], 1.5)
            if under > 0.0 or above > 0.0:
                ends = y.px(heights[number] - under), y.px(heights[number] + above)
                yield _line(at_x, ends[0], at_x, ends[1], trace["error_y"]["color"], 1.5)
            yield _marker(trace["marker"], at_x, at_y, number)
        if "text" in trace["mode"]:
            yield _text(at_x, at_y - 5, html.unescape(texts[number]), "middle")


def _marker(style: dict[str, Any], at_x: float, at_y: float, number: int = 0) -> str:
    """One marker; a trace may give each of its points a symbol of its own."""
    symbol = style["symbol"] if isinstance(style["symbol"], str) else style["symbol"][number]
    shape = f'd="{_MARKERS[symbol]}" transform="translate({at_x:.1f} {at_y:.1f})"'
    if symbol == "circle-open":
        return f'<path {shape} fill="none" stroke="{style["color"]}" stroke-width="2"/>'
    return f'<path {shape} fill="{style["color"]}"/>'


_MARKERS: Final = {
    "circle": "M4 0A4 4 0 1 1 -4 0A4 4 0 1 1 4 0Z",
    "circle-open": "M4 0A4 4 0 1 1 -4 0A4 4 0 1 1 4 0Z",
    "square": "M-4 -4H4V4H-4Z",
    "diamond": "M0 -5L5 0L0 5L-5 0Z",
    "triangle-up": "M0 -5L5 4H-5Z",
    "cross": "M-1.5 -5H1.5V-1.5H5V1.5H1.5V5H-1.5V1.5H-5V-1.5H-1.5Z",
    "star": "M0 -7L1.8 -2.3L6.7 -2.2L2.8 0.9L4.1 5.7L0 3L-4.1 5.7L-2.8 0.9L-6.7 -2.2L-1.8 -2.3Z",
    "x-open": "M-4 -5L0 -1L4 -5L5 -4L1 0L5 4L4 5L0 1L-4 5L-5 4L-1 0L-5 -4Z",
    "x": "M-4 -5L0 -1L4 -5L5 -4L1 0L5 4L4 5L0 1L-4 5L-5 4L-1 0L-5 -4Z",
}


def _band(trace: dict[str, Any], x: _Axis, y: _Axis, values: np.ndarray, heights: np.ndarray) -> str:
    """An area within its outline, as far as the axis reaches."""
    inside = np.clip(heights, min(y.low, y.high), max(y.low, y.high))
    path = "L".join(f"{x.px(value):.1f} {y.px(height):.1f}" for value, height in zip(values, inside, strict=True))
    return f'<path d="M{path}Z" fill="{trace["fillcolor"]}" opacity="{trace["opacity"]}"/>' if path else ""


def _curve(trace: dict[str, Any], x: _Axis, y: _Axis, values: np.ndarray, heights: np.ndarray) -> str:
    kept = decimated(heights, _POINTS)
    path, is_down, (low, high) = [], False, sorted((y.low, y.high))
    for value, height in zip(values[kept], heights[kept], strict=True):
        if math.isfinite(value) and low <= height <= high:
            path.append(f"{'L' if is_down else 'M'}{x.px(value):.1f} {y.px(height):.1f}")
            is_down = True
        else:
            is_down = False
    style = trace["line"]
    dash = _DASHES[style.get("dash", "solid")]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="{"".join(path)}" fill="none" stroke="{style["color"]}" stroke-width="{style["width"]}"{dashes}/>'


def _shapes_and_notes(layout: dict[str, Any], axes: dict[str, _Axis]) -> Iterator[str]:
    """Straight lines, and the words beside them."""
    for shape in layout.get("shapes", ()):
        x0, y0, x1, y1 = (
            _place(shape[f"{letter}ref"], shape[f"{letter}{end}"], letter, axes) for end in "01" for letter in "xy"
        )
        yield _line(x0, y0, x1, y1, shape["line"]["color"], 1.2, _DASHES[shape["line"].get("dash", "solid")])
    for note in layout.get("annotations", ()):
        at_x, at_y = (_place(note[f"{letter}ref"], note[letter], letter, axes) for letter in "xy")
        halo = f' paint-order="stroke" stroke="{note["bgcolor"]}" stroke-width="3"' if "bgcolor" in note else ""
        yield _text(at_x, at_y - 3, html.unescape(note["text"]), "end", halo)


def _place(reference: str, value: float, letter: str, axes: dict[str, _Axis]) -> float:
    """Pixels of a value on an axis ("y2"), or of a share of an axis' length ("y2 domain", "paper")."""
    axis = axes[f"{letter}axis" + ("" if reference == "paper" else reference.split()[0][1:])]
    if reference == "paper" or reference.endswith(" domain"):
        return axis.start_px + value * (axis.end_px - axis.start_px)
    return axis.px(value)


def _legend(traces: list[dict[str, Any]], left: float) -> Iterator[str]:
    """Names of the curves along the top, and of those points that ask for it."""
    for trace in traces:
        is_curve = "line" in trace and trace.get("showlegend") is not False
        if not is_curve and trace.get("showlegend") is not True:
            continue
        name = html.unescape(trace.get("name", ""))
        if is_curve:
            style = trace["line"]
            yield _line(left, 10, left + 22, 10, style["color"], style["width"], _DASHES[style.get("dash", "solid")])
        else:
            yield _marker(trace["marker"], left + 14, 10)
        yield _text(left + 27, 14, name, "start")
        left += 46 + _LETTER_PX * len(name)


def _line(x0: float, y0: float, x1: float, y1: float, color: str, width: float = 1.0, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    ends = f'x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}"'
    return f'<line {ends} stroke="{color}" stroke-width="{width}"{dashes}/>'


def _text(x: float, y: float, text: str, anchor: str, more: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{more}>{html.escape(text)}</text>'
