"""How often a logger says that it writes a row, for tables without a time."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

_OF_THE_LOGGER: Final = re.compile(r"sampl|log|record|abtast|aufzeichn|mess|chantillon|muestr|campion", re.IGNORECASE)
_RATE: Final = re.compile(
    r"(?:rate|freq\w*|fréquence|interval\w*|period\w*)\b\D*(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>Hz|ms|s)\b",
    re.IGNORECASE,
)


def stated_interval_s(lines: Iterable[str]) -> float:
    """Seconds from row to row, as a line above a table says; 0 where none does.

    Examples
    --------
    >>> stated_interval_s(["Logger 3", "Sample rate: 10 Hz"]), stated_interval_s(["Log interval;500 ms"])
    (0.1, 0.5)
    """
    for line in lines:
        match = _RATE.search(line) if _OF_THE_LOGGER.search(line) else None
        number = float(match["number"].replace(",", ".")) if match else 0.0
        if match and number > 0.0:
            return {"hz": 1.0 / number, "ms": number / 1000.0, "s": number}[match["unit"].lower()]
    return 0.0
