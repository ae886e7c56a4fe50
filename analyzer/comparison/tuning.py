"""Tuning values of the comparison, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from analyzer.measures.tuning import TUNING as MEASURES


@dataclass(frozen=True, slots=True)
class ComparisonTuning:
    """What counts as a climb that can be compared, and how sure a verdict must be."""

    confidence: float = 0.95
    """Of every interval; a difference is decided when its interval leaves out zero. The trade's usual level."""
    power: float = 0.80
    """Chance of deciding that "N more climbs" aims at; Cohen's (1988, section 2.4) convention."""
    worthwhile_percent: float = 5.0
    """Difference that "N more climbs" would show: about what a pilot notices as one more climb in twenty."""
    lowest_throttle: float = 0.9
    """Mean throttle, of the highest throttle flown in the group, under which a run is a part-throttle run."""
    lowest_current: float = 0.75
    """Without a throttle channel: mean current, of its power system's median at common conditions, that tells it.
    Pack and air move the current by a few per cent once corrected; half throttle halves it at least."""
    shortest_run_s: float = 4.0
    """Spool-up and the zoom after the stop make up most of anything shorter."""
    shortest_glide_s: float = 20.0
    """A shorter glide says more about one gust than about the model."""
    most_interpolated: float = 0.05
    """Share of a run's charge inside gaps: above it the cost of the run is a guess."""
    most_relative_error: float = 0.25
    """Standard error over value above which one run says nothing beside the others."""
    neighbour_s: float = 20.0
    """A thermal climb that ends this short before a run, or begins this short after it, is the air of that run."""
    lift_m_s: float = 0.5
    """Vertical motion of the air beside a run, from the glides next to it, above which the climb is the air's merit.
    Calm-day scatter of a glide of 20 s is about half of it."""
    neighbour_glide_s: float = 15.0
    """Shortest glide beside a run that is taken as evidence of lift or sink."""
    widest_correction: float = 0.25
    """Pack voltage, air density or mass further than this share from the others': beyond a first-order correction."""
    mass_exponent_se: float = 0.2
    density_exponent_se: float = 0.1
    voltage_exponent_se: float = 0.3
    """Relative error of a correction over the relative change that it is for: root mean square over wind-tunnel
    propellers and airspeeds of climbs (`tests/comparison/test_conditions.py`)."""
    default_sag: float = 0.12
    """Share of the pack's voltage lost in all resistances at full throttle over the rest, where the setup does not say
    (10 to 15 % in common electric sailplanes; enters only the exponents of the correction)."""
    lag_s: float = MEASURES.manner_spread_s
    """Error of the altimeter's lag that no log shows and all runs share (see `analyzer.comparison.conditions`)."""
    launch_loss_s: float = 1.0
    """Time that a launch spends in the hand with the motor on, and whose height it lacks beside climbs begun in flight:
    root mean square over simulated launches, of which a quarter wait for nothing and the others for 0.6 to 2 s. (By
    8 s of climb it costs 10 % in the median, by 30 s 2 %; those that wait for nothing lose nothing.)"""
    outlier_level: float = 0.01
    """Chance per comparison of setting apart a run that only looks foreign."""
    most_outliers: float = 0.2
    """Share of a group's runs that may be set apart as foreign; more foreign runs than that are no exceptions."""
    fewest_degrees: int = 3
    """Degrees of freedom below which the scatter between days is not estimated; groups are then compared inside days
    only, which needs no estimate of it."""
    most_runs_asked: int = 1000
    """"More runs needed" beyond this is no advice."""


TUNING: Final = ComparisonTuning()
