"""Columns of words that repeat, kept as codes: a million flight modes are a few words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from analyzer.arrays import Indices


@dataclass(frozen=True, eq=False)
class Labels:
    """A column of words.

    Attributes
    ----------
    codes : numpy.ndarray of int
        Place of each row's word in `words`; -1 where there is none.
    words : tuple of str
        The different words.
    """

    codes: NDArray[np.int32]
    words: tuple[str, ...]

    def taken(self, rows: Indices | slice) -> Labels:
        """Take some rows, in that order."""
        return Labels(self.codes[rows], self.words)

    def behind(self, others: Labels) -> Labels:
        """Each row's word behind the other column's; none where either has none."""
        both = np.where((self.codes < 0) | (others.codes < 0), -1, others.codes * len(self.words) + self.codes)
        found, places = np.unique(both, return_inverse=True)
        shift = int(found.size > 0 and found[0] < 0)
        pairs = (divmod(int(pair), len(self.words)) for pair in found[shift:])
        texts = tuple(f"{others.words[owner]} {self.words[own]}" for owner, own in pairs)
        return Labels((places - shift).astype(np.int32), texts)

    def texts(self) -> pd.Series[str]:
        """Spell the words out; missing where there is none."""
        return pd.Series(np.array([*self.words, None], dtype=object)[self.codes], dtype="str", copy=False)


class LabelGatherer:
    """Gathers a column of words piece by piece; `empty` rows without a word came before the first piece."""

    def __init__(self, empty: int = 0) -> None:
        self._words: dict[str, int] = {}
        self._pieces: list[NDArray[np.int32]] = [np.full(empty, -1, dtype=np.int32)]

    def add(self, cells: pd.Series[str]) -> None:
        """Add the next cells; blanks around words do not matter, an empty cell has none."""
        self.add_codes(*pd.factorize(cells))

    def add_codes(self, codes: Indices, found: Iterable[object]) -> None:
        """Add the next cells as places in a list of words; -1 where there is none."""
        stripped = (str(word).strip() for word in found)
        known = [self._words.setdefault(word, len(self._words)) if word else -1 for word in stripped]
        self._pieces.append(np.array([*known, -1], dtype=np.int32)[codes])

    def finish(self) -> Labels:
        """All of them."""
        return Labels(np.concatenate(self._pieces), tuple(self._words))
