"""The adapter for IGC files, the FAI's published flight-recorder format.

Heights from pressure are preferred to those from satellites; extensions that are channels here are read (ground speed,
airspeed, vertical speed, track, temperature, rpm). Events, tasks, satellites, comments and signatures are passed over;
a signature is not verified.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.channels import BY_NAME
from analyzer.errors import LogFileError
from analyzer.ingest.adapter import Adapter
from analyzer.ingest.clocks.time_axis import TimeAxis, TimeColumn
from analyzer.ingest.clocks.timeline import arrange
from analyzer.ingest.columns.column_map import resolve_map
from analyzer.ingest.columns.column_plan import mapped_meanings
from analyzer.ingest.columns.meaning import TERM, Meaning
from analyzer.ingest.describe import SAMPLE_CELLS, ColumnDescription
from analyzer.ingest.igc_records import GNSS_ALTITUDE, LATITUDE, LONGITUDE, PRESSURE_ALTITUDE, IgcRecords, parse_records
from analyzer.ingest.log_builder import build_log
from analyzer.ingest.observations import Candidate, Observations
from analyzer.ingest.source import begin_digest
from analyzer.records import Notice
from analyzer.units import unit_of
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.ingest.source import Source
    from analyzer.records import Log

MAX_BYTES: Final = 100_000_000
"""A recorder writes 40 bytes a second: 100 MB are a month in the air."""

MIN_FIXES: Final = 2
"""One fix is no log."""

MEANINGS: Final[dict[str, tuple[str, str, int]]] = {
    PRESSURE_ALTITUDE: ("altitude_m", "m", 0),
    GNSS_ALTITUDE: ("altitude_m", "m", 1),
    LATITUDE: ("latitude_deg", "deg", 0),
    LONGITUDE: ("longitude_deg", "deg", 0),
    "GSP": ("ground_speed_m_s", "km/h", 0),
    "TAS": ("airspeed_m_s", "km/h", 0),
    "IAS": ("airspeed_m_s", "km/h", 1),
    "VAR": ("vertical_speed_m_s", "m/s", 0),
    "TRT": ("heading_deg", "deg", 0),
    "HDT": ("heading_deg", "deg", 1),
    "OAT": ("temperature_c", "°C", 0),
    "RPM": ("rpm", "rpm", 0),
}
"""Channel, unit in the standard, and order of preference of each column."""

_FIX: Final = re.compile(rb"^B\d{6}\d{7}[NS]\d{8}[EW][AV]", re.MULTILINE)
_FIX_IN_LOWER_CASE: Final = re.compile(_FIX.pattern.lower(), re.MULTILINE)
_HEADING: Final = re.compile(rb"^(?:A[A-Z0-9]{3}|H[FOP][A-Z0-9]{3})", re.MULTILINE)


def confidence(head: bytes) -> float:
    """How sure this adapter is that bytes begin an IGC file: by its fixes, else by its heading."""
    if _FIX.search(head) or _FIX_IN_LOWER_CASE.search(head):
        return 1.0
    return 0.7 if head.startswith(b"A") and len(_HEADING.findall(head)) > MIN_FIXES else 0.0


def read(source: Source, columns: Mapping[str, str]) -> Log:
    """Read an IGC file.

    Parameters
    ----------
    source : Source
        The file.
    columns : mapping of str to str
        The user's column map; the columns are "pressure altitude", "GNSS altitude", "latitude", "longitude" and the
        three-letter codes of the file's extensions.

    Raises
    ------
    LogFileError
        When it holds fewer than two fixes.
    ColumnMapError
        When the user's map does not fit it.
    """
    digest = begin_digest(source)
    return build_log(_observations(_records(source), columns), source, digest)


def describe(source: Source) -> tuple[ColumnDescription, ...]:
    """Describe the columns of an IGC file; which of two heights is used is told when it is read."""
    descriptions = []
    for name, values in _records(source).columns.items():
        channel, unit, rank = MEANINGS[name]
        sample = tuple(f"{value:g}" for value in values[np.isfinite(values)][:SAMPLE_CELLS])
        proposed = channel if rank == 0 else None
        descriptions.append(ColumnDescription(name, sample, proposed, unit, () if proposed else (channel,)))
    return tuple(descriptions)


def _records(source: Source) -> IgcRecords:
    if source.size > MAX_BYTES:
        raise LogFileError("is too large for an IGC file", remedy="cut it into flights")
    data = source.read_head(source.size)
    return parse_records(data.upper() if _FIX_IN_LOWER_CASE.search(data) else data)


def _observations(records: IgcRecords, columns: Mapping[str, str]) -> Observations:
    if records.clock_s.size < MIN_FIXES:
        remedy = "give a file with a recorded flight"
        raise LogFileError("holds fewer than two fixes (B records)", remedy=remedy)
    names = list(records.columns)
    targets = resolve_map(columns, names)
    found = {
        i: mapped_meanings(targets[i], name, MEANINGS[name][1]) if i in targets else _meanings(name)
        for i, name in enumerate(names)
    }
    axis = _axis(records)
    order = arrange(axis, list(records.columns.values()))
    return Observations(
        seconds=order.seconds,
        columns=tuple(
            Candidate(i, names[i], meanings, order.numbers(records.columns[names[i]]), i in targets)
            for i, meanings in found.items()
            if meanings
        ),
        labels={},
        cells={},
        time_header=axis.header,
        started_at=axis.started_at(order.first_row),
        headers=tuple(names),
        notices=(*_notices(records), *order.notices),
        kind="an IGC file",
        place=records.site,
    )


def _axis(records: IgcRecords) -> TimeAxis:
    """The records' clock; with a date it also tells when the flight began."""
    calendar = None
    if records.flown_on is not None:
        midnight_s = datetime.combine(records.flown_on, time(), UTC).timestamp()
        calendar = TimeColumn("H record, date", midnight_s + records.clock_s, "absolute", zone_given=True)
    return TimeAxis(records.clock_s, "clock", "B record, UTC", calendar, ())


def _meanings(name: str) -> tuple[Meaning, ...]:
    channel, unit, rank = MEANINGS[name]
    return (Meaning(BY_NAME[channel], unit_of(unit, BY_NAME[channel].dimension), TERM, rank, name == GNSS_ALTITUDE),)


def _notices(records: IgcRecords) -> list[Notice]:
    notices = []
    if records.damaged:
        notices.append(Notice("rows-dropped", f"dropped {counted(records.damaged, 'damaged B record')}"))
    if records.without_position:
        message = f"{counted(records.without_position, 'record')} without a valid position: height from pressure alone"
        notices.append(Notice("fix-not-valid", message))
    return notices


ADAPTER: Final = Adapter(name="IGC", confidence=confidence, read=read, describe=describe)
