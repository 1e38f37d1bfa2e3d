"""9 sizes x 200 lengths x 400 frequencies against the bare numpy expression, as a ratio in one run."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from wirecalc.circuits.loudspeaker import DEMO_DRIVERS
from wirecalc.circuits.response import audio_hz, level_db
from wirecalc.circuits.source import Amplifier
from wirecalc.wire.conductor import awg
from wirecalc.wire.pair import DIELECTRICS, Pair

MOST_TIMES = 5.0


def best_s(work: Callable[[], NDArray[np.float64]]) -> float:
    times = []
    for _ in range(7):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def test_response_within_five_times_the_bare_expression() -> None:
    pairs = [
        Pair(conductor=awg(size), insulation=DIELECTRICS["pvc"], insulation_m=0.8e-3)
        for size in (18, 16, 14, 12, 10, 8, 6, 4, 2)
    ]
    lengths, hz = np.linspace(0.5, 20.0, 200), audio_hz(400)
    amplifier, driver = Amplifier(power_w=500.0, rated_ohm=2.0), next(iter(DEMO_DRIVERS.values()))
    per_m = np.stack([pair.ohm_per_m(hz) for pair in pairs])[:, None, :]
    behind, load = amplifier.output_ohm, driver.impedance(hz)

    def bare() -> NDArray[np.float64]:
        level: NDArray[np.float64] = 20 * np.log10(np.abs((behind + load) / (behind + load + per_m * lengths[:, None])))
        return level

    def whole() -> NDArray[np.float64]:
        return level_db(amplifier, driver, pairs, lengths, hz)

    np.testing.assert_allclose(whole(), bare(), atol=1e-12)
    ratio = best_s(whole) / best_s(bare)
    print(f"\n{ratio:.2f} times the bare expression")
    assert ratio < MOST_TIMES
