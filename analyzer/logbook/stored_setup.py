"""A setup's way into the logbook and out of it, its coefficient table included."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from analyzer.errors import OptionError
from analyzer.power_system.coefficients import stated_table
from analyzer.power_system.propeller import parse_propeller, stated_propeller
from analyzer.setup_file import PropellerSection, Setup, parse_setup, setup_toml


@dataclass(frozen=True)
class StoredSetup:
    """A setup as text, with the coefficient table that it names: all that is needed to analyse anew anywhere."""

    toml: str
    coefficients: str | None = None

    @property
    def setup(self) -> Setup:
        """The setup, its coefficient table with it."""
        parsed = _parsed(self.toml)
        return parsed if self.coefficients is None else parsed.model_copy(update={"coefficients": self.coefficients})

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
    """Turn a setup into text that stands by itself; of a coefficient table's path only its name is kept.

    Raises
    ------
    SetupFileError
        When the coefficient table that it names cannot be read.
    """
    if setup is None:
        return None
    table = stated_table(setup)
    if table is None:
        return StoredSetup(setup_toml(setup))
    return StoredSetup(setup_toml(_with_table(setup, table.path.name)), table.read())


def with_propeller(setup: Setup, propeller: str) -> Setup:
    """Put the propeller that was flown into a setup; no size (as older logbooks hold) leaves it as it is."""
    try:
        size = parse_propeller(propeller)
    except OptionError:
        return setup
    if size == stated_propeller(setup):
        return setup
    flown = PropellerSection(diameter_in=size.diameter_in, pitch_in=size.pitch_in, blades=size.blades)
    return setup.model_copy(update={"propeller": flown})
