from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from wirecalc import runs
from wirecalc.circuits.source import Amplifier
from wirecalc.limit import Limit
from wirecalc.runs.tolerance import monte_carlo, run_inputs
from wirecalc.wire.conductor import awg

DRAWS = 100_000
SINGLES = 500
MEASURES = ["loss_db", "drop_v", "load_w", "damping_factor"]
LIMITS = [Limit(measure="loss_db", bound=0.5, sense="at most")]
RUN = runs.SpeakerRun(amplifier=Amplifier(power_w=100, rated_ohm=4), load_ohm=4.0)
MODEL = runs.model(RUN, awg(16), runs.Installation(length_m=6.0))
INPUTS = run_inputs(6.0)


def time_s(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def all_at_once() -> object:
    return monte_carlo(MODEL, INPUTS, MEASURES, limits=LIMITS, draws=DRAWS)


def one_by_one() -> None:
    for index in range(SINGLES):
        MODEL(
            length_m=6.0 + index * 1e-3,
            temperature_c=20.0,
            joints_ohm=0.0,
            resistance_ratio=1.0,
            load_ratio=1.0,
        )


def test_100_000_draws_with_all_statistics_under_60_ms(benchmark: Any) -> None:
    benchmark.pedantic(all_at_once, rounds=20, warmup_rounds=2)
    assert benchmark.stats.stats.min < 0.060


def test_over_200_times_faster_than_single_runs() -> None:
    """By turns, and the least time of each: what others do on the machine only ever adds."""
    at_once, singly = zip(*[(time_s(all_at_once), time_s(one_by_one)) for _ in range(30)], strict=True)
    ratio = min(singly) / SINGLES * DRAWS / min(at_once)
    assert ratio > 200, f"{ratio:.0f} times"
