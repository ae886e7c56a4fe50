"""The air, apart from the aircraft: thermals in depth, polar, speed to fly, searching, start height.

Sink is positive down, climb positive up; directions and winds are those of `analyzer.circling`.

`soar` is the stage as a whole, `session_of` gathers several logs; modules of pure physics (`polar`, `speed_to_fly`) and
estimators (`polar_fit`) know no log.
"""

from __future__ import annotations

from analyzer.soaring.report import soar
from analyzer.soaring.session import session_of

__all__ = ["session_of", "soar"]
