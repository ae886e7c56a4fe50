"""Writes a log as an IGC file, the FAI's published flight-recorder format.

Source: FAI, Technical Specification for IGC-approved GNSS Flight Recorders, appendix A (record layouts from memory).
Only what a small uncertified logger writes: A and H records, one B record a second, no security record.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd

from simulator.dialects import START


def write_igc(frame: pd.DataFrame, path: Path, elevation_m: float, glider: str, start: datetime = START) -> None:
    """Write position and altitude once a second; altitude becomes pressure altitude above 1013.25 hPa."""
    seconds = np.arange(0.0, frame["time_s"].iloc[-1], 1.0)
    shown = {
        name: np.interp(seconds, frame["time_s"], frame[name].ffill())
        for name in ("latitude_deg", "longitude_deg", "altitude_m")
    }
    lines = [
        "AXXX001 invented flight",
        f"HFDTEDATE:{start:%d%m%y},01",
        "HFPLTPILOTINCHARGE:club member 7",
        f"HFGTYGLIDERTYPE:{glider}",
        "HFDTM100GPSDATUM:WGS-1984",
        "HFALPALTPRESSURE:ISA",
    ]
    for index, second in enumerate(seconds):
        height = round(elevation_m + shown["altitude_m"][index])
        clock = start + timedelta(seconds=float(second))
        latitude = _angle(shown["latitude_deg"][index], 2, "NS")
        longitude = _angle(shown["longitude_deg"][index], 3, "EW")
        lines.append(f"B{clock:%H%M%S}{latitude}{longitude}A{height:05d}{height:05d}")
    path.write_bytes("\r\n".join((*lines, "")).encode("ascii"))


def _angle(degrees: float, digits: int, sides: str) -> str:
    """Degrees and thousandths of minutes, DDMMmmmN or DDDMMmmmE."""
    thousandths = round(abs(degrees) * 60_000)
    whole, minutes = divmod(thousandths, 60_000)
    return f"{whole:0{digits}d}{minutes:05d}{sides[int(degrees < 0)]}"
