"""A prediction as a JSON document, schema ``climbledger/prediction/1``.

::

    {"schema", "setup", "throttle", "density_kg_m3",
     "propellers": [{"propeller", "tier", "basis", "reasons", "static": {...}, "best_climb": {...}, "first_climb",
                     "last_climb", "level", "cruise", "pack", "glide", "limits": [...], "binds_first",
                     "points": [{"airspeed_m_s", "rpm", "current_a", ...} ...]} ...],
     "notices": [{"code", "message"} ...], "units": {"airspeed_m_s": "m/s", ...}}

With candidates ranked, ``"ranking": {"schema", "aim", "reference", "ranked": [{"place", "propeller", "gain_percent",
"climb_rate_m_s", "climb_per_ah_m", "top_speed_m_s", "climbs", "tightest": {...}, "flown"} ...], "excluded":
[{"propeller", "reasons"} ...], "flown": [{"propeller", "climb_per_ah_m", "climb_per_ah_se_m", "current_a"} ...]}``
(schema ``climbledger/ranking/1``) stands beside ``propellers``.

A predicted value stands under its own key, its 95 % interval beside it under the key with ``_low`` and ``_high``.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any, Final

from analyzer.power_system.prediction_records import Estimate

if TYPE_CHECKING:
    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction

_UNITS: Final = (
    ("_kg_m3", "kg/m³"), ("_m_s", "m/s"), ("_ah_m", "m/Ah"), ("_wh_m", "m/Wh"), ("_deg", "deg"), ("_ah", "Ah"),
    ("_n", "N"), ("_w", "W"), ("_a", "A"), ("_v", "V"), ("_m", "m"), ("rpm", "rpm"),
)  # fmt: skip
"""First ending that fits a key decides; keys with none are plain numbers or words."""

_SUFFIXES: Final = ("_low", "_high")


def prediction_plain(prediction: Prediction, ranking: Ranking | None = None) -> dict[str, Any]:
    """Lay a prediction, and the ranking made from it, out as the document's plain dictionaries and lists."""
    document: dict[str, Any] = _flattened(prediction)
    if ranking is not None:
        ranked = _flattened(ranking)
        document["ranking"] = {"schema": ranked.pop("schema"), **ranked}
    keys: set[str] = set()
    _collect_keys(document, keys)
    units = {key: unit for key in sorted(keys) if (unit := _unit(key)) is not None}
    return {"schema": document.pop("schema"), **document, "units": units}


def _flattened(value: Any) -> Any:  # noqa: ANN401 - any record or value
    """Records to dictionaries, every estimate to three neighbouring keys."""
    if isinstance(value, tuple):
        return [_flattened(item) for item in value]
    if not is_dataclass(value) or isinstance(value, type):
        return value
    plain: dict[str, Any] = {}
    for entry in fields(value):
        item = getattr(value, entry.name)
        if isinstance(item, Estimate):
            plain |= {entry.name: item.value, f"{entry.name}_low": item.low, f"{entry.name}_high": item.high}
        else:
            plain[entry.name] = _flattened(item)
    return plain


def _collect_keys(value: Any, keys: set[str]) -> None:  # noqa: ANN401 - any plain value
    if isinstance(value, dict):
        for key, item in value.items():
            keys.add(key)
            _collect_keys(item, keys)
    elif isinstance(value, list):
        for item in value:
            _collect_keys(item, keys)


def _unit(key: str) -> str | None:
    if key.endswith(_SUFFIXES):
        return None
    return next((unit for ending, unit in _UNITS if key.endswith(ending)), None)
