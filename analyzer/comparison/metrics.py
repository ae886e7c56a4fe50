"""What can be compared: the metrics, their units, and how a difference is put into words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from analyzer.errors import OptionError


@dataclass(frozen=True, slots=True)
class Metric:
    """One comparable quantity of a motor run or a glide.

    Attributes
    ----------
    key : str
        Field of `MotorRun` or `Glide`.
    unit : str
        SI-based unit, as printed.
    label : str
        For headings and axes.
    source : {"motor_runs", "glides"}
        Which results of a flight hold it.
    verb, comparative : str
        What the higher one does, and how, as in "A climbs 9 % further per Ah than B".
    what : str
        The unit of observation in words: "climb" or "glide".
    is_of_height : bool
        Whether it is in proportion to the height that a motor run gained.
    """

    key: str
    unit: str
    label: str
    source: Literal["motor_runs", "glides"]
    verb: str
    comparative: str
    what: str = "climb"
    is_of_height: bool = True


_METRICS: Final = (
    Metric("climb_per_ah_m", "m/Ah", "Climb per amp-hour", "motor_runs", "climbs", "further per Ah"),
    Metric("climb_per_wh_m", "m/Wh", "Climb per watt-hour", "motor_runs", "climbs", "further per Wh"),
    Metric("climb_rate_m_s", "m/s", "Climb rate", "motor_runs", "climbs", "faster"),
    Metric("mean_current_a", "A", "Mean current", "motor_runs", "draws", "more current", is_of_height=False),
    Metric("climb_efficiency", "", "Climb efficiency", "motor_runs", "climbs", "more efficiently"),
    Metric("sink_rate_m_s", "m/s", "Sink rate", "glides", "sinks", "faster", "glide", is_of_height=False),
)
METRICS: Final = {metric.key: metric for metric in _METRICS}
"""Every metric by its key."""


def metric_named(key: str) -> Metric:
    """Find a metric.

    Raises
    ------
    OptionError
        Naming the metrics there are.
    """
    if key not in METRICS:
        raise OptionError(f"no metric {key!r}", source="--metric", remedy=f"use one of {', '.join(METRICS)}")
    return METRICS[key]
