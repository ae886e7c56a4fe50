"""The tables of a prediction, for the terminal and for a report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

from analyzer.display import Scale, System, scale_for_symbol, scale_of, shown, with_intervals
from analyzer.export.columns import estimated, plain
from analyzer.export.table import Column, Table
from analyzer.limits import CONTINUOUS

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from analyzer.power_system.prediction_records import (
        PredictedLimit,
        Prediction,
        PropellerPrediction,
    )

Item = TypeVar("Item")
Value = TypeVar("Value")

_NEWTON: Final = Scale("N", 1.0, 1)
_COUNT: Final = Scale("", 1.0, 1)

SHOWN_AIRSPEEDS: Final = 13
"""Rows of the table over airspeed: every third of the points solved."""


def overview_table(prediction: Prediction, system: System = "metric") -> Table:
    """One row for each propeller: what a pilot chooses by."""
    found = prediction.propellers
    best = [one.best_climb for one in found]
    height = next((one.pack.climb_height_m for one in found if one.pack is not None), None)
    climbs = scale_of("height_m", system).with_unit(height) if height is not None else ""
    level = _each([one.level for one in found], lambda flight: flight.top_speed_m_s)
    count = _each([one.pack for one in found], lambda pack: pack.climbs)
    columns = (
        _names(found),
        *_risk(found),
        estimated("climb", scale_of("climb_rate_m_s", system), _each(best, lambda climb: climb.climb_rate_m_s)),
        plain("at", scale_of("airspeed_m_s", system), _each(best, lambda climb: climb.airspeed_m_s.value)),
        estimated("per Ah", scale_of("climb_per_ah_m", system), _each(best, lambda climb: climb.climb_per_ah_m)),
        estimated("climbs", _COUNT, count),
        estimated("level speed", scale_of("airspeed_m_s", system), level),
    )
    of_height = f" Climbs: of {climbs}, in one pack." if climbs else ""
    note = (
        f"95 % intervals. Climb, level speed: pack at 60 %.{of_height} Risk and room: the chance to pass the "
        "controller's continuous current, and what is left below it. ! passes a limit, or cannot fly the model."
    )
    return Table("The propellers", columns, note).without_empty_columns()


def _risk(found: Sequence[PropellerPrediction]) -> tuple[Column, Column]:
    """The chance to pass the controller's continuous current, and the room below it."""
    checks = [next((limit for limit in one.limits if limit.name == CONTINUOUS.name), None) for one in found]
    room = tuple("" if check is None else f"{check.margin:+.1f}" for check in checks)
    beyond = tuple("" if check is None else chance(check.odds_beyond) for check in checks)
    return Column("risk", beyond), Column("room", room, "A")


def chance(share: float) -> str:
    """A probability in words: "12 %", "<1 %", ">99 %"."""
    if share < 0.005:
        return "<1 %"
    return ">99 %" if share > 0.995 else f"{100.0 * share:.0f} %"


def static_table(prediction: Prediction, system: System = "metric") -> Table:
    """Full throttle on the ground, full pack."""
    found = prediction.propellers
    runs = [one.static for one in found]
    columns = (
        _names(found),
        estimated("rpm", scale_of("rpm"), [run.rpm for run in runs]),
        estimated("current", scale_of("current_a"), [run.current_a for run in runs]),
        estimated("pack", scale_of("voltage_v"), [run.voltage_v for run in runs]),
        estimated("thrust", _NEWTON, [run.thrust_n for run in runs]),
        estimated("shaft", scale_of("shaft_power_w"), [run.shaft_power_w for run in runs]),
        plain("motor", scale_of("motor_efficiency"), [run.motor_efficiency.value for run in runs]),
        plain("heat", scale_of("motor_heat_w"), [run.motor_heat_w.value for run in runs]),
        plain("pitch speed", scale_of("airspeed_m_s", system), [run.pitch_speed_m_s.value for run in runs]),
    )
    return Table("Standing still, full pack", columns)


def climb_table(prediction: Prediction, system: System = "metric") -> Table:
    """The best climb in detail, in the middle of the pack."""
    found = [one for one in prediction.propellers if one.best_climb is not None]
    climbs = [one.best_climb for one in found if one.best_climb is not None]
    columns = (
        _names(found),
        plain("angle", scale_of("climb_angle_deg"), [climb.climb_angle_deg.value for climb in climbs]),
        estimated("current", scale_of("current_a"), [climb.current_a for climb in climbs]),
        plain("pack", scale_of("voltage_v"), [climb.voltage_v.value for climb in climbs]),
        estimated("rpm", scale_of("rpm"), [climb.rpm for climb in climbs]),
        plain("thrust", _NEWTON, [climb.thrust_n.value for climb in climbs]),
        plain("shaft", scale_of("shaft_power_w"), [climb.shaft_power_w.value for climb in climbs]),
        plain("prop", scale_of("propeller_efficiency"), [climb.propeller_efficiency.value for climb in climbs]),
        plain("motor", scale_of("motor_efficiency"), [climb.motor_efficiency.value for climb in climbs]),
        plain("heat", scale_of("motor_heat_w"), [climb.motor_heat_w.value for climb in climbs]),
        estimated("per Wh", scale_of("climb_per_wh_m", system), [climb.climb_per_wh_m for climb in climbs]),
    )
    return Table("The best climb, pack at 60 %", columns)


def pack_table(prediction: Prediction, system: System = "metric") -> Table:
    """From the first climb to the last, and level cruise."""
    found = prediction.propellers
    first, last = [one.first_climb for one in found], [one.last_climb for one in found]
    cruise = [one.cruise for one in found]
    rate = scale_of("climb_rate_m_s", system)
    columns = (
        _names(found),
        plain("first climb", rate, _each(first, lambda climb: climb.climb_rate_m_s.value)),
        plain("at", scale_of("current_a"), _each(first, lambda climb: climb.current_a.value)),
        plain("last climb", rate, _each(last, lambda climb: climb.climb_rate_m_s.value)),
        plain("at", scale_of("current_a"), _each(last, lambda climb: climb.current_a.value)),
        plain("cruise", scale_of("airspeed_m_s", system), _each(cruise, lambda flight: flight.airspeed_m_s)),
        plain("throttle", scale_of("throttle"), _each(cruise, lambda flight: flight.throttle.value)),
        plain("at", scale_of("current_a"), _each(cruise, lambda flight: flight.current_a.value)),
    )
    return Table("Through the pack, and level cruise", columns)


def glide_table(prediction: Prediction, system: System = "metric") -> Table:
    """Least sink rate in the three states of the propeller."""
    found = [one for one in prediction.propellers if one.glide is not None]
    glides = [one.glide for one in found if one.glide is not None]
    sink = scale_of("sink_rate_m_s", system)
    columns = (
        _names(found),
        plain("folded", sink, [glide.folded_sink_m_s for glide in glides]),
        plain("windmilling", sink, [glide.windmilling_sink_m_s for glide in glides]),
        plain("stopped, not folded", sink, [glide.braked_sink_m_s for glide in glides]),
    )
    return Table("Least sink rate, propeller", columns)


def limits_table(prediction: Prediction, system: System = "metric") -> Table:
    """Every limit of the setup, for every propeller."""
    several = len(prediction.propellers) > 1
    rows = [(one.propeller if several else "", limit) for one in prediction.propellers for limit in one.limits]
    scales = [scale_for_symbol(limit.unit) for _, limit in rows]
    columns = (
        Column("propeller", tuple(name for name, _ in rows), is_number=False),
        Column("limit", tuple(limit.name + " !" * (not limit.ok) for _, limit in rows), is_number=False),
        Column("at", tuple(scale.with_unit(limit.limit) for scale, (_, limit) in zip(scales, rows, strict=True))),
        Column(
            "predicted",
            tuple(
                with_intervals(scale, [limit.predicted.value], [limit.predicted.standard_error])[0]
                for scale, (_, limit) in zip(scales, rows, strict=True)
            ),
        ),
        Column("risk", tuple(chance(limit.odds_beyond) for _, limit in rows)),
        Column("where", tuple(_where(limit, system) for _, limit in rows), is_number=False),
    )
    return Table("Limits", columns, "Risk: the chance to pass the limit. ! it is passed.").without_empty_columns()


def _where(limit: PredictedLimit, system: System) -> str:
    speed = limit.airspeed_m_s
    return limit.where if speed is None else f"{limit.where}, {shown('airspeed_m_s', speed, system)}"


def airspeed_table(one: PropellerPrediction, system: System = "metric") -> Table:
    """One propeller over airspeed."""
    points = one.points[:: max(1, (len(one.points) - 1) // (SHOWN_AIRSPEEDS - 1))]
    columns = (
        plain("airspeed", scale_of("airspeed_m_s", system), [point.airspeed_m_s for point in points]),
        estimated("current", scale_of("current_a"), [point.current_a for point in points]),
        plain("rpm", scale_of("rpm"), [point.rpm for point in points]),
        estimated("thrust", _NEWTON, [point.thrust_n for point in points]),
        plain("drag", _NEWTON, [point.drag_n for point in points]),
        plain("prop", scale_of("propeller_efficiency"), [point.propeller_efficiency for point in points]),
        estimated("climb", scale_of("climb_rate_m_s", system), [point.climb_rate_m_s for point in points]),
    )
    return Table("Over airspeed, pack at 60 %", columns)


def _names(found: Sequence[PropellerPrediction]) -> Column:
    names = tuple(one.propeller if one.within_limits and not one.reasons else f"{one.propeller} !" for one in found)
    return Column("propeller", names, is_number=False)


def _each(items: Sequence[Item | None], get: Callable[[Item], Value | None]) -> list[Value | None]:
    """One value of each item, None where the item is missing."""
    return [None if item is None else get(item) for item in items]
