"""The segmentation stage's tuning values, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class SegmentationTuning:
    """Values that shape the segmentation.

    Attributes
    ----------
    motor_share : float
        A motor run exceeds idle by at least this share of the log's own full power: servo work stays below.
    motor_sigma : float
        ... and by this many standard deviations of the idle readings.
    shortest_climb_s, least_gain_m : float
        What counts as a thermal climb, by definition.
    circle_s : float
        Usual time of one circle; motion within a circle is integrated out.
    ground_band_m : float
        Heights this close to the launch level may be the ground or a hand.
    blip_s : float
        Motor runs shorter than this are kept but not measured.
    """

    motor_share: float = 0.04
    motor_sigma: float = 6.0
    shortest_climb_s: float = 20.0
    least_gain_m: float = 10.0
    circle_s: float = 10.0
    ground_band_m: float = 4.0
    blip_s: float = 3.0


SEGMENTATION: Final = SegmentationTuning()
"""The values in use."""
