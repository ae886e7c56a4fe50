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
    idle_steps : float
        ... nor below this many of the sensor's steps: idle flips between two, and half the floor is above one step.
    least_peak : float
        A signal alone must reach this share of full power somewhere in a run: a quarter of full rpm takes less.
    burst_s : float
        Servo loads last less than this; what lasts longer and takes three quarters of `least_peak` is the motor.
    servos_a : float
        ... and take up to this much from the pack: no motor is told from less without a shaft that turns.
    undoubted : float
        Power of this share, for longer than `burst_s`, is the motor's, whatever rpm says (its sensor fails, too).
    stuck_readings : int
        ... unless it repeats one value for so many readings while the shaft stands.
    steady_share : float
        A shaft that keeps this share of its speed is still driven, unless the air turns it: then no power is drawn.
    slowest_turn : float
        A shaft at less than this share of full speed is not driven: that would take a thousandth of full power.
    gliding_m_s, windmilling_share : float
        The air turns the propeller if it turns for more than this share of the time in which the model sinks this fast
        and draws nothing: a motor that hides in the idle current hardly does so for half of all glides.
    windmilling_most, windmilling_below : float
        It turns as fast as it does for the first share of that, and never faster than the second of full speed.
    undived : float
        A shaft that goes this share of the way from there to full speed is driven; at less only where the model climbs.
    undriven : float
        At less than this share of full speed for longer than `idles_s`, a shaft drives no model that sinks.
    coasting_s : float
        Other sensors lag behind a closed throttle by less than this.
    shut_running : float
        ... which is so for less than this share of the rows in which the motor runs beyond doubt, else it is not
        believed.
    idles_s : float
        Power that is idle on the mean over this, beside a shaft that the air may turn, is not lost but not drawn.
    apart_s : float
        Runs closer than this are one: no pilot blips faster.
    rest_voltage_s, sag_share : float
        The pack's resting level is the highest voltage in six parts of this length, longer than any run; a sag of less
        than this share of the deepest is recovery and servo work.
    recovery_share, recovery_s : float
        So much of a steady sag builds up, and recovers, with this time constant: what packs in use do (common practice,
        no source; right within a third either way is enough).
    sagging_climb_m_s : float
        A lesser sag, or a shaft that the air might turn, is the motor's where the model climbs this steeply over all of
        it, and the motor runs on through a long silence of all its channels: lift hardly ever does.
    powered_launch_share : float
        Away from the ground, a climb is a motor run by its shape only if it is this steep compared with a launch.
    powered_climb_m_s, powered_least_s, powered_onset_s : float
        A climb is a motor run by its shape when it is at least so steep, lasts so long, and was not there so long
        before. How even it is tells nothing: gusts and the pilot's turns make it less so than lift.
    powered_edge_share, powered_delay_s : float
        The motor started so long before the climb reached this share of its usual vertical speed, and stopped where it
        lacked as much of it; right within 0.7 and 0.4 s (standard deviations over simulated flights).
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
    blip_s : float
        Motor runs shorter than this are kept but not measured.
    """

    full_power_s: float = 1.0
    idle_below: float = 0.15
    motor_sigma: float = 5.0
    motor_share: float = 0.02
    idle_steps: float = 2.1
    least_peak: float = 0.06
    burst_s: float = 1.5
    servos_a: float = 3.0
    undoubted: float = 0.3
    stuck_readings: int = 4
    steady_share: float = 0.8
    slowest_turn: float = 0.1
    gliding_m_s: float = 0.2
    windmilling_share: float = 0.5
    windmilling_most: float = 0.95
    windmilling_below: float = 0.8
    undived: float = 0.5
    undriven: float = 0.3
    coasting_s: float = 1.5
    shut_running: float = 0.2
    idles_s: float = 10.0
    apart_s: float = 0.3
    rest_voltage_s: float = 10.0
    sag_share: float = 0.15
    recovery_share: float = 0.35
    recovery_s: float = 15.0
    sagging_climb_m_s: float = 2.0
    powered_launch_share: float = 0.6
    powered_climb_m_s: float = 3.0
    powered_least_s: float = 5.0
    powered_onset_s: float = 3.0
    powered_edge_share: float = 0.2
    powered_delay_s: float = 0.9
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
    blip_s: float = 3.0


SEGMENTATION: Final = SegmentationTuning()
"""The values in use."""
