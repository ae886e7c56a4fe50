"""The conditioned log as arrays: what every measure reads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from analyzer.conditioning.drive import READING_COLUMNS

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.records import Log


@dataclass(frozen=True)
class Traces:
    """Numeric channels on one timeline; a channel that holds no value at all counts as absent."""

    time_s: Array
    channels: dict[str, Array]
    labels: dict[str, NDArray[np.object_]]

    def get(self, name: str) -> Array | None:
        """The channel, or None where the log has none."""
        return self.channels.get(name)

    @cached_property
    def drive_time_s(self) -> Array:
        """Stamps at which any channel of the drive was read; all, where no channel says when."""
        read = [np.isfinite(self.channels[name]) for name in READING_COLUMNS.values() if name in self.channels]
        return self.time_s[np.logical_or.reduce(read)] if read else self.time_s

    def window(self, start_s: float, end_s: float) -> slice:
        """Indices of the samples from start to end, both included."""
        first, last = self.time_s.searchsorted((start_s - 1e-9, end_s + 1e-9))
        return slice(int(first), int(last))

    def readings(self, name: str, start_s: float, end_s: float) -> Array:
        """A channel's values from start to end, its silences left out; none where the log has no such channel."""
        values = self.channels.get(name)
        inside = values[self.window(start_s, end_s)] if values is not None else np.empty(0)
        return inside[np.isfinite(inside)]

    def mean(self, name: str, start_s: float, end_s: float) -> float | None:
        """Mean of `readings`; None where there are none."""
        known = self.readings(name, start_s, end_s)
        return float(known.mean()) if known.size else None


def traces_of(log: Log) -> Traces:
    """Take the numeric channels (and labels) out of a conditioned log's frame, without copies."""
    channels, labels = {}, {}
    for name in log.frame.columns:
        column = log.frame[name]
        if column.dtype.kind == "f":
            values = column.to_numpy()
            # Most channels hold a value at once, and a long log has many.
            if np.isfinite(values[:1]).any() or np.isfinite(values).any():
                channels[name] = values
        elif column.dtype.kind in "iub":
            channels[name] = column.to_numpy(dtype=float)
        else:
            labels[name] = column.to_numpy(dtype=object)
    time_s = channels.pop("time_s")
    return Traces(time_s, channels, labels)
