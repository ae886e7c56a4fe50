"""Types of the arrays that go through the program; each docstring gives the shape and the unit of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Indices = NDArray[np.intp]
Floats = Array | float
"""Formulae that take one value as well as an array."""
