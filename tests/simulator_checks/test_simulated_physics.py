"""The simulator against textbook relations and published figures."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from simulator import SimulatedFlight
from simulator.air import density_at_field, thermal_profile
from simulator.airframe import best_glide_speed, sink_at, textbook_polar
from simulator.flight import STEP_S
from simulator.power import PowerSystem, power_coefficient, thrust_coefficient
from simulator.scenario import Phase, ThermalSpec
from simulator.truth import energy_height

from simulator_checks.calm import calm_scenario

Fly = Callable[..., SimulatedFlight]


@pytest.mark.parametrize(("elevation_m", "temperature_c", "density"), [(0.0, 15.0, 1.2250), (1000.0, 8.5, 1.11164)])
def test_density_agrees_with_the_standard_atmosphere(elevation_m: float, temperature_c: float, density: float) -> None:
    # ISO 2533:1975, computed from its relations: 1.225000 kg/m3 at 0 m, 1.111643 kg/m3 at 1000 m (281.65 K)
    assert density_at_field(elevation_m, temperature_c) == pytest.approx(density, rel=2e-4)


# UIUC Propeller Database vol. 3 (folding blades), through a public transcription: 12x6 and 14x8 inch, read.
@pytest.mark.parametrize(
    ("pitch_ratio", "advance", "thrust", "power"),
    [
        (0.5, 0.453614, 0.036822, 0.022677),
        (0.5, 0.0, 0.089934, 0.029454),
        (8 / 14, 0.587238, 0.042969, 0.031313),
        (8 / 14, 0.0, 0.117909, 0.042905),
    ],
)
def test_propeller_is_of_the_size_of_measured_ones(
    pitch_ratio: float, advance: float, thrust: float, power: float
) -> None:
    # two sizes of like pitch ratio differ by 15 % in the measurements; the curve is not fitted to these
    assert thrust_coefficient(pitch_ratio, advance) == pytest.approx(thrust, rel=0.25)
    assert power_coefficient(pitch_ratio, advance) == pytest.approx(power, rel=0.25)


@pytest.mark.parametrize("pitch_ratio", [0.45, 0.55, 0.7])
def test_propeller_does_not_beat_momentum_theory(pitch_ratio: float) -> None:
    # ideal efficiency 2 / (1 + sqrt(1 + T/(qA))), with T/(qA) = 8 CT / (pi J^2) (Glauert)
    for advance in np.arange(0.05, pitch_ratio + 0.1, 0.05):
        thrust = thrust_coefficient(pitch_ratio, float(advance))
        ideal = 2 / (1 + math.sqrt(1 + 8 * thrust / (math.pi * advance**2)))
        assert thrust * advance / power_coefficient(pitch_ratio, float(advance)) < ideal


def test_propeller_unloads_with_airspeed() -> None:
    scenario = calm_scenario()
    system = PowerSystem(scenario.pack, scenario.drive, 15.0)
    currents = []
    for speed_m_s in (12.0, 18.0, 24.0):
        for _ in range(20):
            system.advance(1.0, 0.0, speed_m_s, 1.2, STEP_S)
        currents.append(system.motor_a)
    assert currents[0] > currents[1] > currents[2]


def test_power_is_conserved_from_pack_to_propeller() -> None:
    scenario = calm_scenario()
    system = PowerSystem(scenario.pack, scenario.drive, 15.0)
    for _ in range(40):
        system.advance(1.0, 0.0, 10.0, 1.2, STEP_S)
    turns_rad_s = system.motor_rad_s / scenario.drive.gear_ratio
    _, torque_nm = system.propeller(turns_rad_s, 10.0, 1.2)
    electric_w = system.motor_a * system.voltage_v
    assert 0.55 * electric_w < torque_nm * turns_rad_s < 0.92 * electric_w
    assert system.thrust_n * 10.0 < torque_nm * turns_rad_s


def test_pack_sags_by_its_resistance(fly_calm: Fly) -> None:
    # two-load method of IEC 61960-3: R = (U1 - U2) / (I2 - I1), across the moment the motor stops
    trace = fly_calm().trace
    stop = int(np.flatnonzero(trace["motor_a"].to_numpy() > 0)[-1])
    voltage, current = trace["voltage_v"].to_numpy(), (trace["motor_a"] + trace["avionics_a"]).to_numpy()
    resistance = (voltage[stop + 1] - voltage[stop]) / (current[stop] - current[stop + 1])
    assert resistance == pytest.approx(calm_scenario().pack.resistance_ohm, rel=0.02)


def test_calm_glide_sinks_as_the_polar_says(fly_calm: Fly) -> None:
    flight = fly_calm(Phase("glide", 60.0, speed=1.2))
    frame, trace = flight.scenario.airframe, flight.trace
    late = trace[(trace["phase"] == 3) & (np.abs(np.gradient(trace["heading_rad"])) < 1e-4)].iloc[400:]
    speed = float(late["airspeed_m_s"].mean())
    sink = -float(np.gradient(late["altitude_m"], STEP_S)[np.diff(late["time_s"], prepend=0) < 2 * STEP_S].mean())
    density = density_at_field(0.0, 15.0)
    assert speed == pytest.approx(1.2 * best_glide_speed(frame, density), rel=0.06)
    assert sink == pytest.approx(sink_at(frame, speed, density), rel=0.05)


def test_total_energy_changes_by_drag_thrust_and_rising_air(fly_calm: Fly) -> None:
    spec = ThermalSpec(core_m_s=2.5, radius_m=40.0, offset_m=10.0)
    flight = fly_calm(
        Phase("dive", 4.0, speed=2.2), Phase("glide", 20.0), Phase("thermal", 60.0, bank_deg=30.0, thermal=spec)
    )
    trace = flight.trace[flight.trace["airborne"].to_numpy(bool) & (flight.trace["altitude_m"].to_numpy() > 40.0)]
    weight_n = flight.scenario.airframe.mass_kg * 9.80665
    supply = trace["thrust_n"] * trace["airspeed_m_s"] / weight_n
    supply += trace["air_vertical_m_s"] - trace["still_air_sink_m_s"]
    # in a gradient of lift a path that is not level trades -V sin(path) dw/dt for energy: small, and not in the sum
    change = np.diff(energy_height(trace))
    assert change.sum() == pytest.approx(float(supply.iloc[1:].sum()) * STEP_S, abs=0.03 * float(np.abs(change).sum()))


@pytest.mark.parametrize("bank_deg", [20.0, 40.0])
def test_circles_take_the_time_of_turning_flight(fly_calm: Fly, bank_deg: float) -> None:
    # time = 2 pi r / v, r = v^2 / (g tan phi) (Welch, Welch & Irving, The Complete Soaring Pilot's Handbook)
    trace = fly_calm(Phase("thermal", 60.0, bank_deg=bank_deg, leave_below_m_s=-9.0)).trace
    circling = trace[trace["phase"] == 3].iloc[400:]
    rate = float(np.abs(np.diff(circling["heading_rad"])).mean() / STEP_S)
    speed = float(circling["airspeed_m_s"].mean())
    assert 2 * math.pi / rate == pytest.approx(
        2 * math.pi * speed / (9.80665 * math.tan(math.radians(bank_deg))), rel=0.04
    )


def test_zoom_gains_no_more_height_than_speed_is_worth(fly_calm: Fly) -> None:
    flight = fly_calm(Phase("dive", 5.0, speed=2.2), Phase("glide", 30.0))
    trace = flight.trace
    glide = trace[trace["phase"] == 4]
    fast, slow = float(glide["airspeed_m_s"].iloc[0]), float(glide["airspeed_m_s"].iloc[:200].min())
    gained = float(glide["altitude_m"].iloc[:200].max() - glide["altitude_m"].iloc[0])
    worth = (fast**2 - slow**2) / (2 * 9.80665)
    assert 3.0 < gained < worth
    assert flight.truth.zooms
    assert not flight.truth.thermal_climbs


def test_lift_is_modulated_at_the_circling_period_off_centre(fly_calm: Fly) -> None:
    spec = ThermalSpec(core_m_s=3.0, radius_m=30.0, offset_m=15.0, ring=0.0)
    flight = fly_calm(Phase("glide", 15.0), Phase("thermal", 90.0, bank_deg=25.0, thermal=spec))
    circling = flight.trace[flight.trace["phase"] == 4].iloc[400:]
    lift = circling["air_vertical_m_s"].to_numpy()
    spectrum = np.abs(np.fft.rfft(lift - np.poly1d(np.polyfit(np.arange(len(lift)), lift, 2))(np.arange(len(lift)))))
    strongest_s = len(lift) * STEP_S / int(np.argmax(spectrum))
    period_s = flight.truth.thermal_climbs[0].circle_period_s
    assert period_s is not None
    assert strongest_s == pytest.approx(period_s, rel=0.15)


def test_thermal_is_strongest_in_the_middle_of_the_mixed_layer() -> None:
    # z^(1/3) (1 - 1.1 z) has its greatest value at z = 1 / 4.4
    assert thermal_profile(1000 / 4.4, 1000.0) == pytest.approx(1.0, abs=1e-3)
    assert thermal_profile(950.0, 1000.0) == 0.0


def test_textbook_polar_is_close_to_the_simulated_one() -> None:
    frame = calm_scenario().airframe
    zero_lift, efficiency = textbook_polar(frame)
    assert 0.8 * frame.profile_drag < zero_lift < 1.3 * frame.profile_drag
    assert 0.5 < efficiency < frame.span_efficiency
