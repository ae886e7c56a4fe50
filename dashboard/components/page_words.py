"""What the analyzer says for the terminal, in the words of the page: its buttons, not options and commands."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from dashboard.components.setup_form import SECTION_TITLES, all_keys, label_of

if TYPE_CHECKING:
    from collections.abc import Callable

ASK_COLUMNS: Final = "What is in its columns?"
"""The button under a flight's remarks, which every remedy about columns leads to."""

SETUP_PAGE: Final = "the Setup page"
LOGBOOK_PAGE: Final = "the Logbook page"

_LONG_KEYS: Final = sorted((key for key in all_keys() if "_" in key), key=len, reverse=True)
_KEY: Final = re.compile(rf"\b({'|'.join(_LONG_KEYS)})\b")
_SECTION: Final = re.compile(rf"\[({'|'.join(SECTION_TITLES)})\]((?: [a-z_]+2?(?=,|;| =|$),?)*)", re.MULTILINE)

_INSTEAD: Final[tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...]] = (
    (re.compile(r'with --map "[^"]*"(?: or --map "[^"]*")*'), f"under '{ASK_COLUMNS}'"),
    (
        re.compile(r'\(with its unit: "time_s \[(.*?)\]"; of a count: "time_s \[(.*?)\]"\)'),
        r"(with its unit, such as \1; of a count, such as \2)",
    ),
    (
        re.compile(r"with climbledger logbook edit NUMBER --setup S\.toml"),
        f"with its setup: open it from {LOGBOOK_PAGE}, use the setup on {SETUP_PAGE} and keep it again",
    ),
    (re.compile(r"with:? climbledger logbook edit NUMBER --\w+ \S+"), f"on {LOGBOOK_PAGE}"),
    (re.compile(r"climbledger logbook list shows the numbers"), f"open {LOGBOOK_PAGE} anew"),
    (re.compile(r"a logbook is opened with --logbook"), "climbledger dashboard --logbook FILE opens a logbook"),
    (
        re.compile(r'key (\w+) is missing; add \w+ = "\.\.\."'),
        lambda found: f"{label_of(found[1])} is missing; fill it in",
    ),
    (re.compile(r"add the key to the setup file"), f"fill it in on {SETUP_PAGE}"),
    (re.compile(r"add the keys to the setup file"), f"fill them in on {SETUP_PAGE}"),
    (re.compile(r"^--[a-z]+: "), ""),
    (_SECTION, lambda found: _labelled(found[1], found[2])),
    (_KEY, lambda found: label_of(found[1])),
)


def on_page(words: str) -> str:
    """Say for the page what was said for the terminal.

    Parameters
    ----------
    words : str
        An error or a remark of the analyzer, which names options, commands and the keys of the setup file.

    Examples
    --------
    >>> on_page('altitude may be any of A, B; say so with --map "A=altitude_m"')
    "altitude may be any of A, B; say so under 'What is in its columns?'"
    """
    for said, instead in _INSTEAD:
        words = said.sub(instead, words)
    return words


def _labelled(section: str, keys: str) -> str:
    """A section of the setup file and some of its keys, as the form calls them."""
    labels = [label_of(f"{section}.{key}") for key in re.findall(r"\w+", keys)]
    return f"{SECTION_TITLES[section]}{': ' if labels else ''}{', '.join(labels)}"
