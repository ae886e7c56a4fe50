"""Units for the eye: the last step before a person reads a number, and the only place that leaves SI.

A field's name ends in its unit, so the name alone says how to show it. Two systems: ``metric``, and ``feet``, in
which heights are feet, vertical speeds feet per minute and horizontal speeds miles per hour. Charge is shown in
mAh and resistance in mΩ, as packs are labelled.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from analyzer import wording
from analyzer.constants import NORMAL_95
from analyzer.units import unit_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analyzer.records import LogFacts, Notice, SegmentKind

System = Literal["metric", "feet"]
SYSTEMS: Final[dict[System, str]] = {"metric": "metres", "feet": "feet"}
"""Every system of units, the usual one first, and what a pilot calls it."""

ABSENT: Final = "—"
"""What stands for a value that the data cannot give."""

KIND_TITLES: Final[dict[SegmentKind, str]] = {
    "ground": "on the ground",
    "motor_run": "motor run",
    "glide": "glide",
    "thermal_climb": "thermal climb",
}
"""What a pilot calls each kind of segment."""


@dataclass(frozen=True, slots=True)
class Scale:
    """How a quantity is shown: ``value * factor`` with so many decimals, followed by the symbol."""

    symbol: str
    factor: float
    decimals: int

    def text(self, value: float | None, *, decimals: int | None = None) -> str:
        """The number without its unit; "—" where there is none."""
        if value is None or not math.isfinite(value):
            return ABSENT
        places = self.decimals if decimals is None else decimals
        shown = f"{value * self.factor:.{places}f}"
        return shown.removeprefix("-") if float(shown) == 0.0 else shown

    def with_unit(self, value: float | None) -> str:
        """The number and its unit."""
        shown = self.text(value)
        return shown if shown == ABSENT or not self.symbol else f"{shown} {self.symbol}"


_METRIC: Final[dict[str, Scale]] = {  # the first ending that fits a field's name decides
    "airspeed_m_s": Scale("m/s", 1.0, 1),
    "ground_speed_m_s": Scale("m/s", 1.0, 1),
    "drift_m_s": Scale("m/s", 1.0, 1),
    "wind_m_s": Scale("m/s", 1.0, 1),
    "_m_s": Scale("m/s", 1.0, 2),
    "_per_ah_m": Scale("m/Ah", 1.0, 0),
    "_per_wh_m": Scale("m/Wh", 1.0, 1),
    "_m": Scale("m", 1.0, 0),
    "_ah": Scale("mAh", 1000.0, 0),
    "_wh": Scale("Wh", 1.0, 2),
    "_ohm": Scale("mΩ", 1000.0, 1),
    "_percent": Scale("%", 1.0, 1),
    "_share": Scale("%", 100.0, 0),
    "_efficiency": Scale("%", 100.0, 0),
    "throttle": Scale("%", 100.0, 0),
    "rpm": Scale("rpm", 1.0, 0),
    "_deg": Scale("°", 1.0, 0),
    "_hz": Scale("Hz", 1.0, 1),
    "_a": Scale("A", 1.0, 1),
    "_v": Scale("V", 1.0, 2),
    "_w": Scale("W", 1.0, 0),
    "_s": Scale("s", 1.0, 0),
    "_c": Scale("°C", 1.0, 0),
}
_FOOT: Final = 1.0 / unit_of("ft").factor
_IN_MPH: Final = Scale("mph", 1.0 / unit_of("mph").factor, 1)
_IN_FEET: Final[dict[str, Scale]] = {
    "airspeed_m_s": _IN_MPH,
    "ground_speed_m_s": _IN_MPH,
    "drift_m_s": _IN_MPH,
    "wind_m_s": _IN_MPH,
    "_m_s": Scale("ft/min", 1.0 / unit_of("ft/min", "speed").factor, 0),
    "_per_ah_m": Scale("ft/Ah", _FOOT, 0),
    "_per_wh_m": Scale("ft/Wh", _FOOT, 0),
    "_m": Scale("ft", _FOOT, 0),
}
_INSTEAD: Final[dict[System, dict[str, Scale]]] = {"metric": {}, "feet": _IN_FEET}
"""What each system shows in another unit than the metric one."""

_ENDINGS: Final = {scale.symbol: ending for ending, scale in reversed(_METRIC.items())}


def scale_of(field: str, system: System = "metric") -> Scale:
    """How the values of a record's field are shown.

    Parameters
    ----------
    field : str
        Name of a field or channel; its ending is its unit.
    system : System
        What the reader wants.

    Raises
    ------
    KeyError
        When the name ends in no unit that is shown to people.

    Examples
    --------
    >>> scale_of("height_gain_m", "feet").with_unit(100.0)
    '328 ft'
    """
    for ending, metric in _METRIC.items():
        if field.endswith(ending):
            return _INSTEAD[system].get(ending, metric)
    raise KeyError(field)


def scale_for_symbol(symbol: str, system: System = "metric", quantity: str = "") -> Scale:
    """How a value is shown that names its own unit: a limit, or a quantity predicted and measured.

    Parameters
    ----------
    symbol : str
        Unit of the value.
    system : System
        What the reader wants.
    quantity : str
        What it is, in words; tells a climb from a speed.
    """
    if symbol == "m/s" and any(word in quantity for word in ("climb", "sink", "lift")):
        return scale_of("climb_m_s", system)
    if symbol not in _ENDINGS:
        return Scale(symbol, 1.0, 2)
    chosen, metric = scale_of(_ENDINGS[symbol], system), scale_of(_ENDINGS[symbol])
    return Scale(chosen.symbol, chosen.factor / metric.factor, chosen.decimals)


def shown(field: str, value: float | None, system: System = "metric") -> str:
    """A value with its unit, as in "184 m"."""
    return scale_of(field, system).with_unit(value)


_METRES: Final = re.compile(r"(-?\d+(?:\.\d+)?)(?: to (-?\d+(?:\.\d+)?))? (m/s|m)(?![\w²³/])")


def sentence(text: str, system: System = "metric") -> str:
    """A finished sentence in the reader's units: its heights and speeds, written in metres, as a pilot reads them.

    Examples
    --------
    >>> sentence("reads 1.8 m too high", "feet")
    'reads 6 ft too high'
    """
    if system == "metric":
        return text

    def converted(found: re.Match[str]) -> str:
        scale = scale_for_symbol(found[3], system, text)
        to = f" to {scale.text(float(found[2]))}" if found[2] else ""
        return f"{scale.text(float(found[1]))}{to} {scale.symbol}"

    return _METRES.sub(converted, text)


def notice_lines(notices: Iterable[Notice], system: System = "metric") -> tuple[str, ...]:
    """What notices say, as sentences; those about the columns and units of the file itself keep its units."""
    said = (
        notice.message if notice.code.startswith(("column-", "unit-")) else sentence(notice.message, system)
        for notice in notices
    )
    return tuple(line[:1].upper() + line[1:] + "." * (not line.endswith((".", "?", "!"))) for line in said)


def with_intervals(scale: Scale, values: Sequence[float | None], errors: Sequence[float | None]) -> tuple[str, ...]:
    """Texts of one column of values, each with the half-width of its 95 % interval where its error is known.

    One more decimal than usual is given to the whole column when an interval would otherwise be rounded to nothing;
    one that is too small even for that is not shown.

    Parameters
    ----------
    scale : Scale
        How the column is shown.
    values, errors : sequence of float or None
        Values and their standard errors, in the field's own unit.
    """
    half_widths = [None if error is None else NORMAL_95 * error for error in errors]
    too_fine = any(width and round(width * scale.factor, scale.decimals) == 0.0 for width in half_widths)
    decimals = scale.decimals + int(too_fine)
    return tuple(_with_interval(scale, decimals, *pair) for pair in zip(values, half_widths, strict=True))


def _with_interval(scale: Scale, decimals: int, value: float | None, half_width: float | None) -> str:
    text = scale.text(value, decimals=decimals)
    width = scale.text(half_width, decimals=decimals)
    is_negligible = width == ABSENT or float(width) == 0.0
    return text if is_negligible or text == ABSENT else f"{text} ±{width}"


def clock(seconds: float | None) -> str:
    """Time since the log's first sample as `analyzer.wording.clock` says it; "—" where there is none."""
    return ABSENT if seconds is None or not math.isfinite(seconds) else wording.clock(seconds)


def recorded(log: LogFacts) -> str:
    """How long and how densely it was logged: "13:40 logged at 10 Hz, 8198 samples"."""
    rate = f" at {log.sample_rate_hz:.3g} Hz" if log.sample_rate_hz else ""
    return f"{clock(log.duration_s)} logged{rate}, {log.samples} samples"


def when(iso: str | None) -> str:
    """Date and minute of an ISO 8601 time, as in "2026-05-02 14:31"; "" where there is none."""
    return iso[:16].replace("T", " ") if iso else ""
