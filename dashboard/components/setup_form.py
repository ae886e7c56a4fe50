"""The setup form, built from the schema that checks the TOML: same keys, titles, units and ranges."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, Literal, get_args, get_origin

import dash_mantine_components as dmc
from dash import html

from analyzer.errors import SetupFileError
from analyzer.setup_file import Section, Setup, parse_setup
from analyzer.units import unit_ending, unit_in_name

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

FIELD: Final = "setup-field"
COLUMNS_KEY: Final = "telemetry.columns"
TABLE_KEY: Final = "propeller.coefficients_csv"
"""Not in the form: it names a file, and the page opens none by a name that comes from a browser."""

SECTION_TITLES: Final = {
    "airframe": "Airframe",
    "pack": "Pack",
    "speed_controller": "Speed controller",
    "motor": "Motor",
    "gearbox": "Gearbox",
    "propeller": "Propeller",
    "receiver_supply": "Receiver supply",
    "air": "Air at the field",
    "telemetry": "Telemetry",
}


def all_keys() -> set[str]:
    """The names of the keys in all sections, without their sections."""
    return {name for section in SECTION_TITLES for name in _model(section).model_fields}


def setup_form(setup: Setup | None) -> list[html.Fieldset]:
    """Fieldsets with one input a key, filled from a setup."""
    values = form_values(setup)
    name = dmc.TextInput(
        id=_field_id("name"),
        label="Name",
        description=Setup.model_fields["name"].description,
        value=values.get("name", ""),
    )
    return [html.Fieldset([html.Legend("This combination"), name]), *(_fieldset(key, values) for key in SECTION_TITLES)]


def form_values(setup: Setup | None) -> dict[str, Any]:
    """Flatten a setup to {"airframe.mass_kg": 1.9}; keys left to their defaults are absent."""
    if setup is None:
        return {}
    values: dict[str, Any] = {}
    for key, value in setup.model_dump(exclude_none=True, exclude_defaults=True).items():
        if isinstance(value, dict):
            values |= {f"{key}.{name}": entry for name, entry in value.items()}
        else:
            values[key] = value
    if COLUMNS_KEY in values:
        values[COLUMNS_KEY] = "\n".join(f"{header} = {channel}" for header, channel in values[COLUMNS_KEY].items())
    return values


def setup_from_form(values: dict[str, Any]) -> Setup:
    """Build and check a setup from the form's values; empty fields count as absent.

    Raises
    ------
    SetupFileError
        As for a file, naming key, value and range.
    """
    import tomlkit

    nested: dict[str, Any] = {}
    for key, value in values.items():
        if value is None or value == "":
            continue
        section, _, name = key.rpartition(".")
        target = nested.setdefault(section, {}) if section else nested
        target[name] = _columns(value) if key == COLUMNS_KEY else value
    return parse_setup(tomlkit.dumps(nested), source="the setup form")


def with_calibration(edited: Setup, kept: Setup | None) -> Setup:
    """Keep a calibration while nothing else was changed; of other values it would say nothing."""
    if kept is not None and kept.model_copy(update={"calibration": None}) == edited:
        return kept
    return edited


def _columns(text: str) -> dict[str, str]:
    columns = {}
    for line in filter(str.strip, text.splitlines()):
        header, equals, channel = line.rpartition("=")
        if not equals:
            raise SetupFileError(
                f"line {line!r} is no column map", source="the setup form", remedy="write: Header = channel [unit]"
            )
        columns[header.strip()] = channel.strip()
    return columns


def _fieldset(section: str, values: dict[str, Any]) -> html.Fieldset:
    model = _model(section)
    keys = {f"{section}.{name}": field for name, field in model.model_fields.items()}
    inputs = [_input(key, field, values) for key, field in keys.items() if key != TABLE_KEY]
    return html.Fieldset([html.Legend(SECTION_TITLES[section]), html.Div(inputs, className="fields")])


def _model(section: str) -> type[Section]:
    annotation = Setup.model_fields[section].annotation
    candidates = [*get_args(annotation), annotation]
    return next(part for part in candidates if isinstance(part, type) and issubclass(part, Section))


def _input(key: str, field: FieldInfo, values: dict[str, Any]) -> Any:  # noqa: ANN401 - any input component
    common = {
        "id": _field_id(key),
        "label": label_of(key),
        "description": field.description or "",
        "value": values.get(key),
    }
    if key == COLUMNS_KEY:
        return dmc.Textarea(
            **{**common, "value": common["value"] or ""},
            autosize=True,
            minRows=2,
            placeholder="Header = channel [unit]",
        )
    choices = _choices(field)
    if choices:
        return dmc.Select(
            **{**common, "value": common["value"] or field.default}, data=list(choices), allowDeselect=False
        )
    if field.annotation in (str, str | None):
        return dmc.TextInput(**{**common, "value": common["value"] or ""})
    low, high = value_range(field)
    whole = field.annotation in (int, int | None)
    placeholder = "" if field.default is None else f"{field.default:g}"
    # The range is shown and checked by the schema, not clamped here: a silently changed number is a wrong number.
    return dmc.NumberInput(
        **{**common, "description": _described(key, field, f"{low:g} to {high:g}")},
        allowDecimal=not whole,
        hideControls=True,
        placeholder=placeholder,
    )


def label_of(key: str) -> str:
    """Words and unit of a key: "airframe.mass_kg" gives "Mass (kg)"."""
    name = key.rpartition(".")[2]
    ending = unit_ending(name)
    is_apart = ending.startswith("_")  # "max rpm" says its unit already
    words = name.removesuffix(ending if is_apart else "").replace("_", " ")
    words = words[:1].upper() + words[1:]
    return f"{words} ({unit_in_name(name)})" if is_apart else words


def value_range(field: FieldInfo) -> tuple[float, float]:
    """Lowest and highest value that the schema accepts."""
    rules = {type(rule).__name__: rule for rule in field.metadata}
    return rules["Ge"].ge, rules["Le"].le


def _choices(field: FieldInfo) -> tuple[str, ...]:
    return get_args(field.annotation) if get_origin(field.annotation) is Literal else ()


def _described(key: str, field: FieldInfo, accepted: str) -> str:
    """What a number means and what is accepted; only that where the label has said the rest."""
    words = field.description or ""
    said = label_of(key).partition(" (")[0]
    is_new = words.partition(",")[0].lower().replace("-", " ") != said.lower()
    return f"{words} ({accepted})" if is_new else accepted


def _field_id(key: str) -> dict[str, str]:
    return {"type": FIELD, "key": key}
