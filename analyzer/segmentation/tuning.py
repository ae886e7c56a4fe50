"""The segmentation stage's tuning values, each with its reason; those of motor runs are in `motor.tuning`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from analyzer.segmentation.motor.tuning import MotorTuning


@dataclass(frozen=True, slots=True)
class LiftTuning:
    """Values that shape the thermal climbs.

    Attributes
    ----------
    shortest_climb_s, least_gain_m : float
        What counts as a thermal climb, by definition.
    rougher_energy, smooth_energy_m : float
        Total energy is used unless it is rougher than height by this factor and bends by more than this: a twentieth of
        the least gain of a climb harms nothing.
    circle_s : float
        Usual time of one circle; motion within a circle is integrated out, and a climb goes on over a dip that lasts
        less. No longer where circles seem wider: a straight leg to other lift looks like a part of one.
    turn_window_s, shortest_circle_s, longest_circle_s : float
        Window for the rate of turn, and the circles that are believed: steeper ones are aerobatics, wider ones legs.
    ripple_m : float
        Gusts leave ripples of up to this in the height averaged over a circle: a fiftieth of the least gain.
    edge_mean_s : float
        The ends of a climb are looked for in the height averaged over this: less shifts them to gusts and the
        altimeter's noise, more to the flatter side of the kink.
    most_silent : float
        No climb is told where the altimeter was silent for more than this share of it.
    longest_zoom_s, zoom_over_m_s : float
        A zoom after a motor stop is over after this long, or when the vertical speed is this close to what follows.
    longest_tow_s : float
        A tow or a throw, with the zoom at its end, is over after this long.
    zooming_m_s : float
        Faster vertical speeds than this, down and then up, or right after a tow, are speed traded for height.
    """

    shortest_climb_s: float = 20.0
    least_gain_m: float = 10.0
    rougher_energy: float = 1.1
    smooth_energy_m: float = 0.5
    circle_s: float = 9.0
    turn_window_s: float = 20.0
    shortest_circle_s: float = 6.0
    longest_circle_s: float = 28.0
    ripple_m: float = 0.2
    edge_mean_s: float = 3.0
    most_silent: float = 0.75
    longest_zoom_s: float = 8.0
    zoom_over_m_s: float = 0.3
    longest_tow_s: float = 15.0
    zooming_m_s: float = 3.0


@dataclass(frozen=True, slots=True)
class FlightTuning:
    """Values that shape the flights: launches, landings, rest.

    Attributes
    ----------
    launch_gain_m : float
        A motor run that leaves the model this much higher was a launch: nobody lifts it as far.
    shortest_flight_s : float
        Nothing is a landing sooner after the launch.
    waits_s, waiting_share : float
        So long before a launch a model still rests: half of `still_window_s`, and the time that a throw takes. Or it
        rested for this share of the time until then: in flight it does so by chance, for much less of it.
    still_window_s, still_m_s : float
        On the ground the vertical speed over this window stays below this (root mean square): in the hand it is less,
        in flight the sink alone is more.
    still_near_s : float
        Rest of this length is a landing near known ground.
    low_m, still_low_s : float
        Nobody holds a model this low and level for so long: where the field slopes, that is a landing, too.
    lying_s : float
        A model that lies where it landed does so for longer than this before somebody has walked there.
    still_far_s : float
        A model that stays at one height for so long has landed, wherever that is: no lift is as even.
    level_window_s, level_m, level_least_s : float
        The mean heights of windows of this length differ by less than this on the ground; in flight they do so by
        chance, but not for as long.
    near_ground_m : float
        Heights this close to a known ground level are near it: slope of the field, drift of the sensor.
    flying_share : float
        At this share of the usual airspeed the model flies, however level (ground speed: of 4 m/s, beyond walking).
    standing_share : float
        Below this share of the usual airspeed nothing flies: lift goes with its square, and a stall is soon over.
    rise_window_s, rise_m : float
        Nobody walks a hill faster.
    thrown_m : float
        ... nor runs it up: a model that changes its height by so much meanwhile may have been thrown off a slope.
    tow_window_s, tow_m : float
        A rise by more within this time is a tow or a throw; no car drives a hill as fast.
    walking_climb_m_s : float
        A launch without a motor begins when the vertical speed last was below this.
    approach_s, settled_s : float
        The touch-down is looked for from this long before the stillness; the model is down when it stays so this long.
    reach_m : float
        A hand moves the model up and down within this.
    carry_s : float
        After touch-down nobody lifts the model within this time in most cases: the middle height of it is the ground's.
    sinks_s, sinks_m : float
        A model that sinks by more than this soon after a short rest flies on: the flattest glides cost twice as much.
    strays_m : float
        A walk back to known ground goes neither lower nor higher than its ends by more than this.
    pause_s : float
        The least time on the ground between a landing and the next launch: nobody throws a model again sooner.
    least_unpowered_s : float
        No flight without the motor is shorter.
    touch_m : float
        Heights this close above the ground's are on it; the smoother's error and that of gusts are added.
    roll_out_s : float
        A roll-out lasts no longer.
    """

    launch_gain_m: float = 4.0
    shortest_flight_s: float = 3.0
    waits_s: float = 5.0
    waiting_share: float = 0.5
    still_window_s: float = 6.0
    still_m_s: float = 0.25
    still_near_s: float = 2.0
    low_m: float = 15.0
    still_low_s: float = 30.0
    lying_s: float = 10.0
    still_far_s: float = 40.0
    level_window_s: float = 10.0
    level_m: float = 1.0
    level_least_s: float = 20.0
    near_ground_m: float = 10.0
    flying_share: float = 0.75
    standing_share: float = 0.4
    rise_window_s: float = 12.0
    rise_m: float = 6.0
    thrown_m: float = 9.0
    tow_window_s: float = 3.0
    tow_m: float = 7.5
    walking_climb_m_s: float = 0.3
    approach_s: float = 15.0
    settled_s: float = 1.5
    reach_m: float = 3.0
    carry_s: float = 8.0
    sinks_s: float = 12.0
    sinks_m: float = 1.5
    strays_m: float = 3.0
    pause_s: float = 6.0
    least_unpowered_s: float = 8.0
    touch_m: float = 0.1
    roll_out_s: float = 6.0


@dataclass(frozen=True, slots=True)
class SegmentationTuning:
    """Values that shape the segmentation: of motor runs, thermal climbs, flights."""

    motor: MotorTuning = field(default_factory=MotorTuning)
    lift: LiftTuning = field(default_factory=LiftTuning)
    flight: FlightTuning = field(default_factory=FlightTuning)


SEGMENTATION: Final = SegmentationTuning()
"""The values in use."""
