"""The conditioning stage's tuning values, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class ConditioningTuning:
    """Values that shape the conditioning; none of them is a property of one recorder or one aircraft.

    Attributes
    ----------
    hold_share : float
        Quantile of the intervals between changes that is taken for a held channel's own period. Low, since a reading
        that repeats the last value hides a change and makes an interval longer, never shorter.
    fewest_changes : int
        Fewest changes larger than the quantum on which a hold is believed.
    spike_sigma : float
        A spike stands out from both neighbours by at least this many local standard deviations; about one false alarm
        in 1e9 samples of Gaussian noise.
    spike_agreement : float
        The neighbours of a spike differ from each other by less than this share of its height; a motor start differs by
        nearly all of it.
    greatest_acceleration_m_s2 : float
        Vertical acceleration (about 3 g) that a model may really have: a deviation that it explains is no spike.
    bridge_samples, bridge_s : float
        A channel is interpolated over silences of up to this many of its own sampling periods, or this long, whichever
        is more; beyond, it is missing.
    node_s : float
        Altitude samples closer than this are averaged before smoothing: sailplanes do nothing vertically in a tenth of
        a second that a barometer could show.
    edge_nodes : int
        Width, in samples, of the window in which standard errors near the ends and gaps are computed.
    launch_rise_m : float
        Height above the first stretch's level that shows that the model has left: more than a person can lift it.
    """

    hold_share: float = 0.15
    fewest_changes: int = 12
    spike_sigma: float = 6.0
    spike_agreement: float = 0.4
    greatest_acceleration_m_s2: float = 30.0
    bridge_samples: float = 4.0
    bridge_s: float = 2.0
    node_s: float = 0.1
    edge_nodes: int = 40
    launch_rise_m: float = 5.0


CONDITIONING: Final = ConditioningTuning()
"""The values in use."""
