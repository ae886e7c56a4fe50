"""Errors in words: one line on standard error, and the exit status that it means."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from analyzer.cli.streams import say
from analyzer.errors import ClimbledgerError

if TYPE_CHECKING:
    import click


def report_problem(error: Exception, source: str = "") -> int:
    """Say an error in one line on standard error.

    Parameters
    ----------
    error : Exception
        One of ours, or an unexpected one.
    source : str, optional
        What was being worked on, for an unexpected one.

    Returns
    -------
    int
        The exit status that the error means.
    """
    if isinstance(error, ClimbledgerError):
        say(str(error))
        return error.exit_status
    if debugging():
        import traceback

        traceback.print_exception(error)
    unexpected = ClimbledgerError(
        f"unexpected problem ({brief(error)})",
        source=source,
        remedy="please report it with what CLIMBLEDGER_DEBUG=1 in the environment then shows",
    )
    say(str(unexpected))
    return unexpected.exit_status


def debugging() -> bool:
    """Whether the user asked for tracebacks and warnings."""
    return os.environ.get("CLIMBLEDGER_DEBUG", "") not in ("", "0")


def usage_line(error: click.ClickException) -> str:
    """Say wrong use in one line, with where to look."""
    context = getattr(error, "ctx", None)
    command = context.command_path if context is not None else "climbledger"
    message = " ".join(error.format_message().split()).rstrip(".")
    return str(ClimbledgerError(message[:1].lower() + message[1:], remedy=f"see {command} --help"))


def brief(error: BaseException) -> str:
    """Kind and message of an exception, on one line of bearable length."""
    text = " ".join(str(error).split())
    return f"{type(error).__name__}: {text[:200]}" if text else type(error).__name__
