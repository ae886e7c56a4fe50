"""A comparison as one page that opens in any browser without a network: the verdict, the figure, the tables as text."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING, Final

from analyzer.errors import printable
from analyzer.export.comparison_text import tables_text
from analyzer.figures.comparison import comparison_figure
from analyzer.figures.template import FONT, PLOT_CONFIG

if TYPE_CHECKING:
    from analyzer.comparison.records import Comparison
    from analyzer.export.display import System

_PAGE: Final = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'unsafe-inline'; \
style-src 'unsafe-inline'; img-src data: blob:; base-uri 'none'; form-action 'none'">
<meta name="referrer" content="no-referrer">
<title>{title}</title>
<style>
body {{ font-family: {font}; line-height: 1.5; max-width: 62rem; margin: 1.5rem auto; padding: 0 1rem; }}
li {{ margin: 0.4rem 0; font-size: 1.1rem; }}
pre {{ overflow-x: auto; font-size: 0.85rem; }}
</style>
</head>
<body>
<h1>{title}</h1>
<ul>
{verdict}
</ul>
{figure}
<pre>{tables}</pre>
</body>
</html>
"""


def comparison_page(comparison: Comparison, system: System = "metric") -> str:
    """Write a comparison as a page.

    Parameters
    ----------
    comparison : Comparison
        What was found.
    system : {"metric", "feet"}
        Units for heights and speeds.

    Returns
    -------
    str
        A complete HTML document; everything that comes from a logbook is escaped.
    """
    names = [group.name for group in comparison.groups]
    figure = comparison_figure(comparison, system=system)
    return _PAGE.format(
        title=_escaped(f"Compared by {comparison.by}: {', '.join(names)}"),
        font=FONT,
        verdict="\n".join(f"<li>{_escaped(sentence)}</li>" for sentence in comparison.verdict),
        figure=figure.to_html(full_html=False, include_plotlyjs=True, config={**PLOT_CONFIG}),
        tables=html.escape(tables_text(comparison, system)),
    )


def _escaped(text: str) -> str:
    return html.escape(printable(text))
