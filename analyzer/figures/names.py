"""Where the names of points stand in a figure, so that they can be read on the narrowest screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

NARROW_PX: Final = (260.0, 250.0)
"""Width and height of a plot on a phone: what stands apart there stands apart everywhere."""

LETTER_PX: Final = 7.0
LINE_PX: Final = 14.0
MARKER_PX: Final = 6.0
"""Width of a letter and height of a line in the figures' font, and reach of a marker around its point."""

PLACES: Final = (
    ("top center", 0, 1),
    ("bottom center", 0, -1),
    ("top right", 1, 1),
    ("bottom right", 1, -1),
    ("top left", -1, 1),
    ("bottom left", -1, -1),
    ("middle right", 1, 0),
    ("middle left", -1, 0),
)
"""The figure library's words for where a text stands from its point, with the direction to the right and up."""


class _Box(NamedTuple):
    left: float
    right: float
    bottom: float
    top: float

    def covered(self, other: _Box) -> float:
        """Area that two boxes share."""
        width = min(self.right, other.right) - max(self.left, other.left)
        height = min(self.top, other.top) - max(self.bottom, other.bottom)
        return max(width, 0.0) * max(height, 0.0)


def name_places(points: Sequence[tuple[float, float]], names: Sequence[str], spans: tuple[float, float]) -> list[str]:
    """Choose where each name stands: one after another, where it covers least of the points and the names before it.

    Parameters
    ----------
    points : sequence of (float, float)
        Places of the named points, in the units of the axes.
    names : sequence of str
        One for each.
    spans : tuple of (float, float)
        Length of the axes, in their units.

    Returns
    -------
    list of str
        One of `PLACES` for each.
    """
    scales = [pixels / span if span > 0.0 else 0.0 for pixels, span in zip(NARROW_PX, spans, strict=True)]
    at = [(x * scales[0], y * scales[1]) for x, y in points]
    taken = [_Box(x - MARKER_PX, x + MARKER_PX, y - MARKER_PX, y + MARKER_PX) for x, y in at]
    places = []
    for (x, y), name in zip(at, names, strict=True):
        boxes = [_text_box(x, y, LETTER_PX * len(name), right, up) for _, right, up in PLACES]
        covers = [sum(box.covered(other) for other in taken) for box in boxes]
        best = covers.index(min(covers))
        taken.append(boxes[best])
        places.append(PLACES[best][0])
    return places


def _text_box(x: float, y: float, width: float, right: int, up: int) -> _Box:
    """What a text covers beside a marker, its own edge at the marker's."""
    centre_x, centre_y = x + right * (MARKER_PX + 0.5 * width), y + up * (MARKER_PX + 0.5 * LINE_PX)
    return _Box(centre_x - 0.5 * width, centre_x + 0.5 * width, centre_y - 0.5 * LINE_PX, centre_y + 0.5 * LINE_PX)
