"""Numbers that say "no reading": what sensors and counters write when they have none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.records import Notice

if TYPE_CHECKING:
    from analyzer.ingest.observations import Candidate

_ENDS_OF_COUNTERS: Final = (2**15 - 1, -(2**15), 2**16 - 1, 2**31 - 1, -(2**31), 2**32 - 1)
_ROWS_OF_NINES: Final = tuple(sign * (10**digits - 1) for digits in (3, 4, 5, 6) for sign in (1, -1))

ERROR_VALUES: Final = frozenset(
    number / scale for number in (*_ENDS_OF_COUNTERS, *_ROWS_OF_NINES) for scale in (1, 10, 100)
)
"""The ends of 16 and 32 bit counters and rows of nines, as they stand or as tenths and hundredths."""


def without_error_values(candidate: Candidate) -> tuple[Candidate, tuple[Notice, ...]]:
    """Drop the numbers by which a sensor says that it has no reading, and say so.

    Such a number is one of `ERROR_VALUES`, or the zero of a position, the column's lowest or highest, and further from
    all other values than these lie apart: so no measurement stands. A throttle, which may be on or off, is left as it
    is.
    """
    values = candidate.values
    position = any(meaning.channel.name in ("latitude_deg", "longitude_deg") for meaning in candidate.meanings)
    marks = (ERROR_VALUES | {0.0} if position else ERROR_VALUES) & set(candidate.ends)
    if not marks or any(meaning.channel.dimension == "ratio" for meaning in candidate.meanings):
        return candidate, ()
    marked = np.isin(values, list(marks))
    rest = values[np.isfinite(values) & ~marked]
    span = float(np.ptp(rest)) if rest.size else 0.0
    alone = [mark for mark in sorted(marks) if span > 0.0 and float(np.min(np.abs(rest - mark))) > span]
    if not alone:
        return candidate, ()
    dropped = np.isin(values, alone)
    texts = " and ".join(f"{mark:.10g}" for mark in alone)
    message = f"dropped {np.sum(dropped)} values of '{candidate.header}': {texts} is written where there is no reading"
    return replace(candidate, values=np.where(dropped, np.nan, values)), (Notice("values-out-of-range", message),)
