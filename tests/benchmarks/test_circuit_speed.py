from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from wirecalc.circuits.circuit import Outcome, compare
from wirecalc.circuits.load import Load
from wirecalc.circuits.source import Amplifier
from wirecalc.wire.conductor import COPPER, conductor

Array = NDArray[Any]

# 22 to 4 AWG and metric ones between, as the page offers them.
SIZES = [*(("AWG", float(n)) for n in (22, 18, 16, 14, 12, 10)), *(("mm2", a) for a in (0.75, 2.5, 4.0))]
FIELDS = tuple(Outcome.__dataclass_fields__)


def page(lengths_m: Array) -> Outcome:
    """From what a person entered to all outputs, every object made fresh."""
    amplifier = Amplifier(power_w=100, rated_ohm=4)
    load = Load(ohm=4)
    sizes = [conductor(system, number) for system, number in SIZES]
    entries = {"temperature_c": 40.0, "joints_ohm": 0.002}
    return compare(amplifier, load.impedance(0.0).real, sizes, lengths_m, **entries)


def bare(lengths_m: Array, per_m: Array, emf: float, source: float, load: float) -> tuple[Array, ...]:
    """The same outputs with numpy alone: nothing checked, nothing made."""
    wire = per_m * 2.0 * lengths_m + 0.002
    behind = source + wire
    current = emf / (behind + load)
    load_v = current * load
    drop_v = current * wire
    level_db = 20.0 * np.log10(load_v * ((source + load) / (emf * load)))
    load_w = load_v * current
    wire_w = drop_v * current
    efficiency = load_w / (load_w + wire_w)
    damping = load / behind
    return current, load_v, drop_v, level_db, load_w, wire_w, efficiency, damping


def time_s(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def bare_of(lengths_m: Array) -> Callable[[], tuple[Array, ...]]:
    sizes = [conductor(system, number) for system, number in SIZES]
    per_m = np.array([[size.ohm_per_m_20c] for size in sizes]) * (1.0 + COPPER.per_k_20c * 20.0)
    return lambda: bare(lengths_m, per_m, 20.1, 0.02, 4.0)


@pytest.fixture(scope="module")
def lengths_m() -> Array:
    return np.linspace(0.5, 10.0, 200)


def test_the_page_in_under_half_a_millisecond(benchmark: Any, lengths_m: Array) -> None:
    computed = benchmark.pedantic(page, (lengths_m,), rounds=300, iterations=5, warmup_rounds=10)
    for field, expected in zip(FIELDS, bare_of(lengths_m)(), strict=True):  # the same work is timed
        np.testing.assert_allclose(getattr(computed, field), expected, rtol=1e-12, atol=1e-13, err_msg=field)
    assert benchmark.stats.stats.min < 0.5e-3


def test_20_000_lengths_within_one_and_a_half_of_numpy_alone() -> None:
    """By turns, and the least time of each: what others do on the machine only ever adds."""
    many_m = np.linspace(0.5, 10.0, 20_000)
    floor = bare_of(many_m)
    pairs = [(time_s(lambda: page(many_m)), time_s(floor)) for _ in range(150)]
    ours, alone = (min(times) for times in zip(*pairs, strict=True))
    assert ours < 1.5 * alone, f"{ours / alone:.2f} times"
