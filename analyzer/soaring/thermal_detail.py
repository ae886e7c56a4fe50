"""One thermal climb in depth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.circling.banked_turn import load_factor
from analyzer.soaring.lift_profile import lift_profile, time_to_centre_s
from analyzer.soaring.records import Circling, Netto, Thermal

if TYPE_CHECKING:
    from analyzer.circling.climb_circles import ClimbCircles
    from analyzer.circling.position import Track
    from analyzer.measures.traces import Traces
    from analyzer.records import ThermalClimb
    from analyzer.soaring.air_motion import AirMotion
    from analyzer.soaring.own_sink import OwnSink


def thermal_detail(
    climb: ThermalClimb,
    circles: ClimbCircles,
    traces: Traces,
    motion: AirMotion,
    own_sink: OwnSink | None,
    track: Track | None,
) -> Thermal:
    """Put together what is known of one climb.

    Parameters
    ----------
    climb : ThermalClimb
        As measured for the flight summary.
    circles : ClimbCircles
        Its circles.
    traces : Traces
        The conditioned log.
    motion : AirMotion
        Motion through the air.
    own_sink : OwnSink, optional
        The aircraft's own sink, for the netto.
    track : Track, optional
        For the place.
    """
    window = traces.window(climb.start_s, climb.end_s)
    time, height = traces.time_s[window], traces.channels["height_m"][window]
    period_s = circles.turning.period_s if circles.turning is not None else None
    return Thermal(
        climb=climb,
        time_to_centre_s=time_to_centre_s(time, height, period_s),
        netto=None if own_sink is None else _netto(climb, circles, motion, window, own_sink),
        circling=_circling(circles, track),
        wind=circles.wind,
        profile=lift_profile(time, height, traces.channels["climb_m_s"][window], period_s),
    )


def _netto(
    climb: ThermalClimb, circles: ClimbCircles, motion: AirMotion, window: slice, own_sink: OwnSink
) -> Netto | None:
    """Mean rise of total energy plus mean own sink at the speeds and load factors flown.

    The load factor is that of the samples where the turn rate is known from track or heading, else that of the mean
    circle; where not even that is known, straight flight, which makes the netto a lower bound.
    """
    energy = motion.energy_climb_m_s[window]
    speed, load = motion.airspeed_m_s[window], motion.load_factor[window]
    if np.all(load == 1.0) and circles.bank_deg is not None:
        load = np.full(load.size, load_factor(circles.bank_deg))
    if not np.isfinite(speed).any() and circles.airspeed_m_s is not None:
        speed = np.full(speed.size, circles.airspeed_m_s)
    own = own_sink.at(speed, load)
    air = energy + own
    known = np.isfinite(air)
    if not known.any():
        return None
    typical = float(np.mean(speed[known])) if np.isfinite(speed[known]).all() else None
    sink_se = own_sink.se(typical, float(load[known].mean()))
    return Netto(
        netto_m_s=float(air[known].mean()),
        netto_se_m_s=float(np.hypot(climb.climb_rate_m_s_se or 0.0, sink_se)),
        own_sink_m_s=float(own[known].mean()),
        basis=own_sink.basis,
    )


def _circling(circles: ClimbCircles, track: Track | None) -> Circling | None:
    turning, circle = circles.turning, circles.circle
    if turning is None:
        return None
    latitude = longitude = None
    if circle is not None and track is not None:
        latitude, longitude = track.to_degrees(circle.centre_east_m, circle.centre_north_m)
    return Circling(
        direction=turning.direction,
        period_s=turning.period_s,
        circles=turning.circles,
        source=turning.source,
        airspeed_m_s=circles.airspeed_m_s,
        bank_deg=circles.bank_deg,
        radius_m=circle.radius_m if circle is not None else None,
        drift_m_s=circle.drift_m_s if circle is not None else None,
        drift_from_deg=circle.drift_from_deg if circle is not None else None,
        centre_latitude_deg=latitude,
        centre_longitude_deg=longitude,
    )
