"""Letters of hemispheres in columns of their own, as sentences of satellite receivers have them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.ingest.columns.meaning import Meaning
    from analyzer.ingest.text.layout import Layout


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
