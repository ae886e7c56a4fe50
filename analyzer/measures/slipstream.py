"""How strong the propeller's slipstream is, for its pressure on the altimeter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.robust_fit import median_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.measures.traces import Traces
    from analyzer.records import Segment


@dataclass(frozen=True)
class Slipstream:
    """What the slipstream's strength follows.

    Attributes
    ----------
    source : ndarray, shape (n,)
        Rpm, power or current over time.
    strongest : float
        The source where the slipstream is strongest.
    exponent : float
        The slipstream's dynamic pressure follows the thrust: rpm squared, or power to the power 2/3 (actuator disc at
        rest).
    """

    source: Array
    strongest: float
    exponent: float

    def share(self, inside: slice) -> float:
        """Typical strength over some samples, relative to the strongest; 1 without samples."""
        relative = np.nan_to_num(self.source[inside]) / self.strongest
        return median_of(relative.clip(0.0, 1.2) ** self.exponent) if relative.size else 1.0


def slipstream_of(traces: Traces, runs: Sequence[Segment]) -> Slipstream | None:
    """The slipstream by rpm, else by power, else by current; None where no motor run shows any of them."""
    sources = (("rpm", 2.0), ("power_w", 2.0 / 3.0), ("current_a", 2.0 / 3.0))
    logged = ((values, exponent) for name, exponent in sources if (values := traces.get(name)) is not None)
    source, exponent = next(logged, (None, 0.0))
    if source is None or not runs:
        return None
    powered = np.concatenate([source[traces.window(run.start_s, run.end_s)] for run in runs])
    turning = powered[powered > 0.0]
    return Slipstream(source, float(np.quantile(turning, 0.98)), exponent) if turning.size else None
