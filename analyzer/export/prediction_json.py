"""A prediction as a JSON document, schema ``climbledger/prediction/1``: its record, the ranking, the units.

The keys are the fields of `analyzer.power_system.prediction_records`; a predicted value stands under its own key, its
95 % interval beside it under the key with ``_low`` and ``_high``. With candidates ranked, ``"ranking"`` (schema
``climbledger/ranking/1``) stands beside ``"propellers"``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from analyzer.export.serializer import to_plain
from analyzer.units import unit_in_name

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction


def prediction_plain(prediction: Prediction, ranking: Ranking | None = None) -> dict[str, Any]:
    """Lay a prediction, and the ranking made from it, out as the document's plain dictionaries and lists."""
    document: dict[str, Any] = to_plain(prediction)
    if ranking is not None:
        document["ranking"] = to_plain(ranking)
    units = {key: unit for key in sorted(set(_keys(document))) if (unit := unit_in_name(key))}
    return {**document, "units": units}


def _keys(value: Any) -> Iterator[str]:  # noqa: ANN401 - any plain value
    if isinstance(value, dict):
        yield from value
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from _keys(item)
