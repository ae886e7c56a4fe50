"""The setup file: one airframe and its power system, in TOML, units in the key names.

The models below are the schema. They read and check the file, and the dashboard's setup form is built from
the same titles, units and ranges. Every key but those marked required may be left out; what then cannot be
computed is said where it is missed.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from analyzer.errors import SetupFileError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

MAX_FILE_BYTES: Final = 1_000_000
"""A setup, or a table of coefficients, is a page of text; anything larger is another kind of file."""


class Section(BaseModel):
    """Base of all sections: strict types, no unknown keys, no change after reading."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)


def _quantity(description: str, low: float, high: float, default: float | None = None) -> Any:  # noqa: ANN401 - as pydantic's own Field
    return Field(default=default, description=description, ge=low, le=high)


class Airframe(Section):
    """The aircraft without its power system; the usual values are common practice, without a source."""

    mass_kg: float | None = _quantity("Flying mass, pack included", 0.05, 50.0)
    wing_area_m2: float | None = _quantity("Wing area", 0.01, 20.0)
    wingspan_m: float | None = _quantity("Wingspan", 0.3, 15.0)
    zero_lift_drag_coefficient: float | None = _quantity("Drag coefficient of the whole model at zero lift", 0.003, 0.2)
    span_efficiency: float = _quantity("Oswald span efficiency, usually 0.85", 0.3, 1.0, 0.85)
    max_lift_coefficient: float = _quantity("Highest usable lift coefficient, usually 1.1", 0.3, 3.0, 1.1)


class Pack(Section):
    """The flight pack."""

    cells: int | None = Field(default=None, description="Cells in series", ge=1, le=24)
    capacity_ah: float | None = _quantity("Rated capacity", 0.05, 100.0)
    internal_resistance_ohm: float | None = _quantity("Resistance of the whole pack with its leads", 0.0, 2.0)
    chemistry: Literal["lipo", "lihv", "liion", "life"] = Field(default="lipo", description="Cell chemistry")
    min_cell_v: float | None = _quantity("Lowest cell voltage wanted under load", 1.5, 4.5)


class SpeedController(Section):
    """The speed controller."""

    continuous_current_a: float | None = _quantity("Continuous current rating", 1.0, 1000.0)
    burst_current_a: float | None = _quantity("Burst current rating", 1.0, 2000.0)
    resistance_ohm: float | None = _quantity("Resistance of the controller and its leads", 0.0, 0.5)


class Motor(Section):
    """The motor, by the first-order model."""

    kv_rpm_per_v: float | None = _quantity("Speed constant of the motor itself, before the gearbox", 20.0, 30_000.0)
    resistance_ohm: float | None = _quantity("Winding resistance, terminal to terminal", 0.0001, 10.0)
    no_load_current_a: float | None = _quantity("No-load current", 0.0, 50.0)
    no_load_voltage_v: float | None = _quantity("Voltage at which the no-load current was measured", 0.5, 100.0)
    max_current_a: float | None = _quantity("Highest motor current", 1.0, 1000.0)
    max_rpm: float | None = _quantity("Highest motor speed", 500.0, 200_000.0)


class Gearbox(Section):
    """The gearbox; leave the section out for direct drive. Its usual efficiency is common practice, without source."""

    ratio: float = _quantity("Motor turns per propeller turn", 0.2, 30.0, 1.0)
    efficiency: float = _quantity("Share of the power that passes, usually 0.95", 0.3, 1.0, 0.95)


class PropellerSection(Section):
    """The propeller."""

    diameter_in: float | None = _quantity("Diameter, inches", 2.0, 40.0)
    pitch_in: float | None = _quantity("Pitch, inches", 0.5, 40.0)
    blades: int = Field(default=2, description="Number of blades", ge=1, le=6)
    coefficients_csv: str | None = Field(
        default=None, description="Table of J, CT, CP beside this file", max_length=500
    )


class ReceiverSupply(Section):
    """The receiver's and servos' supply."""

    nominal_v: float | None = _quantity("Nominal voltage", 2.0, 20.0)
    min_v: float | None = _quantity("Lowest voltage allowed under servo load", 2.0, 20.0)


class Air(Section):
    """The air at the field; left out: from the log, else the ISO 2533 standard atmosphere at sea level."""

    elevation_m: float | None = _quantity("Field elevation above sea level", -450.0, 6000.0)
    temperature_c: float | None = _quantity("Air temperature at the field", -40.0, 55.0)


ColumnMapping = Annotated[str, Field(min_length=1, max_length=200)]


class Telemetry(Section):
    """How the log is to be read."""

    rpm_measured_at: Literal["motor", "propeller"] = Field(default="motor", description="Shaft that the rpm belongs to")
    columns: dict[str, ColumnMapping] = Field(default_factory=dict, description='Header = "channel [unit]"')


class FlownPropeller(Section):
    """A propeller whose logs are in a calibration, and what it did in its climbs."""

    propeller: str = Field(description="Size, as 14x8", min_length=3, max_length=30)
    basis: Literal["table", "measured", "family"] = Field(description="Coefficients that its factors belong to")
    advance_ratio: float = Field(description="Mean advance ratio of its climbs", ge=0.0, le=5.0)
    rpm: float = Field(description="Mean propeller speed in its climbs", ge=10.0, le=200_000.0)
    logs: list[str] = Field(description="Logs that it was fitted to", min_length=1)
    sha256: list[str] = Field(description="Hashes of these logs", min_length=1)
    current_a: float | None = _quantity("Mean current in its climbs", 0.0, 2000.0)
    climb_rate_m_s: float | None = _quantity("Mean climb rate", -50.0, 100.0)
    climb_per_ah_m: float | None = _quantity("Mean height for each ampere-hour", -1e5, 1e6)
    climb_per_ah_se_m: float | None = _quantity("Its standard error", 0.0, 1e6)


Covariances = Annotated[list[Annotated[float, Field(ge=-100.0, le=100.0)]], Field(min_length=1, max_length=100)]


class CalibrationSection(Section):
    """What flights say of the setup: written by ``climbledger analyze --calibrate``, used by predictions.

    ``offsets`` are relative to the values in this file: natural logarithms of factors, volts for the rest voltage of
    a cell. ``covariance`` holds the lower triangle, row by row.
    """

    propellers_as_measured: bool = Field(
        description="The propellers behave as the published measurements of their sizes"
    )
    parameters: list[str] = Field(description="What was fitted", min_length=1, max_length=100)
    offsets: list[Annotated[float, Field(ge=-5.0, le=5.0)]] = Field(description="Best values")
    covariance: list[Covariances] = Field(description="What is still uncertain, and what goes with what")
    flown: list[FlownPropeller] = Field(description="Propellers fitted so far", min_length=1)

    @model_validator(mode="after")
    def _sizes_agree(self) -> CalibrationSection:
        count = len(self.parameters)
        if len(self.offsets) != count or [len(row) for row in self.covariance] != list(range(1, count + 1)):
            raise ValueError(
                f"[calibration] does not hold one offset and one row of covariance for each of {count} parameters"
            )
        if any(row[-1] < 0.0 for row in self.covariance):
            raise ValueError("[calibration] covariance has a negative variance")
        return self


class Setup(Section):
    """One combination of airframe and power system.

    ``folder`` is where the file stands, so that a coefficient table beside it can be found; ``coefficients`` is that
    table's text where the setup brings it along, out of a logbook. Neither is a key.
    """

    name: str = Field(description="What you call this combination", min_length=1, max_length=200)
    airframe: Airframe | None = None
    pack: Pack | None = None
    speed_controller: SpeedController | None = None
    motor: Motor | None = None
    gearbox: Gearbox | None = None
    propeller: PropellerSection | None = None
    receiver_supply: ReceiverSupply | None = None
    air: Air | None = None
    telemetry: Telemetry = Field(default_factory=Telemetry)
    calibration: CalibrationSection | None = None
    folder: Path = Field(default=Path(), exclude=True)
    coefficients: str | None = Field(default=None, exclude=True)

    @model_validator(mode="after")
    def _limits_agree(self) -> Setup:
        for section, upper, lower in (
            ("speed_controller", "burst_current_a", "continuous_current_a"),
            ("receiver_supply", "nominal_v", "min_v"),
        ):
            high, low = (self.value(f"{section}.{key}") for key in (upper, lower))
            if high is not None and low is not None and high < low:
                raise ValueError(f"[{section}] {upper} = {high:g} is below {lower} = {low:g}")
        return self

    def require(self, *keys: str, purpose: str) -> None:
        """Check that keys ("airframe.mass_kg") are there.

        Raises
        ------
        SetupFileError
            Naming every missing key and what it is wanted for.
        """
        missing = [key for key in keys if self.value(key) is None]
        if missing:
            raise SetupFileError(
                f"{purpose} needs what is not given: {by_section(missing)}",
                source=f"setup '{self.name}'",
                remedy="add the key to the setup file" if len(missing) == 1 else "add the keys to the setup file",
            )

    def value(self, key: str) -> Any:  # noqa: ANN401 - any key's type
        """Value of a key such as "airframe.mass_kg"; None where the section or the key is absent."""
        section, _, name = key.partition(".")
        return getattr(getattr(self, section), name, None)


def read_setup(path: str | Path) -> Setup:
    """Read and check a setup file.

    Raises
    ------
    SetupFileError
        When the file cannot be read, is no TOML, or holds an unknown key or an impossible value.
    """
    path = Path(path)
    text = written_text(path, "setup file", "give the path of a setup TOML file")
    return parse_setup(text, source=str(path), folder=path.parent)


def written_text(path: Path, what: str, remedy: str) -> str:
    """The text of a small file that its owner wrote.

    Parameters
    ----------
    path : Path
        The file.
    what : str
        What it should be, for messages.
    remedy : str
        What to do where there is no such file.

    Raises
    ------
    SetupFileError
        When it is not there, cannot be read, is too large, or is no text.
    """
    try:
        if not path.is_file():
            problem = "is a folder, not a file" if path.is_dir() else "no such file"
            raise SetupFileError(problem, source=str(path), remedy=remedy)
        if path.stat().st_size > MAX_FILE_BYTES:
            raise SetupFileError(f"too large for a {what}", source=str(path), remedy="give a file of a page or so")
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise SetupFileError(
            f"cannot be read ({error.strerror or error})", source=str(path), remedy="check the path and its permissions"
        ) from error
    except UnicodeDecodeError as error:
        raise SetupFileError(
            "is not UTF-8 text", source=str(path), where=f"byte {error.start}", remedy="save it as UTF-8"
        ) from error


def parse_setup(text: str, *, source: str, folder: Path | None = None) -> Setup:
    """Check the text of a setup file.

    Parameters
    ----------
    text : str
        TOML.
    source : str
        What an error message calls it.
    folder : Path, optional
        Where files that it names are looked for.

    Raises
    ------
    SetupFileError
        Naming the key, the value and what is accepted.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise SetupFileError(
            f"is not valid TOML ({error})", source=source, remedy='write one key = value on a line, text in "quotes"'
        ) from error
    unknown = next((key for key in ("folder", "coefficients") if key in data), None)
    if unknown is not None:
        raise SetupFileError(
            f"unknown key '{unknown}'", source=source, remedy=f"the keys here are {', '.join(_keys(Setup))}"
        )
    try:
        return Setup.model_validate({**data, "folder": folder or Path()})
    except ValidationError as error:
        raise _as_setup_error(error.errors()[0], source) from error


def setup_toml(setup: Setup) -> str:
    """Write a setup as TOML text; `parse_setup` reads it back to an equal setup."""
    import tomlkit

    data = setup.model_dump(exclude_none=True, exclude_defaults=True)
    return tomlkit.dumps(data)


def _as_setup_error(details: ErrorDetails, source: str) -> SetupFileError:
    """Say a schema violation in the pilot's words: key, value, accepted range."""
    location = [str(part) for part in details["loc"]]
    key = f"[{location[0]}] {'.'.join(location[1:])}" if len(location) > 1 else "".join(location)
    value = details.get("input")
    field = _field(location)
    match details["type"]:
        case "extra_forbidden":
            problem, remedy = f"unknown key {key}", _suggestion(location)
        case "missing":
            problem, remedy = f"key {key} is missing", _addition(location)
        case "value_error":
            problem = str(details["msg"]).removeprefix("Value error, ")
            remedy = "calibrate again" if location == ["calibration"] else "correct one of the two"
        case "model_type":
            problem, remedy = f"{key} = {_shown(value)} cannot be", f"write a section [{key}] with keys of its own"
        case _:
            problem, remedy = f"{key} = {_shown(value)} cannot be", f"{location[-1]} takes {_accepted(field, details)}"
    return SetupFileError(problem, source=source, remedy=remedy)


def _addition(location: list[str]) -> str:
    """What to do about a key that must be there; a calibration is written by the program only."""
    return "calibrate again" if location[0] == "calibration" else f'add {location[-1]} = "..."'


def _field(location: list[str]) -> FieldInfo | None:
    model: type[BaseModel] = Setup
    field = None
    for part in location:
        field = model.model_fields.get(part)
        section = _section_model(field)
        if section is None:
            break
        model = section
    return field


def _section_model(field: FieldInfo | None) -> type[Section] | None:
    if field is None:
        return None
    candidates = getattr(field.annotation, "__args__", None) or (field.annotation,)
    return next((part for part in candidates if isinstance(part, type) and issubclass(part, Section)), None)


_TOML_WORDS: Final = {"string": 'text in "quotes"', "dictionary": 'a table, as { "Header" = "channel [unit]" }'}
"""What the schema calls otherwise than a setup file's writer."""


def _accepted(field: FieldInfo | None, details: ErrorDetails) -> str:
    limits = {type(rule).__name__: rule for rule in (field.metadata if field is not None else ())}
    low, high = getattr(limits.get("Ge"), "ge", None), getattr(limits.get("Le"), "le", None)
    if low is not None and high is not None:
        number = "a whole number" if "int" in str(getattr(field, "annotation", "")) else "a number"
        return f"{number} from {low:g} to {high:g}"
    accepted = re.sub("^(Input should be (a valid )?|String should have )", "", str(details["msg"]))
    return _TOML_WORDS.get(accepted, accepted)


def _suggestion(location: list[str]) -> str:
    section = _section_model(Setup.model_fields.get(location[0])) if len(location) > 1 else Setup
    keys = _keys(section or Setup)
    close = difflib.get_close_matches(location[-1], keys, n=1, cutoff=0.5)
    hint = f"did you mean {close[0]}? " if close else ""
    return f"{hint}the keys here are {', '.join(keys)} (the unit is part of the key)"


def _keys(model: type[BaseModel]) -> list[str]:
    return [key for key, field in model.model_fields.items() if not field.exclude]


def _shown(value: object) -> str:
    text = repr(value).lower() if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def by_section(keys: Iterable[str]) -> str:
    """Keys by their sections: "[motor] kv_rpm_per_v, resistance_ohm; [pack] cells"."""
    sections: dict[str, list[str]] = {}
    for key in keys:
        section, _, name = key.partition(".")
        sections.setdefault(section, []).append(name)
    return "; ".join(f"[{section}] {', '.join(names)}" for section, names in sections.items())
