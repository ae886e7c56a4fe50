"""Speed, reduced from tests/benchmarks/power_system_speed.py: generous bounds, since test machines are shared."""

from __future__ import annotations

import time

from benchmarks.power_system_speed import SETUP, hundred, vectorised_and_scalar

from analyzer.power_system.prediction import predict
from analyzer.setup_file import parse_setup


def test_a_hundred_propellers_take_little_processor_time() -> None:
    setup, propellers = parse_setup(SETUP, source="test"), hundred()
    predict(setup, propellers)  # the tables of theory are computed once a process
    begin = time.process_time()
    predict(setup, propellers)
    assert time.process_time() - begin < 1.5


def test_solving_at_once_is_twenty_times_faster_than_one_by_one_and_gives_the_same() -> None:
    vector_s, scalar_s, worst = vectorised_and_scalar(parse_setup(SETUP, source="test"), hundred(), 60)
    assert scalar_s > 20.0 * vector_s
    assert worst < 1e-9
