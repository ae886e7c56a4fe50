"""What a pilot prefers: units and theme; the browser keeps it, and anything odd in it falls back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from analyzer.display import SYSTEMS
from analyzer.figures.template import DAY, NIGHT, SUN

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analyzer.display import System
    from analyzer.figures.template import Look

LOOKS: Final = {"day": DAY, "night": NIGHT, "sun": SUN}
"""Themes of the page, and how figures look in each."""


@dataclass(frozen=True, slots=True)
class Preferences:
    """Units of every number on the page, and the page's theme."""

    units: System = "metric"
    theme: str = "day"

    @classmethod
    def from_store(cls, stored: Mapping[str, Any] | None) -> Preferences:
        """Read what the browser kept."""
        kept = stored or {}
        units: System = next((system for system in SYSTEMS if system == kept.get("units")), "metric")
        theme = kept.get("theme")
        return cls(units, theme if theme in LOOKS else "day")

    @property
    def look(self) -> Look:
        """How figures are drawn."""
        return LOOKS[self.theme]
