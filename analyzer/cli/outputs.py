"""Where the results of ``analyze`` go: text to the terminal log by log, documents at the end."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from analyzer.cli.problems import report_problem
from analyzer.cli.streams import close_quietly, show, write_out
from analyzer.errors import OutputError
from analyzer.export.writing import STDOUT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from analyzer.analysis import Analysis
    from analyzer.display import System
    from analyzer.export.answers import Answer
    from analyzer.records import FlightSummary
    from analyzer.setup_file import Setup


class Outputs:
    """What was asked for, growing log by log.

    Text is written at once, unless a document has standard output for itself. JSON lines for standard output are
    written at once too; everything else is written whole at the end.

    Parameters
    ----------
    targets : mapping of str to str or None
        "--json", "--csv" and "--report" to where they go.
    units : System
        For text and report.
    setup : Setup, optional
        The one that the logs were analysed with.
    several : bool
        Whether the JSON document is one object per line.
    kept : bool
        Whether the logs go into a logbook, too.
    """

    def __init__(
        self, targets: Mapping[str, str | None], units: System, setup: Setup | None, *, several: bool, kept: bool
    ) -> None:
        self._targets = targets
        self._goes_on_unheard = kept or any(target not in (None, STDOUT) for target in targets.values())
        self._is_heard = True
        self._units = units
        self._setup = setup
        self._several = several
        self._is_text_wanted = STDOUT not in targets.values()
        self._summaries: list[FlightSummary] = []
        self._sections: list[dict[str, Any]] = []

    def add(self, analysis: Analysis, beside_others: Answer | None = None) -> None:
        """Take in one analysed log, and how its propeller did beside others where that is known.

        Raises
        ------
        BrokenPipeError
            When the reader of standard output has gone, and there is nothing else to do.
        """
        summary = analysis.summary
        if self._is_heard:
            try:
                self._tell(summary, beside_others)
            except BrokenPipeError:
                if not self._goes_on_unheard:
                    raise
                self._is_heard = False
                close_quietly(sys.stdout)
        if self._targets["--report"] is not None:
            from analyzer.export.flight_html import flight_section

            self._sections.append(flight_section(analysis, self._units, self._setup, number=len(self._sections) + 1))
        self._summaries.append(summary)

    def _tell(self, summary: FlightSummary, beside_others: Answer | None) -> None:
        """Write what standard output gets at once."""
        if self._is_text_wanted:
            from analyzer.export.flight_text import flight_text

            gap = "\n\n" if self._summaries else ""
            show(gap + flight_text(summary, self._units, self._setup, beside_others))
        if self._targets["--json"] == STDOUT:
            from analyzer.export.json_document import json_line

            write_out(STDOUT, json_line(summary))

    def write(self) -> int:
        """Write the documents; one that cannot be written is reported and keeps no other from being written.

        What goes to standard output comes last, where a reader that has gone can spoil nothing.

        Returns
        -------
        int
            0, or 2 when one could not be written.
        """
        status = 0
        for target, document in sorted(self._documents(), key=lambda item: item[0] == STDOUT):
            try:
                write_out(target, document())
            except OutputError as error:
                status = max(status, report_problem(error))
        return status

    def _documents(self) -> Iterator[tuple[str, Callable[[], str]]]:
        if not self._summaries:
            return
        makers = {"--json": self._json, "--csv": self._csv, "--report": self._report}
        for option, maker in makers.items():
            target = self._targets[option]
            if target is not None and (option, target) != ("--json", STDOUT):
                yield target, maker

    def _json(self) -> str:
        from analyzer.export.json_document import json_document, json_line

        if self._several:
            return "".join(json_line(summary) for summary in self._summaries)
        return json_document(self._summaries[0])

    def _csv(self) -> str:
        from analyzer.export.csv_table import csv_table

        return csv_table(self._summaries)

    def _report(self) -> str:
        from analyzer.export.flight_html import report_page

        return report_page(self._sections)
