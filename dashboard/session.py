"""What each browser tab has open: a bounded shelf of analysed flights on the server.

A tab gets a key of its own with its first page, so two tabs never share state. The page holds keys only;
frames and summaries stay here, and the least recently used go first, so that memory stays flat however many
logs are dropped on it in a day.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from analyzer.analysis import Analysis
    from analyzer.ingest import ColumnDescription
    from analyzer.records import Segmentation
    from analyzer.setup_file import Setup

MAX_BYTES: Final = 200_000_000
"""Room for the flights of all tabs: some 20 hours at 10 Hz with 12 channels, and a laptop keeps its memory."""

MAX_HELD_BYTES: Final = 200_000_000
"""Room for uploads that wait for an answer, over all tabs: four of the largest."""

LEAST_BYTES: Final = 100_000
"""What a flight counts at least, so that their number is bounded too."""


@dataclass(frozen=True)
class OpenFlight:
    """One analysed log on the shelf.

    Attributes
    ----------
    key : str
        How the page refers to it.
    tab : str
        The tab that opened it.
    title : str
        What the pilot sees.
    analysis : Analysis
        Log, segmentation and summary.
    setup : Setup or None
        What it was analysed with.
    is_sample : bool
        Whether it is one of the invented flights.
    logbook_id : int or None
        Its entry, where it is in the logbook.
    data : bytes
        The file itself, to put it in the logbook.
    columns : dict of str to str
        The explicit column map that it was read with.
    is_corrected : bool
        Whether the pilot corrected its segments.
    earlier : tuple of Segmentation
        Its segments before each correction made here, to take corrections back.
    """

    key: str
    tab: str
    title: str
    analysis: Analysis
    setup: Setup | None = None
    is_sample: bool = False
    logbook_id: int | None = None
    data: bytes = b""
    columns: dict[str, str] = field(default_factory=dict)
    is_corrected: bool = False
    earlier: tuple[Segmentation, ...] = ()

    @property
    def size_bytes(self) -> int:
        """Memory that it takes; the invented flights are shared by all tabs."""
        if self.is_sample:
            return LEAST_BYTES
        return max(LEAST_BYTES, len(self.data) + int(self.analysis.log.frame.memory_usage().sum()))


@dataclass(frozen=True)
class HeldUpload:
    """A log that waits until the pilot says what its columns are.

    Attributes
    ----------
    name, data : str, bytes
        The file.
    problem : str
        Why it is asked.
    columns : tuple of ColumnDescription
        What the pilot is asked about.
    again : OpenFlight or None
        The flight that the answer is to take the place of, where one was given before.
    """

    name: str
    data: bytes
    problem: str
    columns: tuple[ColumnDescription, ...]
    again: OpenFlight | None = None


class Shelf:
    """The open flights of all tabs, bounded, safe to use from several threads."""

    def __init__(self, max_bytes: int = MAX_BYTES) -> None:
        self._flights: OrderedDict[str, OpenFlight] = OrderedDict()
        self._held: list[tuple[str, HeldUpload]] = []
        self._lock = threading.Lock()
        self._max_bytes = max_bytes

    def put(self, flight: OpenFlight) -> OpenFlight:
        """Add a flight, or put another in the place of the one with its key, and give it back; it always finds room."""
        with self._lock:
            self._flights[flight.key] = flight
            self._flights.move_to_end(flight.key)
            taken = sum(one.size_bytes for one in self._flights.values())
            while taken > self._max_bytes and len(self._flights) > 1:
                taken -= self._flights.popitem(last=False)[1].size_bytes
        return flight

    def get(self, key: str | None, tab: str | None) -> OpenFlight | None:
        """The flight, if this tab has it open; None when it is not there (any more)."""
        with self._lock:
            flight = self._flights.get(key or "")
            if flight is None or flight.tab != tab:
                return None
            self._flights.move_to_end(flight.key)
            return flight

    def close(self, flight: OpenFlight) -> None:
        """Forget a flight that another has taken the place of."""
        with self._lock:
            self._flights.pop(flight.key, None)

    def hold(self, tab: str, upload: HeldUpload) -> None:
        """Keep an upload while the pilot says what its columns are; the longest held go where room is short."""
        with self._lock:
            self._held.append((tab, upload))
            while sum(len(held.data) for _, held in self._held) > MAX_HELD_BYTES:
                self._held.pop(0)

    def held(self, tab: str) -> list[HeldUpload]:
        """The uploads that a tab is to be asked about, in the order they came."""
        with self._lock:
            return [upload for owner, upload in self._held if owner == tab]

    def release(self, tab: str, upload: HeldUpload) -> None:
        """Forget an upload that was answered, or that the pilot leaves."""
        with self._lock:
            self._held = [entry for entry in self._held if entry[0] != tab or entry[1] is not upload]

    def of_tab(self, tab: str | None) -> list[OpenFlight]:
        """All flights that a tab has open, oldest use first."""
        with self._lock:
            return [flight for flight in self._flights.values() if flight.tab == tab]


def new_key() -> str:
    """A key that cannot be guessed."""
    return secrets.token_urlsafe(12)
