"""Counts and lists in messages."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence


def counted(count: int, noun: str) -> str:
    """Count things in words: "1 row", "3 rows"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


_NUMBER: Final = re.compile(r"column \d+")
"""What a column without a header is called."""


def listed(names: Sequence[str], most: int = 12) -> str:
    """Name things in quotes; what is more than a line holds is counted."""
    shown = ", ".join(f"'{name[:40]}'" for name in names[:most])
    return f"{shown} and {len(names) - most} more" if len(names) > most else shown


def none_among(what: str, headers: Sequence[str], target: str, example: str) -> tuple[str, str]:
    """Say that no column is what is needed, and how to name it; one without a header is named by its number.

    Parameters
    ----------
    what : str
        What is missing, for a person.
    headers : sequence of str
        All headers of the table, "column 2" where there is none.
    target : str
        The channel that is missing.
    example : str
        How its unit is given.
    """
    headed = not all(_NUMBER.fullmatch(header) for header in headers)
    problem = f"no {what} among the columns {listed(headers)}" if headed else f"no {what} found: it has no header"
    header = "Header" if headed else "column 1" if target == "time_s" else "column 2"
    return problem, f'name the column with --map "{header}={target}" ({example})'
