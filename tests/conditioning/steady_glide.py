"""Readings of an altimeter in a steady glide, and the noise that tests draw from; `conftest` sets it back for each."""

import numpy as np

RNG = np.random.default_rng(7)
START = RNG.bit_generator.state

TIME = np.arange(0.0, 100.0, 0.2)
GLIDE = np.round(150.0 - 0.5 * TIME + RNG.normal(0.0, 0.15, len(TIME)), 1)
