"""Where the program starts: Ctrl-C is heard from here on, also while the command line itself is still being loaded."""

from __future__ import annotations

import sys

from analyzer.cli import STOPPED


def main() -> None:
    """Load the command line, run it and exit."""
    try:
        from analyzer.cli.main import main as command_line

        command_line()
    except KeyboardInterrupt:
        sys.exit(STOPPED)
