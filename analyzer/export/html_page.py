"""What every HTML page of ours is made of: the template engine, its files, and figures in two forms."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyzer.errors import printable

if TYPE_CHECKING:
    import plotly.graph_objects as go


@dataclass(frozen=True, slots=True)
class Picture:
    """One figure in its two forms.

    Attributes
    ----------
    key : str
        Identifier in the page.
    height : int
        Pixels that the interactive form takes.
    json : str
        Figure and configuration for Plotly, safe inside a script element.
    still : str
        The same as SVG.
    caption : str
        What it shows.
    is_wide : bool
        A narrow screen scrolls it rather than squeezing it.
    """

    key: str
    height: int
    json: str
    still: str
    caption: str
    is_wide: bool = False


def render(template: str, **values: object) -> str:
    """Fill a template of the package's data: a complete HTML document with style, scripts and version in it.

    Everything that is filled in is made printable and escaped, and nothing may be missing.
    """
    from importlib.metadata import version

    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup
    from plotly.offline import get_plotlyjs

    environment = Environment(
        loader=PackageLoader("analyzer", "data"),
        autoescape=True,
        finalize=lambda value: printable(value) if type(value) is str else value,  # what is marked safe is our own
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    own = {"style": Markup(_data_text("report.css")), "script": Markup(_data_text("report.js"))}
    page = environment.get_template(template)
    return page.render(**own, plotly=Markup(get_plotlyjs()), version=version("climbledger"), **values)


def _data_text(name: str) -> str:
    from importlib.resources import files

    return (files("analyzer") / "data" / name).read_text(encoding="utf-8")


def picture_of(figure: go.Figure, key: str, caption: str) -> Picture:
    """A figure for a page, as Plotly draws it and as a still picture."""
    from markupsafe import Markup

    from analyzer.figures.still import still_svg
    from analyzer.figures.template import PLOT_CONFIG

    drawing = f'{{"figure": {figure.to_json()}, "config": {json.dumps(PLOT_CONFIG)}}}'
    safe = drawing.replace("<", r"\u003c").replace(">", r"\u003e").replace("&", r"\u0026")
    return Picture(key, int(figure.layout.height), Markup(safe), Markup(still_svg(figure, caption)), caption)
