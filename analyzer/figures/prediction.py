"""Predictions: what propellers do over airspeed, and the trade between climb and speed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.constants import NORMAL_95
from analyzer.display import System, scale_of
from analyzer.figures.names import name_places
from analyzer.figures.template import DAY, GREEN, GREY, VERMILLION, Look, faint, new_figure
from analyzer.limits import CONTINUOUS

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence

    import plotly.graph_objects as go

    from analyzer.display import Scale
    from analyzer.power_system.prediction_records import (
        Estimate,
        PredictedPoint,
        Prediction,
        PropellerPrediction,
    )

    Reading = Callable[[PredictedPoint], Estimate | None]

MOST_CURVES: Final = 6
"""Propellers drawn over airspeed: more cannot be told apart; the trade-off chart takes any number."""

MOST_LABELS: Final = 8
"""Propellers that the trade-off chart names one by one, each with its intervals."""

_DASHES: Final = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
_BAND_OPACITY: Final = 0.15


def current_figure(prediction: Prediction, *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw current over airspeed with its 95 % interval, and the controller's continuous limit where one is stated.

    Parameters
    ----------
    prediction : Prediction
        The first `MOST_CURVES` propellers are drawn.
    system : System
        Units of the axes.
    look : Look
        Day or night.
    """
    figure = _over_airspeed(prediction, "current, A", system, look, lambda point: point.current_a)
    figure.update_yaxes(rangemode="tozero")
    stated = (limit.limit for one in prediction.propellers for limit in one.limits if limit.name == CONTINUOUS.name)
    if (limit_a := next(stated, None)) is not None:
        figure.add_hline(
            y=limit_a,
            line={"color": VERMILLION, "width": 2, "dash": "dash"},
            annotation={
                "text": f"controller, continuous {limit_a:g} A",
                "font": {"color": VERMILLION},
                "xanchor": "right",
            },
            annotation_position="top right",
        )
    return figure


def thrust_figure(prediction: Prediction, *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw thrust over airspeed with its 95 % interval, and the airframe's drag in level flight.

    Where thrust and drag meet is the top level speed; the room between them climbs.
    """
    figure = _over_airspeed(prediction, "thrust and drag, N", system, look, lambda point: point.thrust_n)
    figure.update_yaxes(rangemode="tozero")
    drag = max((one.points for one in prediction.propellers), key=lambda points: points[-1].airspeed_m_s, default=())
    known = [point for point in drag if point.drag_n is not None]
    if known:
        figure.add_trace(_drag(known, system))
        highest = max(point.thrust_n.high for one in prediction.propellers for point in one.points)
        figure.update_yaxes(range=[0.0, 1.05 * highest])
    return figure


def climb_rate_figure(prediction: Prediction, *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw climb rate over airspeed with its 95 % interval, from the stall to the top level speed."""
    scale = scale_of("climb_rate_m_s", system)
    figure = _over_airspeed(
        prediction, f"climb, {scale.symbol}", system, look, lambda point: point.climb_rate_m_s, scale.factor
    )
    figure.update_yaxes(rangemode="nonnegative")
    return figure


def trade_off_figure(
    prediction: Prediction,
    flown: Mapping[str, tuple[float, float | None]] | None = None,
    *,
    named: Collection[str] = (),
    system: System = "metric",
    look: Look = DAY,
) -> go.Figure:
    """Draw climb per amp-hour against top level speed, one point a propeller with its 95 % intervals.

    A filled marker keeps every limit; an open one passes at least one, named when the pointer is on it. Up and to
    the right is better. Of more than `MOST_LABELS` propellers only the named ones, and those inside all limits that no
    other beats in both, have a name and intervals: the rest tell theirs when the pointer is on them.

    Parameters
    ----------
    prediction : Prediction
        The propellers.
    flown : mapping of str to (float, float or None), optional
        Measured climb per amp-hour of the propellers that were flown, and its standard error; drawn as stars at the
        predicted top speed, which a log of climbs does not tell.
    named : collection of str
        Propellers that always have a name: the one on the model now, the one to try first.
    system : System
        Units of the axes.
    look : Look
        Day or night.
    """
    figure = new_figure(look, height=380)
    speed, per_ah = scale_of("airspeed_m_s", system), scale_of("climb_per_ah_m", system)
    figure.update_layout(
        xaxis={"title": {"text": f"top level speed, {speed.symbol}"}},
        yaxis={"title": {"text": f"climb per Ah, {per_ah.symbol}"}},
    )
    flown = flown or {}
    drawn = [one for one in prediction.propellers if one.best_climb is not None and one.level is not None]
    inside = [one for one in drawn if one.within_limits and not one.reasons]
    beyond = [one for one in drawn if not one.within_limits or one.reasons]
    few = {one.propeller for one in drawn} if len(drawn) <= MOST_LABELS else _unbeaten(inside or beyond)
    places = _label_places(drawn, few | {*named, *flown})
    figure.add_trace(_trade_off_points(inside, places, "inside all limits", look.series[0], "circle", system))
    figure.add_trace(_trade_off_points(beyond, places, "passes a limit", VERMILLION, "x-open", system))
    measured = [one for one in drawn if one.propeller in flown]
    if measured:
        figure.add_trace(_flown_points(measured, flown, system))
    return figure


def _unbeaten(found: Sequence[PropellerPrediction]) -> set[str]:
    """Names of the propellers that no other beats in both climb per Ah and level speed."""
    names, best = set(), float("-inf")
    for one in sorted(found, key=lambda one: -one.level.top_speed_m_s.value if one.level else 0.0):
        per_ah = one.best_climb.climb_per_ah_m.value if one.best_climb is not None else best
        if per_ah > best:
            names.add(one.propeller)
            best = per_ah
    return names


def _label_places(drawn: Sequence[PropellerPrediction], named: set[str]) -> dict[str, str]:
    """Where each name stands, the axes being as long as the intervals of the named and all the points."""
    shown = {
        one.propeller: (one.level.top_speed_m_s, one.best_climb.climb_per_ah_m)
        for one in drawn
        if one.level is not None and one.best_climb is not None
    }
    names = [name for name in shown if name in named]
    spans = []
    for axis in (0, 1):
        points = [trade[axis].value for trade in shown.values()]
        ends = [end for name in names for end in (shown[name][axis].low, shown[name][axis].high)]
        spans.append(max([*points, *ends], default=0.0) - min([*points, *ends], default=0.0))
    at = [(shown[name][0].value, shown[name][1].value) for name in names]
    return dict(zip(names, name_places(at, names, (spans[0], spans[1])), strict=True))


def _over_airspeed(
    prediction: Prediction, title: str, system: System, look: Look, read: Reading, factor: float = 1.0
) -> go.Figure:
    figure = new_figure(look)
    speed = scale_of("airspeed_m_s", system)
    figure.update_layout(
        xaxis={"title": {"text": f"airspeed, {speed.symbol}"}, "rangemode": "tozero"}, yaxis={"title": {"text": title}}
    )
    for number, one in enumerate(prediction.propellers[:MOST_CURVES]):
        known = [
            (point.airspeed_m_s * speed.factor, found) for point in one.points if (found := read(point)) is not None
        ]
        figure.add_trace(_band(known, factor, look.series[number]))
        figure.add_trace(_curve(one.propeller, known, factor, look.series[number], _DASHES[number]))
    return figure


def _band(known: Sequence[tuple[float, Estimate]], factor: float, color: str) -> go.Scatter:
    """The interval, drawn once around: out along its upper edge and back along the lower."""
    import plotly.graph_objects as go

    speeds = [speed for speed, _ in known]
    edge = [factor * found.high for _, found in known] + [factor * found.low for _, found in reversed(known)]
    return go.Scatter(
        x=speeds + speeds[::-1],
        y=edge,
        fill="toself",
        mode="none",
        fillcolor=color,
        opacity=_BAND_OPACITY,
        hoverinfo="skip",
        showlegend=False,
    )


def _curve(name: str, known: Sequence[tuple[float, Estimate]], factor: float, color: str, dash: str) -> go.Scatter:
    import plotly.graph_objects as go

    return go.Scatter(
        x=[speed for speed, _ in known],
        y=[factor * found.value for _, found in known],
        mode="lines",
        name=name,
        line={"color": color, "dash": dash, "width": 2},
        customdata=[[factor * found.low, factor * found.high] for _, found in known],
        hovertemplate=f"{name} at %{{x:.1f}}: %{{y:.1f}}"
        " (%{customdata[0]:.1f} to %{customdata[1]:.1f})<extra></extra>",
    )


def _drag(points: Sequence[PredictedPoint], system: System) -> go.Scatter:
    import plotly.graph_objects as go

    factor = scale_of("airspeed_m_s", system).factor
    return go.Scatter(
        x=[point.airspeed_m_s * factor for point in points],
        y=[point.drag_n for point in points],
        mode="lines",
        name="drag",
        line={"color": GREY, "width": 3},
        hovertemplate="drag at %{x:.1f}: %{y:.1f} N<extra></extra>",
    )


def _trade_off_points(
    found: Sequence[PropellerPrediction], places: Mapping[str, str], name: str, color: str, symbol: str, system: System
) -> go.Scatter:
    import plotly.graph_objects as go

    speed, per_ah = scale_of("airspeed_m_s", system), scale_of("climb_per_ah_m", system)
    along = [one.level.top_speed_m_s for one in found if one.level is not None]
    up = [one.best_climb.climb_per_ah_m for one in found if one.best_climb is not None]
    is_named = [one.propeller in places for one in found]
    return go.Scatter(
        x=[value.value * speed.factor for value in along],
        y=[value.value * per_ah.factor for value in up],
        mode="markers+text",
        name=name,
        showlegend=True,
        text=[one.propeller if named else "" for one, named in zip(found, is_named, strict=True)],
        textposition=[places.get(one.propeller, "top center") for one in found],
        marker={"color": color, "size": [10 if named else 7 for named in is_named], "symbol": symbol, "opacity": 1.0},
        error_x=_bars(along, is_named, speed.factor, color),
        error_y=_bars(up, is_named, per_ah.factor, color),
        hovertext=[
            f"{_hover(one)}<br>{_spread(fast, speed)}, {_spread(high, per_ah)}"
            for one, fast, high in zip(found, along, up, strict=True)
        ],
        hovertemplate="%{hovertext}<extra></extra>",
    )


def _flown_points(
    measured: Sequence[PropellerPrediction], flown: Mapping[str, tuple[float, float | None]], system: System
) -> go.Scatter:
    """What was measured, with its 95 % interval."""
    import plotly.graph_objects as go

    speed, per_ah = scale_of("airspeed_m_s", system), scale_of("climb_per_ah_m", system)
    values = [flown[one.propeller] for one in measured]
    return go.Scatter(
        x=[one.level.top_speed_m_s.value * speed.factor for one in measured if one.level is not None],
        y=[value * per_ah.factor for value, _ in values],
        mode="markers",
        name="measured in flight",
        showlegend=True,
        marker={"color": GREEN, "size": 14, "symbol": "star"},
        error_y={
            "type": "data",
            "array": [NORMAL_95 * (error or 0.0) * per_ah.factor for _, error in values],
            "color": GREEN,
            "thickness": 1.5,
            "width": 4,
        },
        hovertext=[f"{one.propeller} as flown" for one in measured],
        hovertemplate="%{hovertext}: %{y:.0f} " + per_ah.symbol + "<extra></extra>",
    )


def _bars(values: Sequence[Estimate], is_drawn: Sequence[bool], factor: float, color: str) -> dict[str, object]:
    scales = [factor * drawn for drawn in is_drawn]
    return {
        "type": "data",
        "symmetric": False,
        "array": [scale * (value.high - value.value) for scale, value in zip(scales, values, strict=True)],
        "arrayminus": [scale * (value.value - value.low) for scale, value in zip(scales, values, strict=True)],
        "color": faint(color),
        "thickness": 1,
        "width": 0,
    }


def _spread(value: Estimate, scale: Scale) -> str:
    """A value with its interval: "27.5 m/s (24.9 to 30.1)"."""
    return f"{scale.with_unit(value.value)} ({scale.text(value.low)} to {scale.text(value.high)})"


def _hover(one: PropellerPrediction) -> str:
    passed = [limit.name for limit in one.limits if not limit.ok]
    return f"{one.propeller}: " + (f"passes {', '.join(passed)}" if passed else f"first limit: {one.binds_first}")
