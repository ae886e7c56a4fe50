"""The command line: one module a command, found through the entry point group "climbledger.commands".

Nothing here imports anything heavy at the top: ``climbledger --help`` loads every command.
"""

from __future__ import annotations

from typing import Final

STOPPED: Final = 130
"""Exit status after Ctrl-C, as shells report it."""
