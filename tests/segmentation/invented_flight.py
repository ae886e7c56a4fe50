"""Small invented flights, put together from pieces whose kind and times are known."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from analyzer.conditioning import condition
from analyzer.records import Log, Segmentation
from analyzer.segmentation import segment

STEP_S = 0.02
CRUISE_M_S = 9.0


@dataclass
class InventedFlight:
    """Pieces added one after the other; `log` samples them as a recorder would."""

    seed: int = 0
    height_m: list[np.ndarray] = field(default_factory=list)
    current_a: list[np.ndarray] = field(default_factory=list)
    airspeed_m_s: list[np.ndarray] = field(default_factory=list)
    course_deg: list[np.ndarray] = field(default_factory=list)
    pieces: list[tuple[str, float, float]] = field(default_factory=list)

    def __post_init__(self):
        self.rng = np.random.default_rng(self.seed)

    @property
    def now_s(self):
        return sum(len(piece) for piece in self.height_m) * STEP_S

    @property
    def level_m(self):
        return float(self.height_m[-1][-1]) if self.height_m else 0.0

    def add(self, kind, climb_m_s, current_a=0.0, airspeed_m_s=CRUISE_M_S, turn_deg_s=0.0):
        count = len(climb_m_s)
        start = self.now_s
        turned = float(self.course_deg[-1][-1]) if self.course_deg else 0.0
        self.height_m.append(self.level_m + np.cumsum(climb_m_s) * STEP_S)
        self.current_a.append(np.broadcast_to(current_a, count).astype(float))
        self.airspeed_m_s.append(np.broadcast_to(airspeed_m_s, count).astype(float))
        self.course_deg.append(turned + np.cumsum(np.full(count, turn_deg_s)) * STEP_S)
        self.pieces.append((kind, start, self.now_s))
        return self

    def steps(self, lasts_s):
        return np.arange(round(lasts_s / STEP_S)) * STEP_S

    def gusts(self, count, strength=0.25, memory_s=2.0):
        keep = np.exp(-STEP_S / memory_s)
        noise = self.rng.normal(0.0, strength * np.sqrt(1 - keep**2), count)
        value, out = 0.0, np.empty(count)
        for index, kick in enumerate(noise):
            value = keep * value + kick
            out[index] = value
        return out

    def rest(self, lasts_s):
        return self.add("ground", np.zeros(len(self.steps(lasts_s))), airspeed_m_s=0.0)

    def run(self, lasts_s, climb=6.0, current=30.0, spool_s=0.3):
        time = self.steps(lasts_s)
        ramp = np.minimum(time / spool_s, 1.0)
        return self.add("motor_run", climb * ramp, current * ramp**2, airspeed_m_s=12.0)

    def glide(self, lasts_s, sink=0.5):
        count = len(self.steps(lasts_s))
        return self.add("glide", -sink + self.gusts(count))

    def zoom(self, from_m_s=16.0, lasts_s=3.0):
        """Speed turned into height without loss, after the motor stops or a dive ends."""
        speed = np.linspace(from_m_s, CRUISE_M_S, len(self.steps(lasts_s)))
        return self.add("glide", -np.gradient(speed**2 / 19.6133, STEP_S), airspeed_m_s=speed)

    def dive(self, to_m_s=20.0, lasts_s=4.0):
        speed = np.linspace(CRUISE_M_S, to_m_s, len(self.steps(lasts_s)))
        return self.add("glide", -np.gradient(speed**2 / 19.6133, STEP_S) - 1.0, airspeed_m_s=speed)

    def thermal(self, lasts_s, climb=1.5, period_s=9.0, unevenness=0.7):
        time = self.steps(lasts_s)
        rate = climb + unevenness * climb * np.sin(2 * np.pi * time / period_s) + self.gusts(len(time))
        return self.add("thermal_climb", rate, turn_deg_s=360.0 / period_s)

    def bump(self, lasts_s=7.0, strength=2.5):
        time = self.steps(lasts_s)
        return self.add("glide", strength * np.sin(np.pi * time / lasts_s))

    def land(self, on_m=0.0, sink=0.8):
        lasts = max((self.level_m - on_m) / sink, 1.0)
        count = len(self.steps(lasts))
        return self.add("glide", np.full(count, (on_m - self.level_m) / (count * STEP_S)))

    def log(self, rate_hz=5.0, noise_m=0.15, quantum_m=0.1, base_m=300.0, channels=("current_a",)):
        height, time_s = np.concatenate(self.height_m), np.arange(0.0, self.now_s - STEP_S, 1.0 / rate_hz)
        at = np.round(time_s / STEP_S).astype(int)
        altitude = base_m + height[at] + self.rng.normal(0.0, noise_m, len(at))
        current = np.concatenate(self.current_a)[at]
        every = {
            "current_a": np.round(current + 0.3 + self.rng.normal(0.0, 0.08, len(at)), 1),
            "voltage_v": np.round(12.3 - 0.02 * current + np.random.default_rng(5).normal(0.0, 0.01, len(at)), 2),
            "rpm": np.round(9000.0 * np.sqrt(current / 30.0)),
            "throttle": np.sqrt(current / 30.0),
            "airspeed_m_s": np.concatenate(self.airspeed_m_s)[at] + self.rng.normal(0.0, 0.3, len(at)),
            "heading_deg": np.mod(np.concatenate(self.course_deg)[at], 360.0),
        }
        frame = {"time_s": time_s, "altitude_m": np.round(altitude / quantum_m) * quantum_m}
        return Log("invented", "", pd.DataFrame(frame | {name: every[name] for name in channels}))


def cut(log: Log) -> Segmentation:
    """Condition and segment."""
    return segment(condition(log))


def spans(segmentation: Segmentation, kind: str) -> list[tuple[float, float]]:
    """Starts and ends of one kind."""
    return [(piece.start_s, piece.end_s) for piece in segmentation.of_kind(kind)]  # type: ignore[arg-type]
