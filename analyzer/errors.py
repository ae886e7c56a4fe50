"""Every error that climbledger raises on purpose.

The tree, and the exit status the command line gives each::

    ClimbledgerError
    ├── InputError            2   a file, option or value the user gave cannot be used
    │   ├── LogFileError          a log that cannot be read as telemetry
    │   ├── ColumnMapError        an explicit column map that does not fit the log
    │   │   └── NoSuchColumnError     it names a header that the log has not
    │   ├── SetupFileError        a setup file: unknown key, wrong unit, impossible value
    │   ├── OptionError           a command-line option or an argument of a function
    │   └── OutputError           a place that results cannot be written to
    ├── LogbookError          2   a logbook that cannot be opened, read or written
    └── NoAnswerError         1   the input is sound, yet the data cannot give the answer

Policy: a call that is asked for one thing it cannot give raises; a call that gathers many results
degrades, leaves the missing ones ``None`` and adds a `Notice` that says why. Only the command line
and the dashboard turn an error into words for a person.
"""

from __future__ import annotations


class ClimbledgerError(Exception):
    """Base of all errors raised on purpose.

    Parameters
    ----------
    problem : str
        What is wrong, without a full stop.
    source : str, optional
        The file, option or database concerned.
    where : str, optional
        The place inside it: a line, a column, a key.
    remedy : str, optional
        What the user can do about it.
    """

    exit_status = 2

    def __init__(self, problem: str, *, source: str = "", where: str = "", remedy: str = "") -> None:
        super().__init__(problem, source, where, remedy)
        self.problem = problem
        self.source = source
        self.where = where
        self.remedy = remedy

    def __reduce__(self) -> tuple[object, ...]:
        """Pickle with all four fields, so that an error survives the trip from a worker process."""
        return _rebuild, (type(self), self.problem, self.source, self.where, self.remedy)

    def __str__(self) -> str:
        """One printable line: source, place, problem, remedy."""
        place = ", ".join(part for part in (self.source, self.where) if part)
        line = f"{place}: {self.problem}" if place else self.problem
        if self.remedy:
            line = f"{line}; {self.remedy}"
        return printable(line)


def _rebuild(kind: type[ClimbledgerError], problem: str, source: str, where: str, remedy: str) -> ClimbledgerError:
    return kind(problem, source=source, where=where, remedy=remedy)


def printable(text: str) -> str:
    """Replace control characters (a header or a file name may hold any), so that the line stays one line."""
    return "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in text)


class InputError(ClimbledgerError):
    """Something the user gave cannot be used."""


class LogFileError(InputError):
    """A log cannot be read as telemetry."""


class ColumnMapError(InputError):
    """An explicit column map does not fit the log."""


class NoSuchColumnError(ColumnMapError):
    """A column map names a header that the log has not; `header` is that, `close` one like it or ""."""

    header = close = ""


class SetupFileError(InputError):
    """A setup file has an unknown key, a wrong unit or an impossible value."""


class OptionError(InputError):
    """An option or an argument is wrong."""


class OutputError(InputError):
    """Results cannot be written where they were asked for."""


class LogbookError(ClimbledgerError):
    """A logbook cannot be opened, read or written."""


class NoAnswerError(ClimbledgerError):
    """The input is sound, yet the data cannot give the answer."""

    exit_status = 1
