"""What the pages can do: each action is one analyzer call, and its result goes on the shelf.

The only part of the dashboard that knows both the browser's tabs and the analyzer's stages; it needs no browser
and is tested without one.
"""

from __future__ import annotations

import base64
import binascii
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Final

from analyzer.analysis import analyze_bytes, analyze_conditioned
from analyzer.errors import InputError, LogFileError
from analyzer.setup_file import parse_setup, read_setup
from dashboard.security import MAX_UPLOAD_BYTES
from dashboard.session import OpenFlight, Shelf, new_key

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.records import Segmentation
    from analyzer.setup_file import Setup

SAMPLE_FOLDERS: Final = (Path(__file__).parent / "sample_logs", Path(__file__).parents[1] / "sample_logs")
"""In an installed wheel the invented flights stand inside the package, in a checkout beside it."""

SAMPLES: Final = ("first_flight.csv", "thermal_day.csv", "messy_two_flights.csv", "morning_14x8.csv")
"""Enough to show every kind of result, few enough to open in a second; the first is the one on screen."""


class Workbench:
    """Open, correct and keep flights for the browser's tabs.

    Parameters
    ----------
    logbook : str or None
        Path or database URL of the logbook; None for the pilot's own.
    shelf : Shelf, optional
        Where open flights are kept.
    samples : Path, optional
        Folder of the invented flights shown at first start.
    """

    def __init__(self, logbook: str | None = None, shelf: Shelf | None = None, samples: Path | None = None) -> None:
        self.logbook_place = logbook
        self.shelf = shelf or Shelf()
        self._samples = samples or next((folder for folder in SAMPLE_FOLDERS if folder.is_dir()), None)

    def open_upload(
        self, tab: str, name: str, contents: str, setup: Setup | None, columns: Mapping[str, str] | None = None
    ) -> OpenFlight:
        """Analyse a dropped file; `contents` is the browser's data URL.

        Raises
        ------
        InputError
            When it is too large, or no log.
        """
        data = decode_upload(name, contents)
        return self.open_data(tab, name, data, setup, columns)

    def open_data(
        self,
        tab: str,
        name: str,
        data: bytes,
        setup: Setup | None,
        columns: Mapping[str, str] | None = None,
        *,
        logbook_id: str | None = None,
    ) -> OpenFlight:
        """Analyse a log's bytes and put it on the tab's shelf."""
        analysis = analyze_bytes(data, name, setup, columns)
        flight = OpenFlight(new_key(), tab, name, analysis, setup, data=data, logbook_id=logbook_id)
        self.shelf.put(flight)
        return flight

    def open_samples(self, tab: str) -> list[OpenFlight]:
        """Put the invented flights on the tab's shelf; they are analysed once for all tabs."""
        flights = [replace(flight, key=new_key(), tab=tab) for flight in self._sample_flights]
        for flight in flights:
            self.shelf.put(flight)
        return flights

    def correct(self, flight: OpenFlight, segmentation: Segmentation) -> OpenFlight:
        """Measure the flight anew with segments that the pilot corrected by hand."""
        analysis = analyze_conditioned(flight.analysis.log, flight.setup, segmentation)
        corrected = replace(flight, analysis=analysis)
        self.shelf.put(corrected)
        return corrected

    def with_setup(self, flight: OpenFlight, setup: Setup | None) -> OpenFlight:
        """Measure the flight anew with another setup; hand-corrected segments stay."""
        analysis = analyze_conditioned(flight.analysis.log, setup, flight.analysis.segmentation)
        changed = replace(flight, analysis=analysis, setup=setup)
        self.shelf.put(changed)
        return changed

    @cached_property
    def _sample_flights(self) -> list[OpenFlight]:
        if self._samples is None:
            return []
        return [self._sample(self._samples / name) for name in SAMPLES if (self._samples / name).is_file()]

    def _sample(self, path: Path) -> OpenFlight:
        setup_path = path.with_suffix(".setup.toml")
        setup = read_setup(setup_path) if setup_path.is_file() else None
        analysis = analyze_bytes(path.read_bytes(), path.name, setup)
        return OpenFlight("", "", path.name, analysis, setup, is_sample=True)


def decode_upload(name: str, contents: str) -> bytes:
    """Bytes of a browser's data URL ("data:text/csv;base64,...").

    Raises
    ------
    InputError
        When the file is larger than the dashboard takes, or did not arrive whole.
    """
    _, comma, payload = contents.partition(",")
    if len(payload) * 3 // 4 > MAX_UPLOAD_BYTES:
        raise InputError(
            f"{len(payload) * 3 / 4e6:.0f} MB is more than the {MAX_UPLOAD_BYTES / 1e6:.0f} MB that the page takes",
            source=name,
            remedy="analyse it with: climbledger analyze FILE --report OUT.html",
        )
    try:
        return base64.b64decode(payload, validate=True) if comma else b""
    except binascii.Error as error:
        raise LogFileError("did not arrive whole", source=name, remedy="drop it again") from error


def setup_in_use(text: str | None) -> Setup | None:
    """The setup whose TOML the tab remembers; None where there is none.

    Raises
    ------
    SetupFileError
        When the text is no valid setup.
    """
    return parse_setup(text, source="the setup in use") if text else None
