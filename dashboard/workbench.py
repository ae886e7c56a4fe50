"""What the pages can do: each action is one analyzer call, and its result goes on the shelf.

The only part of the dashboard that knows both the browser's tabs and the analyzer's stages; it needs no browser
and is tested without one.
"""

from __future__ import annotations

import threading
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from analyzer.analysis import analyze_bytes, analyze_conditioned
from analyzer.errors import ClimbledgerError, ColumnMapError, InputError, LogFileError, SetupFileError
from analyzer.ingest import describe_columns
from analyzer.setup_file import parse_setup, read_setup
from dashboard.components.column_question import as_answered, signature
from dashboard.session import HeldUpload, OpenFlight, Shelf, new_key
from dashboard.upload import decode_upload

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.comparison.flights import LoggedFlight
    from analyzer.export.answers import Answer
    from analyzer.ingest import ColumnDescription
    from analyzer.logbook import Edits, Entry, Logbook
    from analyzer.match import CalibrationResult
    from analyzer.records import Segmentation
    from analyzer.setup_file import Setup

SAMPLE_FOLDERS: Final = (Path(__file__).parent / "sample_logs", Path(__file__).parents[1] / "sample_logs")
"""In an installed wheel the invented flights stand inside the package, in a checkout beside it."""

SAMPLES: Final = ("first_flight.csv", "thermal_day.csv", "messy_two_flights.csv", "morning_14x8.csv")
"""Enough to show every kind of result, few enough to open in a second; the first is the one on screen."""

MIN_COLUMNS_TO_ASK: Final = 2
"""A table of one column holds no telemetry, whatever the pilot says."""


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
        self._sample_flights: dict[Path, OpenFlight] = {}
        self._sample_lock = threading.Lock()
        self._samples = samples or next((folder for folder in SAMPLE_FOLDERS if folder.is_dir()), None)

    def open_upload(
        self,
        tab: str,
        name: str,
        contents: str,
        setup: Setup | None,
        remembered: Mapping[str, Mapping[str, str]] | None = None,
    ) -> OpenFlight | None:
        """Analyse a dropped file.

        Parameters
        ----------
        tab : str
            Whose shelf it goes to.
        name, contents : str
            File name, and the browser's data URL.
        setup : Setup or None
            In use.
        remembered : mapping, optional
            Column maps given before, by `column_question.signature`.

        Returns
        -------
        OpenFlight or None
            None when the pilot has to say what its columns are; it is then among the tab's held uploads.

        Raises
        ------
        InputError
            When it is too large, or no log.
        """
        data = decode_upload(name, contents)
        columns = remembered.get(signature(_described(data, name))) if remembered else None
        try:
            return self.open_data(tab, name, data, setup, columns)
        except (ColumnMapError, LogFileError) as error:
            described = _described(data, name)
            if len(described) < MIN_COLUMNS_TO_ASK:
                raise
            self.shelf.hold(tab, HeldUpload(name, data, error.problem, described))
            return None

    def open_held(self, tab: str, setup: Setup | None, columns: Mapping[str, str]) -> tuple[OpenFlight, str]:
        """Analyse the log that the pilot was asked about, with the answer, and those that wait with the same header.

        Returns
        -------
        (OpenFlight, str)
            The last that was read, and the signature under which to remember the answer.

        Raises
        ------
        InputError
            When the answer does not make it readable; it is then held on.
        """
        waiting = self.shelf.held(tab)
        if not waiting:
            raise InputError("the file is no longer here", remedy="drop it again")
        first, *others = waiting
        flight = self._read_held(tab, first, setup, columns)
        answered = signature(first.columns)
        for held in others:
            if signature(held.columns) == answered:
                with suppress(InputError):  # then it is asked about by itself
                    flight = self._read_held(tab, held, setup, columns)
        return flight, answered

    def _read_held(self, tab: str, held: HeldUpload, setup: Setup | None, columns: Mapping[str, str]) -> OpenFlight:
        flown_with = setup if held.again is None else held.again.setup
        flight = self.open_data(tab, held.name, held.data, flown_with, columns)
        self.shelf.release(tab, held)
        if held.again is not None:
            self.shelf.close(held.again)
        return flight

    def ask_again(self, flight: OpenFlight) -> None:
        """Hold a flight's log for another answer to what its columns are; until then the flight stays as it is."""
        if any(held.again is not None and held.again.key == flight.key for held in self.shelf.held(flight.tab)):
            return
        columns = as_answered(_described(flight.data, flight.title), flight.columns)
        why = "This is how it was read. Correct what is wrong, and it is read anew"
        self.shelf.hold(flight.tab, HeldUpload(flight.title, flight.data, why, columns, again=flight))

    def open_data(
        self, tab: str, name: str, data: bytes, setup: Setup | None, columns: Mapping[str, str] | None = None
    ) -> OpenFlight:
        """Analyse a log's bytes and put it on the tab's shelf."""
        analysis = analyze_bytes(data, name, setup, columns)
        flight = OpenFlight(new_key(), tab, name, analysis, setup, data=data, columns=dict(columns or {}))
        return self.shelf.put(flight)

    def open_samples(self, tab: str) -> list[OpenFlight]:
        """Put the invented flights on the tab's shelf; they are analysed once for all tabs."""
        return [self.shelf.put(replace(flight, key=new_key(), tab=tab)) for flight in self.read_samples()]

    def read_samples(self) -> list[OpenFlight]:
        """Analyse the invented flights that are shown at first start, unless that is done already."""
        if self._samples is None:
            return []
        paths = [self._samples / name for name in SAMPLES]
        return [self._sample(path) for path in paths if path.is_file()]

    def correct(self, flight: OpenFlight, segmentation: Segmentation) -> OpenFlight:
        """Measure the flight anew with segments that the pilot corrected by hand; the logbook keeps them too.

        Raises
        ------
        LogbookError
            When the flight is in the logbook, and that cannot be written.
        """
        before = flight.analysis.segmentation
        return flight if segmentation == before else self._cut(flight, segmentation, (*flight.earlier, before))

    def undo(self, flight: OpenFlight) -> OpenFlight:
        """Take the last correction back, as `correct`; nothing where there is none."""
        return self._cut(flight, flight.earlier[-1], flight.earlier[:-1]) if flight.earlier else flight

    def _cut(self, flight: OpenFlight, segmentation: Segmentation, earlier: tuple[Segmentation, ...]) -> OpenFlight:
        analysis = analyze_conditioned(flight.analysis.log, flight.setup, segmentation)
        if flight.logbook_id is not None:
            with self.logbook() as book:
                book.correct(flight.logbook_id, segmentation)
        return self.shelf.put(replace(flight, analysis=analysis, is_corrected=True, earlier=earlier))

    def calibrated(self, flight: OpenFlight) -> CalibrationResult:
        """Fit the flight's setup to the flight.

        Raises
        ------
        SetupFileError
            When it has no setup, or one that lacks what a prediction needs.
        NoAnswerError
            When the flight tells nothing that the setup does not state.
        """
        from analyzer.match import calibrate

        if flight.setup is None:
            raise SetupFileError(
                "no setup is in use", source=flight.title, remedy="fill one in on the Setup page first"
            )
        return calibrate([flight.analysis], flight.setup)

    def keep(self, flight: OpenFlight, edits: Edits) -> OpenFlight:
        """Put the flight into the logbook with its setup, its corrections and the pilot's words.

        Of a log that is there already, what is given now counts; what is not given stays as it is.

        Raises
        ------
        InputError
            When it is one of the invented flights, which no logbook should hold.
        OptionError, LogbookError
            When the words cannot be, or the logbook cannot be written.
        """
        if flight.is_sample:
            raise InputError("is an invented flight", source=flight.title, remedy="keep a flight of your own")
        corrected = flight.analysis.segmentation if flight.is_corrected else None
        with self.logbook() as book:
            outcome = book.add(
                flight.data,
                flight.title,
                setup=flight.setup,
                columns=flight.columns,
                edits=edits,
                analysis=flight.analysis,
                corrected=corrected,
            )
            if outcome.status == "known" and outcome.entry_id is not None:
                book.update(outcome.entry_id, edits, setup=flight.setup, columns=flight.columns or None)
                if corrected is not None:
                    book.correct(outcome.entry_id, corrected)
        return self.shelf.put(replace(flight, logbook_id=outcome.entry_id))

    def open_entry(self, tab: str, entry_id: int) -> OpenFlight:
        """Open a flight from the logbook, with its setup and its corrections.

        Raises
        ------
        LogbookError
            When there is no such entry.
        """
        from analyzer.logbook.work import analysis_of

        with self.logbook() as book:
            job = book.job(entry_id)
        flight = OpenFlight(
            new_key(),
            tab,
            job.name,
            analysis_of(job),
            job.flown,
            logbook_id=entry_id,
            data=job.data,
            columns=job.columns,
            is_corrected=job.segmentation is not None,
        )
        return self.shelf.put(flight)

    def remove_entry(self, tab: str, entry_id: int) -> str:
        """Take a flight out of the logbook, and say its name; where the tab has it open, it can be kept again.

        Raises
        ------
        LogbookError
            When there is no such entry, or the logbook cannot be written.
        """
        with self.logbook() as book:
            name = book.get(entry_id).log_name
            book.remove([entry_id])
        for flight in self.shelf.of_tab(tab):
            if flight.logbook_id == entry_id:
                self.shelf.put(replace(flight, logbook_id=None))
        return name

    def logbook(self) -> Logbook:
        """Open the logbook, for a ``with`` block.

        Raises
        ------
        LogbookError
            When it cannot be opened.
        """
        from analyzer.logbook import open_logbook

        return open_logbook(self.logbook_place)

    def entry_of(self, flight: OpenFlight) -> Entry | None:
        """The logbook's entry of a flight's log; None where it has none, or cannot be opened."""
        if flight.is_sample:
            return None
        try:
            with self.logbook() as book:
                entry_id = book.known(flight.analysis.log.sha256)
                return None if entry_id is None else book.get(entry_id)
        except ClimbledgerError:
            return None

    def kept_flights(self) -> tuple[LoggedFlight, ...]:
        """Everything in the logbook; nothing when it cannot be opened (the logbook page says why)."""
        try:
            with self.logbook() as book:
                return book.flights()
        except ClimbledgerError:
            return ()

    def beside_others(self, flight: OpenFlight) -> Answer:
        """Set a flight's propeller beside those of the logbook; an invented flight's beside the invented ones."""
        from analyzer.comparison.flights import LoggedFlight, propeller_name
        from analyzer.export.propeller_answer import propeller_answer

        is_named = flight.logbook_id is not None or bool(propeller_name(flight.setup))
        kept = self.sample_comparison() if flight.is_sample else self.kept_flights() if is_named else ()
        fresh = LoggedFlight(flight.analysis.summary, flight.setup)
        twin = next((one for one in kept if one.summary.log.sha256 == fresh.summary.log.sha256), None)
        is_told = twin is not None and (twin.propeller or twin.setup is not None)  # kept with what the pilot says of it
        return propeller_answer(twin if twin is not None and is_told else fresh, kept)

    def sample_comparison(self) -> tuple[LoggedFlight, ...]:
        """The invented flights that have a setup, ready to be compared; analysed once."""
        from analyzer.comparison.flights import LoggedFlight

        paths = sorted(self._samples.glob("*.csv")) if self._samples is not None else []
        flights = [self._sample(path) for path in paths if path.with_suffix(".setup.toml").is_file()]
        return tuple(LoggedFlight(flight.analysis.summary, flight.setup) for flight in flights)

    def setup_for(self, key: str | None, tab: str | None, text: str | None) -> Setup | None:
        """The setup to predict with: the one in use, else that of the flight on screen."""
        flight = self.shelf.get(key, tab)
        return setup_in_use(text) or (flight.setup if flight is not None else None)

    def with_setup(self, flight: OpenFlight, setup: Setup | None) -> OpenFlight:
        """Measure the flight anew with another setup; hand-corrected segments stay."""
        analysis = analyze_conditioned(flight.analysis.log, setup, flight.analysis.segmentation)
        return self.shelf.put(replace(flight, analysis=analysis, setup=setup))

    def _sample(self, path: Path) -> OpenFlight:
        """One of the invented flights; tabs that ask for it at the same time wait for one analysis."""
        with self._sample_lock:
            if path not in self._sample_flights:
                self._sample_flights[path] = _read_sample(path)
            return self._sample_flights[path]


def _read_sample(path: Path) -> OpenFlight:
    setup_path = path.with_suffix(".setup.toml")
    setup = read_setup(setup_path) if setup_path.is_file() else None
    return OpenFlight("", "", path.name, analyze_bytes(path.read_bytes(), path.name, setup), setup, is_sample=True)


def _described(data: bytes, name: str) -> tuple[ColumnDescription, ...]:
    """The log's columns; none where it is no table at all."""
    try:
        return describe_columns(data, name)
    except InputError:
        return ()


def setup_in_use(text: str | None) -> Setup | None:
    """The setup whose TOML the tab remembers; None where there is none.

    A coefficient table that it names is left out: the page never opens a path that comes from a browser.

    Raises
    ------
    SetupFileError
        When the text is no valid setup.
    """
    if not text:
        return None
    setup = parse_setup(text, source="the setup in use")
    if setup.propeller is None or setup.propeller.coefficients_csv is None:
        return setup
    propeller = setup.propeller.model_copy(update={"coefficients_csv": None})
    return setup.model_copy(update={"propeller": propeller})
