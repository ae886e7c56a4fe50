"""The air of a flight: density, wind, gusts, large-scale patches and thermals."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from simulator.scenario import ThermalSpec, Weather

GRAVITY_M_S2 = 9.80665


def density_at_field(elevation_m: float, temperature_c: float) -> float:
    """Density in kg/m3 at a field's elevation (hydrostatic, 6.5 K/km) and air temperature."""
    pressure_pa = 101325.0 * (1.0 - elevation_m / 44330.8) ** 5.2559
    return pressure_pa / (287.05 * (temperature_c + 273.15))


def coloured_noise(
    rng: np.random.Generator, count: int, step_s: float, time_s: float, poles: int = 1
) -> NDArray[np.float64]:
    """Unit-variance noise behind `poles` equal first-order low passes of `time_s`."""
    decay = math.exp(-step_s / max(time_s, step_s))
    lead = int(6 * time_s / step_s) + 10
    noise = rng.standard_normal(count + lead)
    for _ in range(poles):
        noise = lfilter([1.0 - decay], [1.0, -decay], noise)
    noise = noise[lead:]
    spread = 1.0 - decay
    single = spread / math.sqrt(1.0 - decay**2)
    if poles == 1:
        return noise / single
    # two equal poles: variance (1-a)^4 (1+a^2) / (1-a^2)^3
    return noise / math.sqrt(spread**4 * (1 + decay**2) / (1 - decay**2) ** 3)


@dataclass
class Thermal:
    """A thermal that was met: it drifts with the wind from where it was placed."""

    spec: ThermalSpec
    east_m: float
    north_m: float
    breathing: NDArray[np.float64]

    def updraft_m_s(self, index: int, east_m: float, north_m: float, rise: float) -> float:
        """Vertical speed at a point; `rise` is the profile over height at that point."""
        distance = math.hypot(east_m - self.east_m, north_m - self.north_m) / self.spec.radius_m
        if distance > 4.0:
            return 0.0
        shape = math.exp(-distance * distance)
        shape -= self.spec.ring * math.exp(-2.5 * (distance - 2.0) ** 2)
        return self.spec.core_m_s * rise * shape * self.breathing[index]


class Air:
    """Wind, gusts and lift at every step of one simulation."""

    def __init__(self, weather: Weather, count: int, step_s: float, rng: np.random.Generator):
        self.weather = weather
        self.step_s = step_s
        self._rng = rng
        self._count = count
        self.density_kg_m3 = density_at_field(weather.elevation_m, weather.temperature_c)
        time_s = weather.gust_length_m / 10.0
        gust = weather.gust_m_s
        self.vertical_gust = (gust * 0.8 * coloured_noise(rng, count, step_s, time_s / 3, poles=2)).tolist()
        self.along_gust = (gust * coloured_noise(rng, count, step_s, time_s / 2, poles=2)).tolist()
        patches = coloured_noise(rng, count, step_s, weather.patchiness_s / 2, poles=2)
        self.patches = (weather.patchiness_m_s * patches - weather.subsidence_m_s).tolist()
        self.thermals: list[Thermal] = []
        towards = math.radians(weather.wind_from_deg + 180.0)
        self.wind_east_10m = weather.wind_m_s * math.sin(towards)
        self.wind_north_10m = weather.wind_m_s * math.cos(towards)

    def density(self, height_m: float) -> float:
        """Density in kg/m3 at a height above the field."""
        return self.density_kg_m3 * math.exp(-height_m / 10400.0)

    def add_thermal(self, spec: ThermalSpec, east_m: float, north_m: float) -> Thermal:
        """Place a thermal's core at a point; older ones are left behind."""
        noise = coloured_noise(self._rng, self._count, self.step_s, spec.breathing_s / 2, poles=2)
        breathing = np.clip(1.0 + spec.breathing * noise, -0.2, 2.0)
        thermal = Thermal(spec, east_m, north_m, breathing)
        self.thermals = [*self.thermals[-1:], thermal]
        return thermal

    def drift(self, factor: float) -> None:
        """Carry the thermals one step down the wind."""
        for thermal in self.thermals:
            thermal.east_m += self.wind_east_10m * factor * self.step_s
            thermal.north_m += self.wind_north_10m * factor * self.step_s

    def vertical_m_s(self, index: int, east_m: float, north_m: float, height_m: float) -> float:
        """Vertical speed of the air at a point: gusts, patches and thermals, dying at the ground."""
        near_ground = 1.0 - math.exp(-max(height_m, 0.0) / 15.0)
        lift = self.vertical_gust[index] + self.patches[index]
        rise = thermal_profile(height_m, self.weather.mixing_height_m)
        for thermal in self.thermals:
            lift += thermal.updraft_m_s(index, east_m, north_m, rise)
        return near_ground * lift


def wind_factor(height_m: float) -> float:
    """Wind speed over the wind at 10 m: one-seventh power law, constant above 150 m."""
    return float((min(max(height_m, 0.5), 150.0) / 10.0) ** 0.1429)


def thermal_profile(height_m: float, mixing_height_m: float) -> float:
    """Updraft over height, greatest value 1: z^(1/3) (1 - 1.1 z), z in mixing heights.

    Lenschow & Stephens, Boundary-Layer Meteorology 19 (1980), 509-532 (from memory), scaled.
    """
    z = max(height_m, 1.0) / mixing_height_m
    return max(0.0, z ** (1.0 / 3.0) * (1.0 - 1.1 * z)) / 0.4577
