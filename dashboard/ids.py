"""Component ids that more than one module uses, named once."""

from __future__ import annotations

from typing import Final

LOCATION: Final = "address"
PAGE: Final = "page"
PROVIDER: Final = "theme-provider"
MESSAGE: Final = "message"
TAB: Final = "tab-key"
"""Session storage: which browser tab this is."""
PREFERENCES: Final = "preferences"
"""Local storage: {"units": one of `SYSTEMS`, "theme": one of `LOOKS`}."""
SETUP_TEXT: Final = "setup-text"
"""Local storage: the TOML of the setup in use, or ""."""
COLUMN_MAPS: Final = "column-maps"
"""Local storage: {header signature: {header: "channel [unit]"}}, answers given before."""
OPEN_FLIGHTS: Final = "open-flights"
"""[{"key", "title", "is_sample"}] of this tab."""
CURRENT: Final = "current-flight"
"""Key of the flight on screen."""
REVISION: Final = "revision"
"""Counts changes to the flight on screen, so that what shows it draws anew."""
UNITS_SWITCH: Final = "units-switch"
THEME_SWITCH: Final = "theme-switch"
