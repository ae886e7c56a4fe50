"""Noise for the tests of conditioning."""

import pytest
from conditioning.steady_glide import RNG, START


@pytest.fixture(autouse=True)
def same_noise():
    """Each test draws the same noise, whichever ran before it."""
    RNG.bit_generator.state = START
