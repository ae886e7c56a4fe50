"""What each browser tab has open: a bounded shelf of analysed flights on the server.

A tab gets a key of its own when its page is built, so two tabs never share state. The page holds keys only;
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
    from analyzer.setup_file import Setup

MAX_FLIGHTS: Final = 24
"""Flights kept over all tabs; at 10 Hz and 12 channels an hour is about 10 MB once analysed."""

MAX_HELD: Final = 4
"""Uploads waiting for an answer, over all tabs; each may be as large as an upload can be."""


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


@dataclass(frozen=True)
class HeldUpload:
    """A log that cannot be read without an answer."""

    name: str
    data: bytes


class Shelf:
    """The open flights of all tabs, bounded, safe to use from several threads."""

    def __init__(self, max_flights: int = MAX_FLIGHTS) -> None:
        self._flights: OrderedDict[str, OpenFlight] = OrderedDict()
        self._held: OrderedDict[str, HeldUpload] = OrderedDict()
        self._lock = threading.Lock()
        self._max_flights = max_flights

    def put(self, flight: OpenFlight) -> None:
        """Add a flight, or put another in the place of the one with its key."""
        with self._lock:
            self._flights[flight.key] = flight
            self._flights.move_to_end(flight.key)
            while len(self._flights) > self._max_flights:
                self._flights.popitem(last=False)

    def get(self, key: str | None, tab: str) -> OpenFlight | None:
        """The flight, if this tab has it open; None when it is not there (any more)."""
        with self._lock:
            flight = self._flights.get(key or "")
            if flight is None or flight.tab != tab:
                return None
            self._flights.move_to_end(flight.key)
            return flight

    def hold(self, tab: str, upload: HeldUpload) -> None:
        """Keep an upload while the pilot says what its columns are; one a tab, few in all."""
        with self._lock:
            self._held[tab] = upload
            self._held.move_to_end(tab)
            while len(self._held) > MAX_HELD:
                self._held.popitem(last=False)

    def release(self, tab: str) -> HeldUpload | None:
        """Hand out the upload that a tab is being asked about, and forget it."""
        with self._lock:
            return self._held.pop(tab, None)

    def of_tab(self, tab: str) -> list[OpenFlight]:
        """All flights that a tab has open, oldest use first."""
        with self._lock:
            return [flight for flight in self._flights.values() if flight.tab == tab]


def new_key() -> str:
    """A key that cannot be guessed."""
    return secrets.token_urlsafe(12)
