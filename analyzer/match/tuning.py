"""The tuning values of match and calibration, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from analyzer.power_system.input_spread import DEFAULT_SPREAD


@dataclass(frozen=True, slots=True)
class MatchTuning:
    """Values that no log tells; pass a changed copy to the functions of `analyzer.match` to try others.

    Standard deviations where not said otherwise; common practice without a source where no source is named.

    Attributes
    ----------
    spooled_share : float
        A run is spooled up when its current (else rpm) first reaches this share of what it then holds.
    settle_s : float
        Left out after that: the model still gains its climbing speed.
    end_guard_s : float
        Left out before the stop: sensors lag, and the stop falls between samples.
    shortest_s : float
        A steady part shorter than this is none: one gust would decide it.
    most_in_gaps : float
        Share of the charge that may lie in a gap of the log.
    full_throttle : float
        Throttle from here on is full: transmitters seldom show the last per cent.
    full_share : float
        Where no throttle is logged: a run is at full throttle if its current over rest voltage squared is at least this
        share of the strongest run's (the current of a loaded motor grows about as the voltage squared).
    rest_window_s, rest_guard_s : float
        Rest voltage is read in this time before a run, and not closer to it than the guard.
    rest_error_cell_v : float
        What relaxation leaves open in a cell's rest voltage.
    unknown_rest_cell_v : float
        The same where no voltage before the run is logged, and the charge used so far must tell.
    current_scale : float
        Scale error of a current sensor as sold, the same in all runs of a log.
    current_run, rpm_run, voltage_run_v : float
        What one run's mean adds to that: relative for current and rpm, volts for the pack.
    part_throttle : float
        Duty cycle of a part-throttle run as a factor: controllers have curves of their own.
    climb_angle_deg : float
        Where no airspeed is logged: pilots climb at the best speed, or faster where that would be steeper than this.
    over_best_speed : float
        Factor on the speed of the best climb: the usual margin to it.
    habit, habit_run : float
        How far a pilot's climbing speed is from that, as a factor: over a log, and from run to run.
    pitot, pitot_run : float
        The same where airspeed is logged: scale and position error of the probe, and what a run's mean adds.
    air_log_m_s : float
        Vertical motion of the air that all climbs of a log share: the day's subsidence, or lift over the field.
    air_run_m_s, air_run_weight : float
        That of single climbs as expected beforehand, and how many climbs this expectation is worth.
    thrust_log : float
        What the steady climb leaves out (banking, gaining speed), as a factor on thrust, over a log.
    gust_freedom : float
        Degrees of freedom of Student's distribution of single climbs: one flown in lift must not bend the fit.
    glide_air_m_s : float
        Vertical motion of the air in glides whose airspeed is logged.
    pack_resistance, assumed_pack_resistance : float
        Relative spread of a pack's resistance before the log speaks, wider than for a prediction: packs age and cool.
    another_day : float
        Relative spread that a pack's resistance gains between calibrations.
    make_load, make_efficiency : float
        How a make differs from the measured one: see `analyzer.power_system.input_spread.InputSpread`.
    size_efficiency : float
        Factor on C_T alone by which one size departs from its make's trend: 0.020 in climbing flight over the 34
        measured folding propellers (same script); the factor on both, 0.10 there, is taken from the family's modes.
    same_batch, same_efficiency : float
        The two, where the propellers are of the measured make.
    same_make_odds : float
        Odds of the measured make against any other that the log must show before single measured sizes are trusted.
    most_airspeed_ratio, most_departure : float
        Climbs that a setup explains only at so many times its usual airspeed, or with one of its values off by so many
        standard deviations, were not flown with it: its cells, speed constant, gear or propeller are others.
    told_share : float
        A parameter counts as identified when the log leaves at most this share of its spread.
    entangled : float
        Correlation above which two parameters cannot be told apart.
    shown : float
        A parameter explains a difference when it has moved by this many of its standard errors.
    """

    spooled_share: float = 0.9
    settle_s: float = 2.5
    end_guard_s: float = 0.5
    shortest_s: float = 5.0
    most_in_gaps: float = 0.2
    full_throttle: float = 0.97
    full_share: float = 0.85
    rest_window_s: float = 8.0
    rest_guard_s: float = 0.4
    rest_error_cell_v: float = 0.008
    unknown_rest_cell_v: float = 0.06
    current_scale: float = 0.015
    current_run: float = 0.01
    rpm_run: float = 0.005
    voltage_run_v: float = 0.02
    part_throttle: float = 0.05
    climb_angle_deg: float = 40.0
    over_best_speed: float = 1.05
    habit: float = 0.20
    habit_run: float = 0.06
    pitot: float = 0.03
    pitot_run: float = 0.02
    air_log_m_s: float = 0.15
    air_run_m_s: float = 0.20
    air_run_weight: float = 4.0
    thrust_log: float = 0.01
    gust_freedom: float = 4.0
    glide_air_m_s: float = 0.20
    pack_resistance: float = 0.40
    assumed_pack_resistance: float = 0.60
    another_day: float = 0.10
    make_load: float = DEFAULT_SPREAD.make_load
    make_efficiency: float = DEFAULT_SPREAD.make_efficiency
    size_efficiency: float = 0.02
    same_batch: float = 0.01
    same_efficiency: float = 0.02
    same_make_odds: float = 4.0
    most_airspeed_ratio: float = 3.0
    most_departure: float = 10.0
    told_share: float = 0.7
    entangled: float = 0.8
    shown: float = 2.0


TUNING: Final = MatchTuning()
