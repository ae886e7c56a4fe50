"""The tuning values of the measures, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from analyzer.measures.altimeter import Usual
from analyzer.measures.kink import KinkModel


@dataclass(frozen=True, slots=True)
class MeasureTuning:
    """Values that no log tells; pass a changed copy to `analyzer.measures.measure` to try others.

    Attributes
    ----------
    edge_margin_s : float
        A run's charge is integrated this far beyond its edges, above the idle current, so that it does not matter at
        which moment a sample fell ...
    latest_sensor_s, slowest_sensor_s : float
        ... and until the sensor has fallen: it begins to within the first of these times after the stop, however late
        its readings come, and has fallen within the second.
    idle_guard_s : float
        Idle current is read this far away from any motor run: the controller's soft start, and sensor lag.
    idle_reach_s : float
        The idle level of a run is that within this time before and after it, since sensors drift as they warm.
    fewest_idle : int
        Fewer idle readings than this are no level.
    longest_silence_s : float
        Over a longer silence of its sensor nothing is drawn, as far as the totals know: the recorder was off.
    idle_outlier : float
        Idle readings further from the median than this many standard deviations are no idle readings: servos at work
        stay, a motor that was turned by hand goes.
    usual_idle_a : float
        Spread of the idle current where the log shows none.
    gap_error : float
        Relative error of what is interpolated over a gap inside a run: the throttle may change.
    longest_edge_gap_s : float
        A motor that started or stopped in a longer gap did so near its edge: the recorder was off.
    usual_lag_s, usual_lag_spread_s : float
        Altimeter lag expected before the log speaks: published filter settings of barometers give 0.03 to 0.84 s; the
        spread is a little more than that of an even distribution there.
    manner_s, manner_spread_s : float
        Time after the motor's stop at which the path bends, and its spread: at once by the lost thrust, and within a
        third of a second either way as a pilot pushes over. At the motor stops of a log it looks like lag.
    before_edge_s : float
        The climb before a motor's start or stop is the median over this time.
    usual_wash_m : float
        Spread of the propeller's wash on the altitude expected before the log speaks.
    soft_start_s : float
        Readings this long after a motor start are left out of the fit of the stop: the controller may still spool up.
    inferred_edge_s : float
        Standard error of motor edges that are told from the climb, for want of a channel that shows the motor.
    widest_stop_s : float
        A motor stop between samples further apart than this says nothing about the altimeter.
    reading_step_s : float
        Altimeter readings closer than this are averaged around motor edges.
    most_stops : int
        So many motor stops, spread over the log, tell the altimeter's lag; more tell no more, and none is asked at 0.
    soonest_climb_s : float
        Half of a climb is shown later than this after the motor's start, unless the motor's channels come late.
    sensors_beyond : int
        So many altimeters, likely ones, are tried at the remaining stops.
    usual_drift_m_per_root_s, usual_drift_weight : float
        Random walk of the altimeter's zero expected beforehand, 1.2 m in ten minutes: what ten kelvin do to a
        compensated barometer (0.126 m/K, BMP280 data sheet) or the weather to the pressure; counts as so many
        observations of the log.
    ground_level_m, shortest_ground_s : float
        Two stays on the ground differ by this much in level without any drift (held in the hand, other grass), and a
        model is no further from it in its flare and roll-out; shorter stays are not compared.
    other_place_m : float
        Two stays that differ by more lie at different heights: 2 hPa of weather are 17 m (ISO 2533 at sea level).
    kink : KinkModel
        What is tried around motor stops.
    usual_avionics_a, avionics_spread_a, most_avionics_a : float
        Consumption of receiver, servos and telemetry of a sailplane as expected beforehand; its mean is never more than
        the last (common practice, no source).
    usual_offset_a : float
        Spread of a current sensor's offset as expected beforehand: a few tenths of an ampere.
    pack_window_s, pack_settle_s : float
        Voltage and current are compared between these distances of a motor start or stop.
    least_step_a : float
        Steps of current smaller than this say nothing about the pack.
    sustained_s, burst_s : float
        A continuous rating is held against the mean current over the first, a burst rating against that over the
        second: controllers heat up in seconds; makers state bursts for some seconds, too, but not uniformly.
    receiver_dip_s : float
        A receiver restarts on dips shorter than a second: the mean over this time counts.
    ground_edge_s, flare_share : float
        How well a take-off or touch-down without flare is known in time, and as which share of a flare.
    most_edge_s : float
        The edge between sink and lift is never known worse than this, a circle, or than the segments beside it last.
    extreme_share : float
        Between sink and lift the height turns, and the edge was sought there (where the airspeed is logged, in total
        energy instead); of what it is, on the mean, away from the turn by the edge's error, so much is expected of the
        true edge (right in the mean over simulated flights; 0 would be for turns without any noise, 1 for edges that
        have nothing to do with them).
    edge_window_s, gust_s : float
        The climb over this window tells how fast sink turns into lift there; gusts last about so long.
    heavy_tails : float
        Where a glide or a climb begins and ends is at times told wrong altogether (a bump taken for a climb, or not),
        and no spread of good edges foresees that: errors of sink rates over their root mean square are like Student's t
        of four to five degrees of freedom, whose 95 % lie within 2.57 to 2.78, not 1.96 (simulated flights; the factor
        is that of four and a half).
    sink_cell_s, fewest_cells : float, int
        Cells over which sink is averaged for the typical sink, longer than most gusts, and how many it takes.
    shortest_part_s : float
        A stretch in one flight mode is measured from this length on.
    gap_share_told : float
        A gap in a motor run is reported from this share of the charge on.
    usual_zoom_s, longest_zoom_s : float
        From speed alone a model rises for the first at most (20 m/s on a path of 30° are spent after v / (g sin 30°),
        4 s), and one that still rises after the second rises in lift.
    pull_up_s : float
        A model that flew fast and level under power is pulled up within this time after the stop, as altimeters see it.
    around_stop_s : float
        The airspeed when the motor stopped is the highest within this time; readings further apart do not tell it.
    airspeed_error_m_s : float
        Noise of a pitot's reading, and what it lags meanwhile.
    """

    edge_margin_s: float = 1.0
    latest_sensor_s: float = 2.0
    slowest_sensor_s: float = 8.0
    idle_guard_s: float = 6.0
    idle_reach_s: float = 90.0
    fewest_idle: int = 10
    longest_silence_s: float = 300.0
    idle_outlier: float = 6.0
    usual_idle_a: float = 0.3
    gap_error: float = 0.1
    longest_edge_gap_s: float = 10.0
    usual_lag_s: float = 0.43
    usual_lag_spread_s: float = 0.3
    manner_s: float = 0.15
    manner_spread_s: float = 0.1
    before_edge_s: float = 3.0
    usual_wash_m: float = 1.5
    soft_start_s: float = 1.5
    inferred_edge_s: float = 0.6
    widest_stop_s: float = 1.5
    reading_step_s: float = 0.2
    most_stops: int = 12
    soonest_climb_s: float = 0.6
    sensors_beyond: int = 6
    usual_drift_m_per_root_s: float = 0.05
    usual_drift_weight: float = 2.0
    ground_level_m: float = 0.8
    shortest_ground_s: float = 3.0
    other_place_m: float = 17.0
    usual_avionics_a: float = 0.25
    avionics_spread_a: float = 0.17
    most_avionics_a: float = 1.0
    usual_offset_a: float = 0.2
    pack_window_s: float = 4.0
    pack_settle_s: float = 0.7
    least_step_a: float = 3.0
    sustained_s: float = 10.0
    burst_s: float = 1.0
    receiver_dip_s: float = 0.3
    ground_edge_s: float = 1.0
    flare_share: float = 0.5
    most_edge_s: float = 10.0
    extreme_share: float = 0.25
    edge_window_s: float = 12.0
    gust_s: float = 6.0
    heavy_tails: float = 1.35
    sink_cell_s: float = 4.0
    fewest_cells: int = 4
    shortest_part_s: float = 10.0
    gap_share_told: float = 0.02
    kink: KinkModel = field(default_factory=KinkModel)
    usual_zoom_s: float = 4.0
    longest_zoom_s: float = 12.0
    pull_up_s: float = 2.0
    around_stop_s: float = 0.6
    airspeed_error_m_s: float = 0.5

    @property
    def altimeter(self) -> Usual:
        """What is usual of altimeters, together."""
        return Usual(self.usual_lag_s, self.usual_lag_spread_s, self.manner_s, self.manner_spread_s, self.usual_wash_m)


TUNING: Final = MeasureTuning()
