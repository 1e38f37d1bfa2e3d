"""Nine sizes in one go: the page solves them on every change of an entry."""

from time import perf_counter

import numpy as np

from wirecalc.wire.conductor import awg
from wirecalc.wire.heat import surface_w_per_m, temperature_c
from wirecalc.wire.insulation import INSULATIONS, insulated

INSULATION = INSULATIONS["pvc_105"]
NINE = insulated([awg(n) for n in (18, 16, 14, 12, 10, 8, 6, 4, 2)], INSULATION)
CURRENT_A = np.array([8.0, 10, 15, 20, 30, 40, 60, 80, 110])


def best_s(work, repeats=30):
    spent = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        spent.append(perf_counter() - start)
    return min(spent)


def test_nine_sizes_under_5_ms(benchmark):
    conductor_c = benchmark(temperature_c, NINE, CURRENT_A, 45.0, 4)
    assert np.all(np.isfinite(conductor_c))
    assert best_s(lambda: temperature_c(NINE, CURRENT_A, 45.0, 4)) < 5e-3


def test_the_solve_costs_few_surface_balances():
    once_s = best_s(lambda: surface_w_per_m(NINE.outer_m, 80.0, 45.0, INSULATION.emissivity))
    solve_s = best_s(lambda: temperature_c(NINE, CURRENT_A, 45.0, 4))
    assert solve_s < 30 * once_s, f"{solve_s / once_s:.0f} times one evaluation"
    print(f"{solve_s * 1e3:.3f} ms, {solve_s / once_s:.1f} times one surface balance")


def test_900_cases_cost_less_than_20_times_nine():
    many_a = np.linspace(0.2, 1.0, 100)[:, None] * CURRENT_A
    nine_s = best_s(lambda: temperature_c(NINE, CURRENT_A, 45.0, 4))
    assert best_s(lambda: temperature_c(NINE, many_a, 45.0, 4), 10) < 20 * nine_s
