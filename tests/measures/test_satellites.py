"""Heights from satellites are late and wander: gains are stated less surely."""

from dataclasses import replace

import numpy as np
from segmentation.invented_flight import InventedFlight

from analyzer.analysis import analyze_conditioned
from analyzer.conditioning import condition
from analyzer.measures.kink import lagged

WANDER_M, OVER_S, STEP_S = 2.0, 40.0, 0.2


def from_a_receiver(seed):
    """Three climbs as a receiver shows them, a second late and wandering by 2 m in 40 s; and what they gained."""
    flight = InventedFlight(seed).rest(30)
    for _ in range(3):
        flight.run(25).glide(120)
    flight.land().rest(30)
    log = flight.log(noise_m=0.0, quantum_m=0.01)
    time_s, altitude = (log.frame[name].to_numpy() for name in ("time_s", "altitude_m"))
    runs = [piece[1:] for piece in flight.pieces if piece[0] == "motor_run"]
    gained = [float(np.diff(np.interp(run, time_s, altitude))[0]) for run in runs]
    white = np.random.default_rng(seed).normal(size=(time_s.size, 1))
    wander = lagged(white, OVER_S, STEP_S)[:, 0]
    late = lagged(np.interp(time_s - 0.7, time_s, altitude)[:, None], 0.3, STEP_S)[:, 0]
    return gained, replace(log, frame=log.frame.assign(altitude_m=np.round(late + WANDER_M * wander / wander.std(), 1)))


def test_gains_from_satellite_heights_hold_the_truth_within_their_errors():
    held, unnamed = [], []
    for seed in range(6):
        gained, log = from_a_receiver(seed)
        named = analyze_conditioned(condition(replace(log, headers={"altitude_m": "GPS alt (m)"}))).summary
        assert "altitude-from-satellites" in {notice.code for notice in named.log.notices}
        plain = analyze_conditioned(condition(replace(log, headers={"altitude_m": "Alt (m)"}))).summary
        for summary, into in ((named, held), (plain, unnamed)):
            for run, true in zip(summary.motor_runs, gained, strict=True):
                into.append(abs(run.height_gain_m - true) <= 2.0 * run.height_gain_m_se)
    assert np.mean(held) >= 0.8
    assert np.mean(held) > np.mean(unnamed) + 0.3
