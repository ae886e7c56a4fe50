"""The believable track of a conditioned log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.circling.position import Track, track_of

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.records import Notice, Segmentation


def flight_track(traces: Traces, segmentation: Segmentation) -> tuple[Track | None, tuple[Notice, ...]]:
    """Take the track out of a conditioned log.

    Parameters
    ----------
    traces : Traces
        The log's channels.
    segmentation : Segmentation
        Says where the aircraft flew, and so must have moved.

    Returns
    -------
    Track or None
        None where no position is logged, or none is to be believed.
    tuple of Notice
        What was set aside.
    """
    latitude, longitude = traces.get("latitude_deg"), traces.get("longitude_deg")
    if latitude is None or longitude is None:
        return None, ()
    airborne = np.zeros(traces.time_s.size, dtype=bool)
    for flight in segmentation.flights:
        airborne[traces.window(flight.start_s, flight.end_s)] = True
    return track_of(traces.time_s, latitude, longitude, airborne)
