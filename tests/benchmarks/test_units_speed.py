"""Floats cost no more for units being taken: the same work with and without, by processor time."""

from __future__ import annotations

import json
import subprocess
import sys
from statistics import median

from tests.support.paths import ROOT

_WORK = """
import dataclasses, json, sys, time
import wirecalc.units_taken as taken
if sys.argv[1] == "without":
    taken.takes_units, taken.dataclass = lambda function: function, dataclasses.dataclass
import numpy as np
from wirecalc.circuits.circuit import compare
from wirecalc.circuits.line_level import pickup
from wirecalc.circuits.source import Amplifier
from wirecalc.wire.cable import loop_ohm
from wirecalc.wire.conductor import awg

sizes, lengths = [awg(n) for n in (22, 18, 16, 14, 12, 10)], np.linspace(0.5, 10, 50)
amplifier = Amplifier(power_w=100.0, rated_ohm=4.0)
works = {
    "value object": (lambda: Amplifier(power_w=100.0, rated_ohm=4.0), 3000),
    "one float": (lambda: loop_ohm(0.01, 5.0), 1500),
    "an array": (lambda: loop_ohm(0.01, lengths), 1000),
    "seven floats": (lambda: pickup(10.0, 1000.0, 4.0, 0.02, 0.003, 0.02), 500),
    "sizes and lengths": (lambda: compare(amplifier, 4.0, sizes, lengths), 200),
}
least = dict.fromkeys(works, 9.0)
for _ in range(8):
    for name, (work, times) in works.items():
        start = time.process_time()
        for _ in range(times):
            work()
        least[name] = min(least[name], (time.process_time() - start) / times)
print(json.dumps(least))
"""


def _times(how: str) -> dict[str, float]:
    done = subprocess.run([sys.executable, "-c", _WORK, how], cwd=ROOT, capture_output=True, text=True, check=True)
    times: dict[str, float] = json.loads(done.stdout)
    return times


def test_floats_pay_next_to_nothing_for_units() -> None:
    rounds = []
    for _ in range(7):  # in turns, so that a busy spell falls on both
        without, taking = _times("without"), _times("with")
        rounds.append({name: taking[name] / without[name] for name in without})
    ratios = {name: median(each[name] for each in rounds) for name in rounds[0]}
    print(*(f"{name}: {ratio:.3f}" for name, ratio in ratios.items()), sep="\n")
    print(f"median: {median(ratios.values()):.3f}")
    assert median(ratios.values()) < 1.05
