"""A setup's way into the logbook and out of it, its coefficient table included."""

from __future__ import annotations

import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from analyzer.errors import OptionError
from analyzer.power_system.coefficient_table import table_text
from analyzer.power_system.propeller import parse_propeller, stated_propeller
from analyzer.setup_file import Propeller, Setup, parse_setup, setup_toml

if TYPE_CHECKING:
    from collections.abc import Iterator

_TABLE_NAME: Final = "coefficients.csv"


@dataclass(frozen=True)
class StoredSetup:
    """A setup as text, with the coefficient table that it names: all that is needed to analyse anew anywhere."""

    toml: str
    coefficients: str | None = None

    @property
    def setup(self) -> Setup:
        """The setup, without the folder of its coefficient table."""
        return _parsed(self.toml)

    def toml_with_table(self, name: str) -> str:
        """The setup as text that calls its coefficient table by another name."""
        return setup_toml(_with_table(self.setup, name)) if self.coefficients is not None else self.toml


def _with_table(setup: Setup, name: str) -> Setup:
    if setup.propeller is None:
        return setup
    return setup.model_copy(update={"propeller": setup.propeller.model_copy(update={"coefficients_csv": name})})


@lru_cache(maxsize=256)
def _parsed(toml: str) -> Setup:
    """Parse a setup that was checked before it was stored; many entries share one."""
    return parse_setup(toml, source="the setup in the logbook")


def pack_setup(setup: Setup | None) -> StoredSetup | None:
    """Turn a setup into text that stands by itself.

    Raises
    ------
    SetupFileError
        When the coefficient table that it names cannot be read.
    """
    if setup is None:
        return None
    propeller = setup.propeller
    if propeller is None or propeller.coefficients_csv is None:
        return StoredSetup(setup_toml(setup))
    table = table_text(setup.folder / propeller.coefficients_csv)
    return StoredSetup(setup_toml(_with_table(setup, _TABLE_NAME)), table)


@contextmanager
def unpacked(stored: StoredSetup | None, propeller: str = "") -> Iterator[Setup | None]:
    """Give the setup back for an analysis; its coefficient table lies in a folder that is gone afterwards.

    Parameters
    ----------
    stored : StoredSetup, optional
        As `pack_setup` made it.
    propeller : str
        The propeller that was flown, where it is another than the setup's.
    """
    if stored is None:
        yield None
    elif stored.coefficients is None:
        yield with_propeller(stored.setup, propeller)
    else:
        with tempfile.TemporaryDirectory(prefix="climbledger-") as folder:
            (Path(folder) / _TABLE_NAME).write_text(stored.coefficients, encoding="utf-8")
            yield with_propeller(stored.setup.model_copy(update={"folder": Path(folder)}), propeller)


def with_propeller(setup: Setup, propeller: str) -> Setup:
    """Put the propeller that was flown into a setup; no size (as older logbooks hold) leaves it as it is."""
    try:
        size = parse_propeller(propeller)
    except OptionError:
        return setup
    if size == stated_propeller(setup):
        return setup
    flown = Propeller(diameter_in=size.diameter_in, pitch_in=size.pitch_in, blades=size.blades)
    return setup.model_copy(update={"propeller": flown})
