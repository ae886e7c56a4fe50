"""The segmentation stage's tuning values, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class SegmentationTuning:
    """Values that shape the segmentation.

    Attributes
    ----------
    full_power_s : float
        Full power is the level exceeded for this long in the whole log: longer than spikes, shorter than any run.
    idle_below : float
        Readings below this share of full power are looked at as idle: half throttle takes an eighth of full power.
    motor_sigma : float
        Idle noise ends at this many of its own standard deviations.
    motor_share : float
        ... and not below this share of full power: no controller runs a propeller on less.
    least_peak : float
        A signal alone must reach this share of full power somewhere in a run: a quarter of full rpm takes less.
    undoubted : float
        Power of this share is the motor's, whatever rpm says (its sensor fails, too).
    apart_s : float
        Runs closer than this, or than 1.5 samples, are one: no pilot blips faster.
    shortest_climb_s, least_gain_m : float
        What counts as a thermal climb, by definition.
    circle_s : float
        Usual time of one circle; motion within a circle is integrated out.
    ground_band_m : float
        Heights this close to the launch level may be the ground or a hand.
    blip_s : float
        Motor runs shorter than this are kept but not measured.
    """

    full_power_s: float = 1.0
    idle_below: float = 0.15
    motor_sigma: float = 5.0
    motor_share: float = 0.02
    least_peak: float = 0.06
    undoubted: float = 0.3
    apart_s: float = 0.3
    shortest_climb_s: float = 20.0
    least_gain_m: float = 10.0
    circle_s: float = 10.0
    ground_band_m: float = 4.0
    blip_s: float = 3.0


SEGMENTATION: Final = SegmentationTuning()
"""The values in use."""
