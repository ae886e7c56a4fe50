"""What is said of a column that a log must have and that none of its columns is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.ingest.columns.words import UNHEADED
from analyzer.wording import listed

if TYPE_CHECKING:
    from collections.abc import Sequence


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
    headed = not all(UNHEADED.fullmatch(header) for header in headers)
    problem = f"no {what} among the columns {listed(headers)}" if headed else f"no {what} found: it has no header"
    header = "Header" if headed else "column 1" if target == "time_s" else "column 2"
    return problem, f'name the column with --map "{header}={target}" ({example})'
