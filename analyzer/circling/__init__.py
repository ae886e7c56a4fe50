"""Circles and the wind that they show: what the measures of a thermal climb and the soaring report both rest on.

Angles of direction are degrees clockwise from true north; a wind is named after the direction that it comes from.
Velocities of the air are given as east and north parts *towards* which it moves.

`circles_of_climb` takes the best that a log has of one climb: position (`position`), ground speed and heading, heading
alone, or the beat of the climb itself (`circles`). `wind` is from the ground velocity while circling, by a fit that
gusts do not pull away; `banked_turn` is the physics of a steady turn, `compass` says whether a heading
can be believed. No module knows a log.
"""

from __future__ import annotations

from analyzer.circling.climb_circles import ClimbCircles, circles_of_climb
from analyzer.circling.position import Track, track_of
from analyzer.circling.wind import Wind

__all__ = ["ClimbCircles", "Track", "Wind", "circles_of_climb", "track_of"]
