"""The setup as the flight on screen shows it, and the words that say what was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dash import html

from analyzer.export.match_tables import finding_lines
from analyzer.setup_file import setup_toml
from dashboard.components.ledger import bullets
from dashboard.shell import message

if TYPE_CHECKING:
    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench


def as_flown(workbench: Workbench, flight: OpenFlight) -> tuple[str, html.Div]:
    """Calibrate a flight's setup on the flight: the text of the setup to use from now on, and the message.

    A setup that was calibrated on this very flight stays as it is.

    Raises
    ------
    SetupFileError, NoAnswerError
        As `Workbench.calibrated`.
    """
    setup, sha256 = flight.setup, flight.analysis.log.sha256
    if setup is not None and setup.calibration and any(sha256 in one.sha256 for one in setup.calibration.flown):
        return setup_toml(setup), message(f"'{setup.name}' was corrected by this flight before.", "done")
    result = workbench.calibrated(flight)
    said = html.Div(
        [f"The setup in use is now '{result.setup.name}' as it flew:", bullets(finding_lines(result.findings))],
        className="message done",
    )
    return setup_toml(result.setup), said
