"""The tuning values of motor runs, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MotorTuning:
    """Values that shape the motor runs.

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
    dropout_s : float
        A motor that is told to stand for no longer than this may run on: a dropout of the throttle tells so, too.
    shut_running : float
        A throttle that is closed in more than this share of the rows in which the motor runs beyond doubt is not
        believed; in fewer it is only ahead of the other sensors.
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
    launch_level_m : float
        A climb that begins within this of where the log begins is a launch.
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
    dropout_s: float = 1.5
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
    launch_level_m: float = 10.0
    blip_s: float = 3.0
