"""The propeller: its size, and what its coefficients mean.

C_T = T/(rho n^2 D^4), C_P = P/(rho n^3 D^5), J = V/(n D) with n in turns per second (Deters, Ananda & Selig 2014,
AIAA 2014-2151, eqs 3 to 5).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyzer.constants import INCH_M
from analyzer.errors import OptionError

if TYPE_CHECKING:
    from analyzer.arrays import Floats
    from analyzer.setup_file import Setup


_SIZE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*[xX\u00d7]\s*(\d+(?:\.\d+)?)(?:\s*[xX\u00d7]\s*([1-6]))?\s*")


@dataclass(frozen=True, slots=True)
class Propeller:
    """A propeller as its maker names it: diameter and pitch in inches, and its number of blades."""

    diameter_in: float
    pitch_in: float
    blades: int = 2

    @property
    def name(self) -> str:
        """Name as the trade writes it: "14x8", with three blades "14x8x3"."""
        size = f"{self.diameter_in:g}x{self.pitch_in:g}"
        return size if self.blades == 2 else f"{size}x{self.blades}"

    @property
    def diameter_m(self) -> float:
        """Diameter in metres."""
        return self.diameter_in * INCH_M

    @property
    def pitch_m(self) -> float:
        """Pitch in metres."""
        return self.pitch_in * INCH_M

    @property
    def pitch_ratio(self) -> float:
        """Pitch over diameter."""
        return self.pitch_in / self.diameter_in


def stated_propeller(setup: Setup | None) -> Propeller | None:
    """The propeller of a setup; None where it names no diameter or no pitch."""
    section = setup.propeller if setup is not None else None
    if section is None or section.diameter_in is None or section.pitch_in is None:
        return None
    return Propeller(section.diameter_in, section.pitch_in, section.blades)


def parse_propeller(text: str) -> Propeller:
    """Read "14x8" (or "14x8x3" for three blades).

    Raises
    ------
    OptionError
        When the text is no such size, or the size is outside 2 to 40 inch.

    Examples
    --------
    >>> parse_propeller("12.5x7.5").pitch_in
    7.5
    """
    match = _SIZE.fullmatch(text)
    if match is None:
        raise OptionError(
            f"'{text}' is no propeller size", source="propeller", remedy="write diameter x pitch in inches, as 14x8"
        )
    propeller = Propeller(float(match[1]), float(match[2]), int(match[3] or 2))
    if not (2.0 <= propeller.diameter_in <= 40.0 and 0.5 <= propeller.pitch_in <= 40.0):
        raise OptionError(
            f"'{text}' is outside the sizes known here",
            source="propeller",
            remedy="give a diameter of 2 to 40 inch and a pitch of 0.5 to 40 inch",
        )
    return propeller


def propeller_range(text: str) -> tuple[Propeller, ...]:
    """Read "12x6:17x12": every whole inch of diameter and of pitch from the first size to the second.

    Raises
    ------
    OptionError
        When the text is no such range, or runs downwards.

    Examples
    --------
    >>> [one.name for one in propeller_range("12x6:13x7")]
    ['12x6', '12x7', '13x6', '13x7']
    """
    first, colon, last = text.partition(":")
    if not colon:
        raise OptionError(
            f"'{text}' is no range of sizes", source="propeller range", remedy="write smallest:largest, as 12x6:17x12"
        )
    low, high = parse_propeller(first), parse_propeller(last)
    if low.diameter_in > high.diameter_in or low.pitch_in > high.pitch_in or low.blades != high.blades:
        raise OptionError(
            f"'{text}' does not run upwards in diameter and pitch",
            source="propeller range",
            remedy="write smallest:largest, as 12x6:17x12, both with the same number of blades",
        )
    diameters = range(int(high.diameter_in - low.diameter_in) + 1)
    pitches = range(int(high.pitch_in - low.pitch_in) + 1)
    return tuple(
        Propeller(low.diameter_in + wider, low.pitch_in + steeper, low.blades)
        for wider in diameters
        for steeper in pitches
    )


def thrust_n(thrust_coefficient: Floats, density_kg_m3: float, speed_rev_s: Floats, diameter_m: Floats) -> Floats:
    """Thrust, C_T rho n^2 D^4."""
    return thrust_coefficient * density_kg_m3 * speed_rev_s**2 * diameter_m**4


def shaft_power_w(power_coefficient: Floats, density_kg_m3: float, speed_rev_s: Floats, diameter_m: Floats) -> Floats:
    """Power at the propeller's shaft, C_P rho n^3 D^5."""
    return power_coefficient * density_kg_m3 * speed_rev_s**3 * diameter_m**5
