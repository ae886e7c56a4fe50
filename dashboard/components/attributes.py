"""HTML attributes with a hyphen, which Python cannot spell as keyword arguments."""

from __future__ import annotations

from typing import Any


def aria(**values: str) -> dict[str, Any]:
    """ARIA attributes: ``aria(pressed="true")`` gives ``{"aria-pressed": "true"}``."""
    return {f"aria-{name}": value for name, value in values.items()}


def data(**values: str) -> dict[str, Any]:
    """Data attributes: ``data(most_bytes="9")`` gives ``{"data-most-bytes": "9"}``."""
    return {f"data-{name.replace('_', '-')}": value for name, value in values.items()}
