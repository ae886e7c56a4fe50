"""Saying what became of many logs: a line each, a bar on a terminal, a sum at the end."""

from __future__ import annotations

import sys
from collections import Counter
from typing import TYPE_CHECKING

import click

from analyzer.cli.problems import report_problem
from analyzer.cli.streams import close_quietly, say, show

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.logbook import Outcome


def report_outcomes(outcomes: Iterable[Outcome], total: int, label: str) -> int:
    """Write a line to standard output for each log that is safe in the logbook, one to standard error for each failure.

    Parameters
    ----------
    outcomes : iterable of Outcome
        As they come.
    total : int
        How many there will be.
    label : str
        What the logbook is called.

    Returns
    -------
    int
        Exit status: 2 when one failed.
    """
    counts: Counter[str] = Counter()
    is_heard = True
    with click.progressbar(length=total, file=sys.stderr, hidden=not sys.stderr.isatty() or total < 2) as bar:
        for outcome in outcomes:
            counts[outcome.status] += 1
            bar.update(1)
            if outcome.error is not None:
                report_problem(outcome.error, outcome.name)
            elif is_heard:
                number = outcome.entry_id if outcome.entry_id is not None else "-"
                try:
                    show(f"{outcome.status}\t{number}\t{outcome.name}\n")
                except BrokenPipeError:  # the reader has seen enough; the work goes on
                    is_heard = False
                    close_quietly(sys.stdout)
    said = {"added": "added", "known": "already there", "analysed": "analysed anew", "failed": "failed"}
    parts = [f"{counts[status]} {words}" for status, words in said.items() if counts[status]]
    if counts["failed"] and total == 1:
        return 2  # its one line has said it all
    say(f"{', '.join(parts) or 'nothing to do'} ({label})")
    return 2 if counts["failed"] else 0
