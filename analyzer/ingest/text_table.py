"""Text tables of telemetry: one row per instant, headers with units."""

from __future__ import annotations

import hashlib
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from analyzer.channels import CHANNELS, Channel, numbered
from analyzer.errors import LogFileError
from analyzer.records import Log, Notice
from analyzer.units import Unit, find_units

if TYPE_CHECKING:
    from collections.abc import Mapping


def read_log(path: str | Path, columns: Mapping[str, str] | None = None) -> Log:
    """Read one log file."""
    path = Path(path)
    try:
        return read_log_bytes(path.read_bytes(), path.name, columns)
    except OSError as error:
        raise LogFileError(f"cannot be read ({error})", source=str(path), remedy="give a telemetry log") from error


def read_log_bytes(data: bytes, name: str, columns: Mapping[str, str] | None = None) -> Log:
    """Read one uploaded log."""
    try:
        table = pd.read_csv(io.BytesIO(data))
    except ValueError as error:
        raise LogFileError(f"cannot be read ({error})", source=name, remedy="give a telemetry log") from error
    frame, headers, notices = {}, {}, []
    for header in table.columns:
        found = _channel(header)
        if found is None:
            notices.append(Notice("column-ignored", f"column {header!r} is no channel that climbledger knows"))
            continue
        channel, unit = found
        count = 1
        while numbered(channel.name, count) in frame:
            count += 1
        column = numbered(channel.name, count)
        frame[column] = unit.to_base(table[header].astype(float)) if unit else table[header]
        headers[column] = header
    if "time_s" not in frame or "altitude_m" not in frame:
        raise LogFileError(
            f"no time or altitude among the headers {', '.join(map(str, table.columns))}",
            source=name,
            remedy='name the column with --map "Header=altitude_m"',
        )
    result = pd.DataFrame(frame).dropna(subset="time_s").drop_duplicates("time_s").sort_values("time_s")
    result["time_s"] -= result["time_s"].iloc[0]
    sha256 = hashlib.sha256(data).hexdigest()
    return Log(name, sha256, result.reset_index(drop=True), tuple(notices), ("read as a text table",), headers=headers)


def _channel(header: str) -> tuple[Channel, Unit | None] | None:
    match = re.fullmatch(r"(.*?)\s*[\[({](.*)[\])}]\s*", header)
    words, unit_text = (match[1], match[2]) if match else (header, "")
    name = re.sub(r"[\s_.\-]+", " ", words).strip().casefold()
    for channel in CHANNELS:
        if header.strip() == channel.name or name in channel.words:
            unit = next((unit for unit in find_units(unit_text) if unit.dimension == channel.dimension), None)
            return channel, unit
    return None
