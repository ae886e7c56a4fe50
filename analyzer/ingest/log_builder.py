"""From observations to a log: columns chosen, converted, completed and named."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import chain
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from analyzer.channels import CHANNELS, channel_of, numbered
from analyzer.errors import ColumnMapError, LogFileError
from analyzer.ingest.clocks.clock_jumps import set_in_flight
from analyzer.ingest.clocks.stamps import MIN_STAMPS, too_short
from analyzer.ingest.columns.choice import choose
from analyzer.ingest.columns.column_map import map_hint, none_among
from analyzer.ingest.columns.convert import Converted, check_cells, convert
from analyzer.ingest.columns.derived import cell_volts, cells_there, pressure_altitude_m
from analyzer.ingest.columns.error_values import without_error_values
from analyzer.ingest.columns.speeds import height_unit, slope_against_height
from analyzer.ingest.columns.unit_guess import Guess, base_unit
from analyzer.records import Log, Notice
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterable
    from concurrent.futures import Future

    from analyzer.arrays import Array
    from analyzer.ingest.columns.choice import Choice
    from analyzer.ingest.observations import Candidate, Observations
    from analyzer.ingest.source import Source

ALTITUDE: Final = "altitude_m"
VERTICAL_SPEED: Final = "vertical_speed_m_s"


@dataclass
class _Draft:
    """A log in the making."""

    seconds: Array
    frame: dict[str, Array | pd.Series[str]]
    headers: dict[str, str]
    notices: list[Notice]
    assumed: list[str] = field(default_factory=list)

    def add(self, channel: str, header: str, values: Array) -> None:
        """Add a channel, numbered if it is not the first of its kind."""
        count = 1
        while numbered(channel, count) in self.frame:
            count += 1
        self.frame[numbered(channel, count)] = values
        self.headers[numbered(channel, count)] = header


def build_log(observations: Observations, source: Source, digest: Future[str]) -> Log:
    """Make a log of a table's observations.

    Raises
    ------
    LogFileError, ColumnMapError
        When no column can be the altitude, or a column cannot be read as what its header says.
    """
    if observations.seconds.size < MIN_STAMPS:
        raise too_short()
    draft = _Draft(
        observations.seconds,
        {"time_s": observations.seconds},
        {"time_s": observations.time_header},
        list(observations.notices),
    )
    read = [without_error_values(column) for column in observations.columns]
    choice = choose([candidate for candidate, _ in read], observations.seconds)
    draft.notices.extend(chain(choice.notices, *(notices for _, notices in read)))
    chosen = {one.meaning.channel.name: one for one in choice.chosen}
    for candidate in sorted(choice.chosen, key=lambda one: one.meaning.channel.name != ALTITUDE):
        _add_channel(draft, candidate, chosen.get(VERTICAL_SPEED))
    _judge_text(draft, observations)
    _complete(draft, observations)
    _add_flight_mode(draft, observations)
    if ALTITUDE not in draft.frame:
        raise _no_altitude(observations, choice, draft)
    draft.frame["time_s"], set_forward = set_in_flight(draft.seconds, np.asarray(draft.frame[ALTITUDE]))
    draft.notices.extend(set_forward)
    _say_what_was_assumed(draft)
    frame = pd.DataFrame({name: draft.frame[name] for name in _in_table_order(draft.frame)}, copy=False)
    return Log(
        name=source.name,
        sha256=digest.result(),
        frame=frame,
        notices=tuple(draft.notices),
        steps=(f"read {len(frame)} samples as {observations.kind}",),
        started_at=observations.started_at,
        place=observations.place,
        headers=draft.headers,
    )


def _add_channel(draft: _Draft, candidate: Candidate, climb: Candidate | None) -> None:
    """Convert one chosen column and add it; altitude has been added before all others."""
    channel = candidate.meaning.channel
    draft.notices.extend(check_cells(candidate, required=channel.name == ALTITUDE))
    if channel.name == ALTITUDE:
        converted = convert(candidate, draft.seconds, _height_by_climb(draft, candidate, climb))
    elif channel.name == VERTICAL_SPEED:
        converted = _vertical_speed(draft, candidate)
    else:
        converted = convert(candidate, draft.seconds)
    draft.notices.extend(converted.notices)
    if converted.values is None:
        return
    if converted.assumed:
        unknown = candidate.meaning.unknown_unit
        remark = f" ('{unknown}' is no unit known here; if it is one, {map_hint(candidate.header, channel, 'unit')})"
        draft.assumed.append(f"'{candidate.header}' {channel.unit or 'a fraction'}{remark if unknown else ''}")
    draft.add(channel.name, candidate.header, converted.values)


def _height_by_climb(draft: _Draft, altitude: Candidate, climb: Candidate | None) -> Guess | None:
    """The unit of heights in which a vertical speed with a unit adds up to them; None where it is the usual one."""
    if climb is None or climb.meaning.unit is None:
        return None
    unit = height_unit(altitude.values, climb.meaning.unit.to_base(climb.values), draft.seconds)
    if unit is None or unit == base_unit(altitude.meaning.channel):
        return None
    return Guess(unit, f"so '{climb.header}' adds up to it")


def _vertical_speed(draft: _Draft, candidate: Candidate) -> Converted:
    """Convert vertical speed; its unit, where not given, and its sign show in the height it adds up to."""
    heights = draft.frame.get(ALTITUDE)
    slope = slope_against_height(candidate.values, heights, draft.seconds) if isinstance(heights, np.ndarray) else None
    if slope is None:
        return convert(candidate, draft.seconds)
    converted = convert(candidate, draft.seconds, Guess(slope.unit, "so it adds up to the height"))
    if slope.downward and converted.values is not None:
        turned = Notice("vertical-speed-sign", f"'{candidate.header}' counts sink as positive; its sign was turned")
        converted = replace(converted, values=-converted.values, notices=(*converted.notices, turned))
    return converted


def _judge_text(draft: _Draft, observations: Observations) -> None:
    """Say of columns without a single number what stands in them instead, where their channel is missed."""
    for candidate in observations.columns:
        missed = all(meaning.channel.name not in draft.frame for meaning in candidate.meanings)
        if missed and not np.isfinite(candidate.values).any():
            required = any(meaning.channel.name == ALTITUDE for meaning in candidate.meanings)
            draft.notices.extend(check_cells(candidate, required=required))


def _complete(draft: _Draft, observations: Observations) -> None:
    """Derive what is not logged itself but follows plainly from what is."""
    pressure = draft.frame.get("pressure_pa")
    if ALTITUDE not in draft.frame and isinstance(pressure, np.ndarray):
        draft.add(ALTITUDE, draft.headers["pressure_pa"], pressure_altitude_m(pressure))
        message = f"altitude is computed from '{draft.headers['pressure_pa']}' in the ISO 2533 standard atmosphere"
        draft.notices.append(Notice("altitude-from-pressure", message))
    cells = cells_there(observations.cells)
    if "voltage_v" not in draft.frame and cells:
        draft.add("voltage_v", " + ".join(cells), np.sum([cell_volts(values) for values in cells.values()], axis=0))
        draft.notices.append(Notice("voltage-from-cells", f"pack voltage is the sum of {listed(list(cells))}"))


def _add_flight_mode(draft: _Draft, observations: Observations) -> None:
    filled = [header for header, labels in observations.labels.items() if (labels.codes >= 0).any()]
    if not filled:
        return
    draft.frame["flight_mode"] = observations.labels[filled[0]].texts()
    draft.headers["flight_mode"] = filled[0]
    if len(filled) > 1:
        message = f"flight mode is read from '{filled[0]}' (its name fits best); not used: {listed(filled[1:])}"
        draft.notices.append(Notice("column-chosen", message))


def _no_altitude(observations: Observations, choice: Choice, draft: _Draft) -> LogFileError | ColumnMapError:
    """Say why there is no altitude, and how to name it."""
    if ALTITUDE in choice.ambiguous:
        alternatives = choice.ambiguous[ALTITUDE]
        hint = map_hint(alternatives[0], channel_of(ALTITUDE))
        return ColumnMapError(f"the altitude may be any of {listed(alternatives)}", remedy=hint)
    named = [one.header for one in observations.columns if one.meaning.channel.name == ALTITUDE]
    for notice in draft.notices:
        if named and f"'{named[0]}'" in notice.message and notice.code in _WHY_NOT:
            return LogFileError(f"no usable altitude: {notice.message}")
    if named:
        return LogFileError(f"the altitude column {listed(named)} holds no value", remedy="check the sensor")
    return none_among("altitude", observations.headers, ALTITUDE, f'with its unit: "{ALTITUDE} [ft]"')


_WHY_NOT: Final = ("unit-unknown", "column-out-of-range", "column-ambiguous")


def _say_what_was_assumed(draft: _Draft) -> None:
    if draft.assumed:
        draft.notices.append(Notice("unit-assumed", f"no unit given; read in SI units: {', '.join(draft.assumed)}"))
    several = [name for name in draft.frame if name.startswith("temperature_c")]
    if len(several) > 1:
        names = ", ".join(f"{name} is '{draft.headers[name]}'" for name in several)
        draft.notices.append(Notice("channels-numbered", f"several temperatures: {names}"))


def _in_table_order(names: Iterable[str]) -> list[str]:
    """Names of frame columns in the order of the channel table."""
    order = {channel.name: place for place, channel in enumerate(CHANNELS)}
    return sorted(names, key=lambda name: (order[channel_of(name).name], len(name), name))
