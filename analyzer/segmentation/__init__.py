"""Segmentation: the conditioned log cut into flights, motor runs, glides, thermal climbs and ground.

``motor_run``: the motor draws power, from spool-up to stop, a run on the ground or in the hand included; two runs
closer than the sensors can tell apart are one. ``ground``: not airborne and motor off: waiting, in the hand before
release, rolling out, carried home. ``thermal_climb``: airborne, motor off, sustained rise of total energy, at least
20 s and 10 m of gain, from the first to the last moment of the rise, dips within single circles included. ``glide``:
all the rest of the flight: zooms, dives, short bumps and weak lift included.

Order of work (`segment`): motor runs (`motor`), flights from launches, landings and rest (`airborne`, `launch`,
`landing`), climbs from the rises of total energy in what is left (`lift`, `rises`), and segments that cover the log
(`cover`).
`correction` lets a pilot who was there move an edge; `above_launch_point` counts heights from where the first flight
began, if the log was switched on elsewhere.
"""

from __future__ import annotations

from analyzer.segmentation.launch_point import above_launch_point
from analyzer.segmentation.segment import segment
from analyzer.segmentation.tuning import SEGMENTATION, SegmentationTuning

__all__ = ["SEGMENTATION", "SegmentationTuning", "above_launch_point", "segment"]
