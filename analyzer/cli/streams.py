"""Standard output and standard error: readable on any terminal, silent in a pipe, one line per message."""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import sys
from typing import TYPE_CHECKING, Final, TextIO

from analyzer.errors import printable

if TYPE_CHECKING:
    from types import TracebackType

_PLAIN: Final = {
    "±": "+/-", "→": "->", "≥": ">=", "≤": "<=", "\N{MULTIPLICATION SIGN}": "x", "·": ".", "…": "...",
    "—": "-", "\N{EN DASH}": "-", "\N{MINUS SIGN}": "-", "“": '"', "”": '"', "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "Ω": "ohm", "°": "deg", "²": "2", "³": "3", "µ": "u", "η": "eta", "✓": "ok",
}  # fmt: skip
"""What a terminal without Unicode shows instead."""


def _plain_replacement(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = error.object[error.start : error.end]
    return "".join(_PLAIN.get(character, "?") for character in text), error.end


def prepare_streams() -> None:
    """Make standard output and standard error take any text: what their encoding lacks is written plainly.

    One that the caller has closed (``>&-``) takes it to nowhere.
    """
    codecs.register_error("climbledger-plain", _plain_replacement)
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123 - as long as the process
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="climbledger-plain")


def say(message: str) -> None:
    """Write one line to standard error, with the program's name; control characters are replaced."""
    with contextlib.suppress(OSError, ValueError):  # nobody is listening: nothing more can be said
        print(f"climbledger: {printable(message)}", file=sys.stderr, flush=True)  # noqa: T201 - the user's screen


def show(text: str) -> None:
    """Write text for a person to standard output, at once.

    Raises
    ------
    OutputError
        When it cannot be written.
    BrokenPipeError
        When its reader has gone.
    """
    try:
        print(text, end="", flush=True)  # noqa: T201 - the user's screen
    except BrokenPipeError:
        raise
    except OSError as error:
        from analyzer.export.writing import stdout_error

        raise stdout_error(error) from error


def write_out(target: str, document: str) -> None:
    """Write a document to a file and say so, or to standard output.

    Raises
    ------
    OutputError
        When the file cannot be written.
    """
    from analyzer.export.writing import STDOUT, write_document

    write_document(target, document)
    if target != STDOUT:
        say(f"wrote {target}")


def close_quietly(stream: TextIO) -> None:
    """Point a stream whose reader has gone at nothing, so that the interpreter's own last flush stays silent."""
    with contextlib.suppress(OSError, ValueError, io.UnsupportedOperation):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


class Progress:
    """One line on a terminal that says what is being worked on; nothing at all in a pipe.

    Parameters
    ----------
    total : int
        Number of items; a single one shows no count.
    """

    def __init__(self, total: int) -> None:
        self._total = total
        self._done = 0
        self._shown = 0

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self.clear()

    def item(self, name: str) -> None:
        """Say which item is begun."""
        self._done += 1
        count = f" {self._done} of {self._total}" if self._total > 1 else ""
        self._show(f"working on{count}: {printable(name)}"[:78])

    def clear(self) -> None:
        """Take the line off the terminal before something else is written."""
        if self._shown:
            self._write("\r" + " " * self._shown + "\r")
            self._shown = 0

    def _show(self, line: str) -> None:
        if sys.stderr.isatty():
            self.clear()
            self._write(line)
            self._shown = len(line)

    @staticmethod
    def _write(text: str) -> None:
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.write(text)
            sys.stderr.flush()
