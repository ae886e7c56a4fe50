"""The aircraft's own sink, at the speed and bank flown: what must be added to a climb to get the air's."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.banked_turn import sink_in_turn

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from analyzer.arrays import Array
    from analyzer.soaring.polar import Polar
    from analyzer.soaring.polar_fit import PolarFit
    from analyzer.soaring.records import SinkBasis


SETUP_SINK_SHARE: Final = 0.15
"""Standard error of a sink computed from a setup's airframe: drag coefficients are estimates (common practice)."""
SLOWEST_M_S: Final = 2.0
"""No aircraft glides slower; a lower airspeed is that of a model on the ground."""
OTHER_SPEED_SHARE: Final = 0.25
"""Standard error, as a share, of taking the sink of glides at their speeds for that of circles at another speed."""
DAY_AIR_M_S: Final = 0.10
"""Mean rise or sink of the air over all glides of a flight (one sigma): no measurement of the glides can tell it from
the aircraft's own sink. Between thermals air sinks by 0.1 to 0.2 m/s to make up for them (common knowledge, no
source)."""


@dataclass(frozen=True)
class OwnSink:
    """Where the own sink comes from, and what it is.

    Attributes
    ----------
    basis : str
        What it rests on.
    polar : Polar or None
        Speed polar; None where only a sink rate is known.
    fit : PolarFit or None
        The measurement behind a measured polar.
    straight_sink_m_s, straight_sink_se_m_s : float
        Sink in straight flight as usually flown, for where the airspeed is not known.
    """

    basis: SinkBasis
    polar: Polar | None
    fit: PolarFit | None
    straight_sink_m_s: float
    straight_sink_se_m_s: float

    def at(self, airspeed_m_s: ArrayLike, load_factor: ArrayLike = 1.0) -> Array:
        """Own sink [m/s] at airspeeds and load factors; without a known airspeed (NaN), that of the usual speed.

        Without a polar, or without airspeed, the turn is taken to be flown at the lift coefficient of straight flight.
        """
        speed, load = np.broadcast_arrays(np.asarray(airspeed_m_s, dtype=float), np.asarray(load_factor, dtype=float))
        usual = sink_in_turn(self.straight_sink_m_s, load)
        if self.polar is None:
            return usual
        known = speed > SLOWEST_M_S
        return np.where(known, self.polar.sink_m_s(np.where(known, speed, 10.0), load), usual)

    def se(self, airspeed_m_s: float | None, load_factor: float = 1.0) -> float:
        """Standard error of the own sink [m/s] at an airspeed, or at the usual one."""
        if self.polar is None or airspeed_m_s is None or not airspeed_m_s > SLOWEST_M_S:
            return float(sink_in_turn(self.straight_sink_se_m_s, load_factor))
        if self.fit is None:
            return SETUP_SINK_SHARE * float(self.polar.sink_m_s(airspeed_m_s, load_factor))
        return math.hypot(float(self.fit.sink_se_m_s(airspeed_m_s, load_factor)), DAY_AIR_M_S)


def choose_own_sink(
    fit: PolarFit | None, setup_polar: Polar | None, glides: tuple[float, float] | None
) -> OwnSink | None:
    """The most certain of what is known: a measured polar, the setup's, or the usual sink of the glides.

    Parameters
    ----------
    fit : PolarFit, optional
        Polar measured in this log.
    setup_polar : Polar, optional
        Of the setup's airframe, at the air's density.
    glides : (float, float), optional
        Usual sink of the log's glides and its standard error [m/s].
    """
    candidates = []
    if fit is not None:
        usual_m_s = fit.best_glide_speed_m_s
        error = math.hypot(float(fit.sink_se_m_s(usual_m_s)), DAY_AIR_M_S)
        candidates.append(
            OwnSink("polar measured in this log", fit.polar, fit, float(fit.polar.sink_m_s(usual_m_s)), error)
        )
    if setup_polar is not None:
        sink = float(setup_polar.sink_m_s(setup_polar.best_glide_speed_m_s))
        candidates.append(OwnSink("polar of the setup", setup_polar, None, sink, SETUP_SINK_SHARE * sink))
    if glides is not None:
        error = math.hypot(glides[1], DAY_AIR_M_S, OTHER_SPEED_SHARE * glides[0])
        candidates.append(OwnSink("glides of this log", None, None, glides[0], error))
    return min(candidates, key=lambda candidate: candidate.straight_sink_se_m_s, default=None)
