"""A calibrated setup as TOML: the user's own text with the fitted values in it, each with where it comes from."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analyzer.setup_file import parse_setup

if TYPE_CHECKING:
    from analyzer.match.calibration import CalibrationResult
    from analyzer.records import Finding

HEADING = (
    "What flights say of this setup: predictions use it. Written by climbledger; calibrate again rather than edit."
)


def calibrated_toml(result: CalibrationResult, text: str, folder: Path | None = None) -> str:
    """Put what was fitted into the text of a setup file.

    Parameters
    ----------
    result : CalibrationResult
        The calibration.
    text : str
        The setup file as the user wrote it; comments, order and spelling stay.
    folder : Path, optional
        Where the new file will stand, for the way to a coefficient table; beside the old one by default.

    Returns
    -------
    str
        TOML that `analyzer.setup_file.parse_setup` reads as ``result.setup``. A fitted value has its former one, its
        95 % interval and its logs in a comment; one that the logs bear out has the interval.

    Raises
    ------
    SetupFileError
        When the text is no longer the setup that was calibrated.
    """
    import tomlkit

    parse_setup(text, source=f"setup '{result.stated.name}'", folder=result.stated.folder)
    document = tomlkit.parse(text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}"))
    findings = {finding.key: finding for finding in result.findings if finding.key}
    for key, finding in findings.items():
        value, stated = result.setup.value(key), result.stated.value(key)
        section, _, name = key.partition(".")
        if value != stated:
            _set(document[section], name, value, _origin(stated, finding, result.logs))
        elif finding.verdict == "as_stated" and name in document.get(section, {}):
            _set(document[section], name, value, f"borne out: {_interval(finding, result.logs)}")
    _keep_table(document, result, folder)
    _add_calibration(document, result)
    return tomlkit.dumps(document)


def _set(section: Any, name: str, value: float, comment: str) -> None:  # noqa: ANN401 - a table of tomlkit
    """Set a value, keeping what the user had to say about it."""
    import tomlkit

    own = section[name].trivia.comment.lstrip("# ").strip() if name in section else ""
    item = tomlkit.item(value)
    item.comment(f"{own}; {comment}" if own else comment)
    section[name] = item


def _origin(stated: float | None, finding: Finding, logs: tuple[str, ...]) -> str:
    was = "not stated before" if stated is None else f"was {stated:.4g}"
    return f"{was}; {_interval(finding, logs)}"


def _interval(finding: Finding, logs: tuple[str, ...]) -> str:
    return f"{finding.low:.4g} to {finding.high:.4g} (95 %) by {', '.join(logs)}"


def _keep_table(document: Any, result: CalibrationResult, folder: Path | None) -> None:  # noqa: ANN401
    """Write the way to the coefficient table anew when the file stands in another folder than the user's."""
    propeller = result.stated.propeller
    table = propeller.coefficients_csv if propeller is not None else None
    if folder is None or table is None or Path(table).is_absolute():
        return
    old, new = result.stated.folder.resolve(), folder.resolve()
    if old != new:
        document["propeller"]["coefficients_csv"] = Path(os.path.relpath(old / table, new)).as_posix()


def _add_calibration(document: Any, result: CalibrationResult) -> None:  # noqa: ANN401
    import tomlkit

    section = result.setup.calibration
    if section is None:
        raise AssertionError("a calibrated setup has a calibration")
    plain = section.model_dump(exclude_none=True)
    table = tomlkit.table()
    table.comment(HEADING)
    as_measured = tomlkit.item(plain["propellers_as_measured"])
    as_measured.comment("true: other sizes are predicted from their own measurement, else from the family's mean")
    table.add("propellers_as_measured", as_measured)
    table.add("parameters", _lines(plain["parameters"]))
    offsets = _lines(plain["offsets"])
    offsets.comment("from the values above: logarithms of factors, volts for the rest voltage of a cell")
    table.add("offsets", offsets)
    table.add("covariance", _lines(plain["covariance"]))
    flown = tomlkit.aot()
    for entry in plain["flown"]:
        flown.append(tomlkit.item(entry))
    table.add("flown", flown)
    document.pop("calibration", None)
    document.add(tomlkit.nl())
    document.add("calibration", table)


def _lines(values: list[Any]) -> Any:  # noqa: ANN401 - an array of tomlkit
    """An array with one element a line."""
    import tomlkit

    array = tomlkit.array()
    for value in values:
        array.append(value)
    return array.multiline(True)
