"""Hand-made channels for the tests of the measures: exact signals, without ingest, conditioning or segmentation."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.measures.traces import Traces, traces_of
from analyzer.records import Flight, Log, Segment, Segmentation


def made_log(time_s, reading_m, climb_m_s=None, noise_m=0.05, **channels) -> Log:
    """A conditioned log of known readings; the smoothed heights are the readings, unless given."""
    time, height = np.asarray(time_s, dtype=float), np.asarray(reading_m, dtype=float)
    climb = np.gradient(height, time) if climb_m_s is None else np.asarray(climb_m_s, dtype=float)
    columns = {
        "time_s": time,
        "altitude_m": height,
        "altitude_reading_m": height,
        "height_m": height,
        "height_se_m": np.full(time.size, noise_m),
        "climb_m_s": climb,
        "climb_se_m_s": np.full(time.size, 0.1),
        **channels,
    }
    if "current_a" in columns and "voltage_v" in columns and "power_w" not in columns:
        columns["power_w"] = np.asarray(columns["current_a"]) * np.asarray(columns["voltage_v"])
    return Log("made.csv", "0" * 64, pd.DataFrame(columns))


def made_traces(time_s, reading_m, **channels) -> Traces:
    return traces_of(made_log(time_s, reading_m, **channels))


def cut(*pieces: tuple[str, float, float], blips: tuple[int, ...] = ()) -> Segmentation:
    """Segments of given kind, start and end; one flight from the first to the last that is not on the ground."""
    segments = tuple(Segment(kind, start, end, 0.0, 0.0) for kind, start, end in pieces)
    airborne = [segment for segment in segments if segment.kind != "ground"]
    flights = (Flight(airborne[0].start_s, airborne[-1].end_s),) if airborne else ()
    return Segmentation(flights, segments, blips)
