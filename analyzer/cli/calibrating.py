"""Calibration at the end of ``analyze``: the setup as the logs say, written beside the user's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.cli.streams import show, write_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.analysis import Analysis
    from analyzer.display import System
    from analyzer.setup_file import Setup


def write_calibration(
    analyses: Sequence[Analysis], setup: Setup, setup_path: Path, target: str, units: System, *, is_text_wanted: bool
) -> None:
    """Calibrate a setup and write it.

    Parameters
    ----------
    analyses : sequence of Analysis
        The logs, all flown with this setup.
    setup : Setup
        As read from `setup_path`.
    setup_path : Path
        The user's file; it is read again for its comments, and not changed.
    target : str
        Where the calibrated setup goes; "-" for standard output.
    units : System
        For the text.
    is_text_wanted : bool
        Whether standard output is free for text.

    Raises
    ------
    NoAnswerError
        When the logs tell nothing; nothing is written then.
    SetupFileError, OutputError
        When the setup lacks what a prediction needs, or the file cannot be written.
    """
    from analyzer.export.calibration_text import calibration_text
    from analyzer.export.writing import STDOUT
    from analyzer.match import calibrate, calibrated_toml

    result = calibrate(analyses, setup)
    folder = None if target == STDOUT else Path(target).resolve().parent
    write_out(target, calibrated_toml(result, setup_path.read_text(encoding="utf-8-sig"), folder))
    if is_text_wanted:
        show("\n\n" + calibration_text(result, units))
