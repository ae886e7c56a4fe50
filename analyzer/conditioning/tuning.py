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
    hold_twice : float
        Intervals longer than this many times that quantile hold a repeated reading; the mean of the others is the
        period: a reading that lasts two and a half rows is held for two and for three in turn.
    spike_floor : float
        A spike also stands out by this many times the bend that nine tenths of all readings stay below, and by as many
        steps of the resolution.
    spike_sigma : float
        A spike stands out from both neighbours by at least this many local standard deviations; the local value, from
        ten readings, is itself good to a third, hence more than the customary five.
    supply_sag : float
        Share of its usual value by which a supply may really sag (or rise) for one sample.
    spike_agreement : float
        The neighbours of a spike differ from each other by less than this share of its height; a motor start differs by
        nearly all of it.
    shortest_blip_s : float
        No pilot runs the motor for less: a reading whose neighbours are closer is no blip.
    greatest_acceleration_m_s2 : float
        Vertical acceleration (about 3 g) that a model may really have: a deviation that it explains is no spike.
    not_ready_s : float
        A sensor is ready after this long: a leap of its readings later than this is for other rules.
    longest_nonsense_s : float
        Readings between a leap and the leap back are nonsense for no longer; beyond, the sensor has a new zero, twice.
    frozen_readings : int
        Fewer equal readings in a row are no sign of a frozen sensor.
    frozen_chance : float
        A stretch of repeats is no chance if fewer are expected in the whole log.
    frozen_s : float
        A value that stands for longer is rest: on the ground, or idle.
    slowest_flight_m_s, steady_speed_s : float
        At a lift coefficient of 1.2 air at this speed carries 6.6 N/m², a tenth of what a light electric sailplane's
        wing does: nothing flies more slowly. Nor does a speed above it, or a running motor, read the same for the
        second.
    driven_climb_m_s : float
        A motor that lifts the model by less, and reads the same to the last digit, is one that nobody hears of.
    flown_rise_m : float
        What changes its height by this in one go flies, whatever its pitot says.
    bridge_samples, bridge_s : float
        A channel is interpolated over silences of up to this many of its own sampling periods, or this long, whichever
        is more; beyond, it is missing.
    longest_bridge_s : float
        The smoother bridges silences of the altimeter up to this long, with a standard error that says how well.
    node_s : float
        Altitude readings closer than this are averaged before smoothing: a sailplane does nothing vertically in a fifth
        of a second that a barometer could show.
    most_nodes : int
        Longer logs are averaged more coarsely, so that time grows with the log and not with its rate.
    edge_nodes : int
        Half width of the window in which standard errors near ends and gaps are computed: the smoother's memory.
    block_s, fewest_block_readings : float, int
        The motion is taken as equally lively over this long, and over at least as many readings.
    most_noise_readings, coarsest_noise_s : int, float
        Noise is estimated from about so many readings at most: the averages get coarser with the log's length up to
        this width, then blocks are left out.
    jerk_spread : float
        Standard deviation, between blocks, of the logarithm of the jerk density.
    jerk_margin : float
        Factor on the likeliest jerk density. The likelihood is ruled by the highest frequencies, where real motion has
        less jerk than white noise would; with twice the value, two standard errors of the vertical speed cover 94 % in
        simulated flights (without it 89 %), and the error itself stays the same.
    resting_m_s : float
        The log's first stretch is rest when its height changes by less than this on average: baro drift and hands do
        less, a glide does more.
    launch_rise_m : float
        Height above the first stretch's level that shows that the model has left: more than a person can lift it.
    """

    hold_share: float = 0.15
    fewest_changes: int = 12
    hold_twice: float = 1.75
    spike_floor: float = 2.5
    spike_sigma: float = 8.0
    supply_sag: float = 0.2
    spike_agreement: float = 0.4
    shortest_blip_s: float = 0.5
    greatest_acceleration_m_s2: float = 30.0
    not_ready_s: float = 10.0
    longest_nonsense_s: float = 30.0
    frozen_readings: int = 6
    frozen_chance: float = 0.01
    frozen_s: float = 10.0
    slowest_flight_m_s: float = 3.0
    steady_speed_s: float = 30.0
    driven_climb_m_s: float = 1.0
    flown_rise_m: float = 20.0
    bridge_samples: float = 4.0
    bridge_s: float = 2.0
    longest_bridge_s: float = 10.0
    node_s: float = 0.2
    most_nodes: int = 200_000
    edge_nodes: int = 16
    block_s: float = 20.0
    fewest_block_readings: int = 30
    most_noise_readings: int = 20_000
    coarsest_noise_s: float = 0.5
    jerk_spread: float = 1.0
    jerk_margin: float = 2.0
    resting_m_s: float = 0.3
    launch_rise_m: float = 5.0


CONDITIONING: Final = ConditioningTuning()
"""The values in use."""
