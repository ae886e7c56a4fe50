"""From flight summaries to a table of climbs (or glides): what each is compared by, and what it was flown in."""

from __future__ import annotations

import statistics
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from analyzer.errors import NoAnswerError, OptionError
from analyzer.power_system.air import air_state
from analyzer.power_system.propeller import stated_propeller

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from analyzer.comparison.metrics import Metric
    from analyzer.comparison.tuning import ComparisonTuning
    from analyzer.records import FlightSummary, Glide, MotorRun
    from analyzer.setup_file import Setup


@dataclass(frozen=True)
class LoggedFlight:
    """One analysed log with what the pilot knows of it: what a comparison is made of.

    Attributes
    ----------
    summary : FlightSummary
        What the analysis found.
    setup : Setup, optional
        Airframe and power system flown.
    propeller : str
        The propeller's name; "" takes the setup's.
    place, day : str
        Where, and the date (ISO 8601); "" where not known.
    tags : mapping of str to str
        The pilot's own.
    """

    summary: FlightSummary
    setup: Setup | None = None
    propeller: str = ""
    place: str = ""
    day: str = ""
    tags: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Conditions:
    """What a run was flown with and in; None where not known.

    Attributes
    ----------
    mass_kg, air_density_kg_m3 : float or None
        Of the model, and of the air at the field.
    pack_voltage_v : float or None
        The pack's voltage without load at the time of the run.
    sag : float or None
        Voltage lost in all resistances over the voltage left at the motor.
    sink_rate_m_s : float
        The model's usual sink in the glide, for the share of the climb that the power has to win first; 0 if unknown.
    """

    mass_kg: float | None
    air_density_kg_m3: float | None
    pack_voltage_v: float | None
    sag: float | None
    sink_rate_m_s: float


@dataclass(frozen=True)
class Candidate:
    """One motor run or glide before it is checked and corrected."""

    flown: LoggedFlight
    result: MotorRun | Glide
    flight: str
    group: str
    value: float | None
    standard_error: float | None
    conditions: Conditions

    @property
    def log(self) -> str:
        """Name of the log."""
        return self.flown.summary.log.name

    @property
    def is_launch(self) -> bool:
        """Whether a flight begins with this run: the motor was on in the hand."""
        starts = [flight.start_s for flight in self.flown.summary.flights]
        return any(self.result.start_s <= start_s < self.result.end_s for start_s in starts)


def propeller_name(setup: Setup | None) -> str:
    """A setup's propeller as pilots write it, "14x8" or "14x8x3"; "" where the setup does not say."""
    own = stated_propeller(setup)
    return own.name if own is not None else ""


def _propeller(flown: LoggedFlight) -> str:
    return flown.propeller or propeller_name(flown.setup)


def _motor(flown: LoggedFlight) -> str:
    kv, ratio = _value(flown, "motor.kv_rpm_per_v"), _value(flown, "gearbox.ratio")
    if kv is None:
        return ""
    return f"{kv:g} rpm/V" + (f", {ratio:g}:1" if ratio not in (None, 1.0) else "")


def _pack(flown: LoggedFlight) -> str:
    cells, capacity = _value(flown, "pack.cells"), _value(flown, "pack.capacity_ah")
    parts = [f"{cells:g}S" if cells is not None else "", f"{capacity:g} Ah" if capacity is not None else ""]
    return " ".join(part for part in parts if part)


def power_system_of(flown: LoggedFlight) -> tuple[str, str, str]:
    """What draws alike at full throttle: one propeller, motor and pack."""
    return _propeller(flown), _motor(flown), _pack(flown)


def model_of(flown: LoggedFlight) -> str:
    """A flight's model by its wing, which no pack or ballast changes; "" where no setup says."""
    return _sized(flown, _WING)


def airframe_of(flown: LoggedFlight) -> str:
    """What is known of a flight's airframe, in words; "" where no setup says."""
    return _sized(flown, (*_WING, ("airframe.mass_kg", "kg")))


_WING: Final = (("airframe.wingspan_m", "m"), ("airframe.wing_area_m2", "m²"))


def _sized(flown: LoggedFlight, sizes: Sequence[tuple[str, str]]) -> str:
    known = [(_value(flown, key), unit) for key, unit in sizes]
    return ", ".join(f"{value:g} {unit}" for value, unit in known if value is not None)


def _value(flown: LoggedFlight, key: str) -> float | None:
    value = flown.setup.value(key) if flown.setup is not None else None
    return None if value is None else float(value)


_NAMERS: Final[dict[str, Callable[[LoggedFlight], str]]] = {
    "propeller": _propeller,
    "motor": _motor,
    "pack": _pack,
    "airframe": airframe_of,
    "setup": lambda flown: flown.setup.name if flown.setup is not None else "",
    "place": lambda flown: flown.place,
}
GROUPINGS: Final = tuple(_NAMERS)
"""What can be compared by, besides the pilot's own tags."""


def group_namer(by: str, flights: Iterable[LoggedFlight]) -> Callable[[LoggedFlight], str]:
    """Find how a flight is named under a grouping.

    Parameters
    ----------
    by : str
        One of `GROUPINGS`, or the name of a tag. A tag named like a grouping ("pack", to tell two of a kind apart)
        counts before what the setup says.
    flights : iterable of LoggedFlight
        For the tags that there are.

    Raises
    ------
    OptionError
        When no flight has such a tag; names what there is.
    """
    known = list(dict.fromkeys([*GROUPINGS, *sorted({tag for flown in flights for tag in flown.tags})]))
    if by not in known:
        raise OptionError(
            f"nothing is called {by!r} in these flights", source="--by", remedy=f"use one of {', '.join(known)}"
        )
    return lambda flown: flown.tags.get(by) or (_NAMERS[by](flown) if by in _NAMERS else "")


def candidates_of(
    flights: Sequence[LoggedFlight], by: str, metric: Metric, tuning: ComparisonTuning
) -> list[Candidate]:
    """List every motor run (or glide) of the flights with its group, value and conditions.

    Raises
    ------
    OptionError
        When nothing is called `by`.
    NoAnswerError
        When no flight has any.
    """
    name_of = group_namer(by, flights)
    sinks = usual_sinks(flights, tuning)
    found = [
        _candidate(flown, result, name_of(flown), metric, sinks)
        for flown in flights
        for result in getattr(flown.summary, metric.source)
    ]
    if not found:
        raise NoAnswerError(f"there is no {metric.what} in these flights", remedy="add flights to the logbook")
    return found


def _candidate(
    flown: LoggedFlight, result: MotorRun | Glide, group: str, metric: Metric, sinks: dict[tuple[str, str], float]
) -> Candidate:
    error_key = "sink_rate_se_m_s" if metric.key == "sink_rate_m_s" else f"{metric.key}_se"
    return Candidate(
        flown=flown,
        result=result,
        flight=_flight_of(flown.summary, result.start_s),
        group=group,
        value=getattr(result, metric.key),
        standard_error=getattr(result, error_key, None),
        conditions=_conditions(flown, result, sinks),
    )


def _flight_of(summary: FlightSummary, start_s: float) -> str:
    """Identify the flight: the log, and which of its flights; a run in the hand belongs to the one that follows."""
    over = sum(flight.end_s <= start_s for flight in summary.flights)
    return f"{summary.log.sha256[:16]}/{over + 1}"


def usual_sinks(flights: Iterable[LoggedFlight], tuning: ComparisonTuning) -> dict[tuple[str, str], float]:
    """Median sink rate of each airframe in each flight mode, over all its glides long enough to count."""
    rates: dict[tuple[str, str], list[float]] = {}
    for flown in flights:
        for glide in flown.summary.glides:
            if glide.sink_rate_m_s is not None and glide.duration_s >= tuning.shortest_glide_s:
                rates.setdefault(sink_key(flown, glide), []).append(glide.sink_rate_m_s)
    return {key: statistics.median(values) for key, values in rates.items()}


def sink_key(flown: LoggedFlight, glide: Glide) -> tuple[str, str]:
    """What glides alike: the airframe in one flight mode."""
    return airframe_of(flown), glide.flight_mode or ""


def _conditions(flown: LoggedFlight, result: MotorRun | Glide, sinks: dict[tuple[str, str], float]) -> Conditions:
    voltage_v, current_a = getattr(result, "mean_voltage_v", None), getattr(result, "mean_current_a", None)
    measured_ohm = flown.summary.power_system.pack_resistance_ohm
    pack_ohm = measured_ohm if measured_ohm is not None else _value(flown, "pack.internal_resistance_ohm")
    pack_voltage_v = None
    if voltage_v is not None and current_a is not None and pack_ohm is not None:
        pack_voltage_v = voltage_v + current_a * pack_ohm
    return Conditions(
        mass_kg=_value(flown, "airframe.mass_kg"),
        air_density_kg_m3=_density_kg_m3(flown.setup),
        pack_voltage_v=pack_voltage_v,
        sag=_sag(flown, pack_voltage_v, current_a, pack_ohm),
        sink_rate_m_s=_sink_of(flown, sinks),
    )


def _density_kg_m3(setup: Setup | None) -> float | None:
    """Density at the field where the setup says anything about the air."""
    air = setup.air if setup is not None else None
    if air is None or (air.elevation_m is None and air.temperature_c is None):
        return None
    return air_state(air).density_kg_m3


def _sag(flown: LoggedFlight, voltage_v: float | None, current_a: float | None, pack_ohm: float | None) -> float | None:
    motor_ohm, controller_ohm = _value(flown, "motor.resistance_ohm"), _value(flown, "speed_controller.resistance_ohm")
    if voltage_v is None or current_a is None or pack_ohm is None or motor_ohm is None:
        return None
    lost_v = current_a * (pack_ohm + motor_ohm + (controller_ohm or 0.0))
    return lost_v / (voltage_v - lost_v) if 0.0 < lost_v < 0.5 * voltage_v else None


def _sink_of(flown: LoggedFlight, sinks: dict[tuple[str, str], float]) -> float:
    """The airframe's usual sink in the mode that it glided most in."""
    modes = Counter(sink_key(flown, glide) for glide in flown.summary.glides)
    known = [sinks[key] for key, _ in modes.most_common() if key in sinks]
    return max(known[0], 0.0) if known else 0.0
