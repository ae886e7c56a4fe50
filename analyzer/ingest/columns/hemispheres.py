"""Letters of hemispheres in columns of their own, as sentences of satellite receivers have them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.text.labels import Labels
    from analyzer.ingest.text.layout import Layout

LARGEST_DEGREES: Final = 180.0
"""Coordinates beyond are no plain degrees."""


def letter_columns(layout: Layout) -> dict[int, str]:
    """Columns of nothing but the letters of hemispheres, and the coordinate these belong to."""
    found = {}
    for i in range(len(layout.headers)):
        letters = {cell.upper() for cell in layout.column_sample(i)}
        for channel, pair in (("latitude_deg", {"N", "S"}), ("longitude_deg", {"E", "W"})):
            if letters and letters <= pair:
                found[i] = channel
    return found


def coordinates_of(letters: Mapping[int, str], found: Mapping[int, tuple[Meaning, ...]]) -> dict[int, int]:
    """Give each column of letters the column of its coordinate beside it; of two the one before it."""
    places = {
        i: [at for at, meaning in found.items() if any(one.channel.name == channel for one in meaning)]
        for i, channel in letters.items()
    }
    beside = {i: [at for at in ats if abs(at - i) == 1] for i, ats in places.items()}
    return {i: min(ats) for i, ats in beside.items() if ats}


def signed(values: NDArray[np.float64], letters: Labels) -> NDArray[np.float64]:
    """Coordinates in degrees, south and west negative.

    Satellite receivers write them as degrees and minutes in one number, ddmm.mmmm (NMEA 0183).
    """
    size = np.abs(values)
    if np.nanmax(size, initial=0.0) > LARGEST_DEGREES:
        size = size // 100.0 + size % 100.0 / 60.0
    negative = [code for code, word in enumerate(letters.words) if word.upper() in ("S", "W")]
    return np.where(np.isin(letters.codes, negative), -size, np.copysign(size, values))
