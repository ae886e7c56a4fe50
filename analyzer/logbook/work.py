"""The work on one log, as a pure function of plain data: it runs in this process, in another, or on another machine."""

from __future__ import annotations

import hashlib
import json
import zlib
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from analyzer.errors import ClimbledgerError, LogFileError
from analyzer.export.serializer import from_plain, to_plain
from analyzer.logbook.stored_setup import pack_setup, with_propeller

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.analysis import Analysis
    from analyzer.logbook.stored_setup import StoredSetup
    from analyzer.setup_file import Setup

ENCODING: Final = "zlib"
_LEVEL: Final = 6
"""A 20-minute log shrinks to about a third in a twentieth of a second; higher levels gain little for much more time."""


@dataclass(frozen=True)
class Job:
    """A log to analyse.

    Attributes
    ----------
    name : str
        File name.
    data : bytes
        The file's content.
    setup : StoredSetup or None
        Flown with.
    propeller : str
        The propeller flown, where it is not the setup's.
    columns : dict of str to str
        Explicit column map.
    segmentation : str or None
        Hand-corrected segmentation, as JSON.
    is_new : bool
        Whether the log is to be compressed for storing, too.
    path : str
        Where it was read from, for messages; "" where only its name is known.
    """

    name: str
    data: bytes
    setup: StoredSetup | None = None
    propeller: str = ""
    columns: dict[str, str] = field(default_factory=dict)
    segmentation: str | None = None
    is_new: bool = False
    path: str = ""

    @property
    def flown(self) -> Setup | None:
        """The setup with the propeller that was flown."""
        return None if self.setup is None else with_propeller(self.setup.setup, self.propeller)


def changed(job: Job, setup: Setup | None, propeller: str | None, columns: Mapping[str, str] | None) -> Job:
    """A job with what is now said of it; segments corrected in what other columns held are forgotten."""
    if columns is not None and columns != job.columns:
        job = replace(job, columns=dict(columns), segmentation=None)
    packed = job.setup if setup in (None, job.flown) else pack_setup(setup)
    return replace(job, setup=packed, propeller=job.propeller if propeller is None else propeller)


@dataclass(frozen=True)
class Analysed:
    """What a job found, ready to be stored; `content` is the compressed log, where it was asked for."""

    sha256: str
    log_name: str
    log_place: str
    started_at: str | None
    motor_runs: int
    totals: str
    summary: str
    content: bytes = b""


def analyse(job: Job) -> Analysed:
    """Do a job, for the logbook; see `analysis_of`."""
    found = storable(analysis_of(job))
    return replace(found, content=compressed(job.data)) if job.is_new else found


def analysis_of(job: Job) -> Analysis:
    """Do a job.

    Raises
    ------
    ClimbledgerError
        When the log cannot be read as telemetry; an unexpected problem becomes one too, so that it survives the trip
        from another process and is reported like any other.
    """
    from analyzer.analysis import analyze_bytes, analyze_conditioned
    from analyzer.records import Segmentation

    try:
        analysis = analyze_bytes(job.data, job.name, job.flown, job.columns)
        if job.segmentation is not None:
            corrected = from_plain(Segmentation, json.loads(job.segmentation))
            analysis = analyze_conditioned(analysis.log, job.flown, corrected)
        return analysis
    except ClimbledgerError:
        raise
    except Exception as error:
        raise LogFileError(
            f"cannot be analysed ({type(error).__name__}: {error})", source=job.name, remedy="please report it"
        ) from error


def storable(analysis: Analysis) -> Analysed:
    """Put an analysis into the form that is stored."""
    summary = analysis.summary
    return Analysed(
        sha256=summary.log.sha256,
        log_name=summary.log.name,
        log_place=analysis.log.place,
        started_at=summary.log.started_at,
        motor_runs=len(summary.climbs),
        totals=as_json(summary.totals),
        summary=as_json(summary),
    )


def as_json(record: object) -> str:
    """A record as compact JSON; a column map or a segmentation too."""
    return json.dumps(to_plain(record), separators=(",", ":"), allow_nan=False)


def compressed(data: bytes) -> bytes:
    """Compress a log for the logbook."""
    return zlib.compress(data, _LEVEL)


def decompressed(content: bytes, encoding: str, sha256: str, label: str) -> bytes:
    """Take a log out of the logbook.

    Raises
    ------
    LogFileError
        When it is not what was put in.
    """
    try:
        data = zlib.decompress(content) if encoding == ENCODING else None
    except zlib.error:
        data = None
    if data is None or hashlib.sha256(data).hexdigest() != sha256:
        raise LogFileError("the log in the logbook is damaged", source=label, remedy="restore it from a backup")
    return data


def plain(text: str | None) -> Any:  # noqa: ANN401 - any JSON value
    """Read a JSON column; None where it is empty."""
    return None if text is None else json.loads(text)
