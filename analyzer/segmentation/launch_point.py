"""Heights above the launch point, where the log begins somewhere else."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.records import Notice

if TYPE_CHECKING:
    from analyzer.records import Log, Segmentation

_HEIGHTS: Final = ("altitude_m", "altitude_reading_m", "height_m", "energy_height_m")

_WAITS_S: Final = 3.0
"""A model that is about to be launched stays where it is for so long."""

_ELSEWHERE_M: Final = 3.0
"""A hand lifts it by less, and the altimeter warms up by less in the usual wait."""


def above_launch_point(log: Log, segmentation: Segmentation) -> tuple[Log, Segmentation]:
    """Count heights from where the first flight began.

    Until a log is cut its heights are above where it was switched on: at the car, below the slope, or half an hour of
    drift ago. What lies within `_ELSEWHERE_M` of it is left as it is.

    Parameters
    ----------
    log : Log
        Conditioned.
    segmentation : Segmentation
        Its flights and segments.

    Returns
    -------
    Log, Segmentation
        Both with the other heights, and the log with a notice; or as they were.
    """
    release_s = segmentation.flights[0].start_s if segmentation.flights else 0.0
    time_s, height_m = (log.frame[name].to_numpy(dtype=float) for name in ("time_s", "height_m"))
    waits = height_m[slice(*np.searchsorted(time_s, (release_s - _WAITS_S, release_s)))]
    waits = waits[np.isfinite(waits)]
    launch_m = float(np.median(waits)) if waits.size else 0.0
    if abs(launch_m) < _ELSEWHERE_M:
        return log, segmentation
    moved = {name: log.frame[name] - launch_m for name in _HEIGHTS if name in log.frame}
    where = f"{abs(launch_m):.0f} m {'above' if launch_m > 0 else 'below'} where the log begins"
    told = Notice("launch-point", f"heights are above the launch point, {where}")
    segments = tuple(
        replace(
            segment,
            start_altitude_m=segment.start_altitude_m - launch_m,
            end_altitude_m=segment.end_altitude_m - launch_m,
        )
        for segment in segmentation.segments
    )
    shifted = log.then("above the launch point", log.frame.assign(**moved), [told])
    return shifted, replace(segmentation, segments=segments)
