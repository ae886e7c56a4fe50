"""Short invented logs for the logbook's tests: one climb under power and a glide."""

from __future__ import annotations

import numpy as np


def log_text(number: int = 0, length_s: float = 100.0, rate_hz: float = 4.0) -> bytes:
    """A log; each number is another flight."""
    rng = np.random.default_rng(number)
    time_s = np.arange(0.0, length_s, 1.0 / rate_hz)
    cycle_s = time_s % 300.0
    powered = (cycle_s >= 10.0) & (cycle_s < 30.0)
    glides = (time_s >= 30.0) & (time_s < length_s - 5.0) & ~powered
    rate = np.where(powered, 6.0 + 0.2 * (number % 7), np.where(glides, -0.4, 0.0))
    height = np.cumsum(rate) / rate_hz + rng.normal(0.0, 0.2, len(time_s))
    current = np.where(powered, 30.0, 0.3) + rng.normal(0.0, 0.05, len(time_s))
    voltage = 12.3 - 0.02 * current
    rows = [f"{t:.2f},{h:.2f},{v:.2f},{c:.2f}" for t, h, v, c in zip(time_s, height, voltage, current, strict=True)]
    return "\n".join(["Time (s),Altitude (m),Voltage (V),Current (A)", *rows, ""]).encode()
