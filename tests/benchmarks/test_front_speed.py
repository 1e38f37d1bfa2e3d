"""The front door in a hurry: a million runs from a table, and what `import wirecalc` takes."""

from __future__ import annotations

import subprocess
import sys
import time

import numpy as np
import pandas as pd

import wirecalc
from tests.support.paths import ROOT

COUNT = 1_000_000


def test_a_million_runs_take_under_two_seconds() -> None:
    draw = np.random.default_rng(7)
    table = pd.DataFrame(
        {
            "power_w": draw.uniform(20, 500, COUNT),
            "load_ohm": draw.choice([2.0, 4.0, 8.0], COUNT),
            "length_m": draw.uniform(0.5, 10, COUNT),
            "size": draw.choice(["18 AWG", "16 AWG", "14 AWG", "1.5 mm2", "12 AWG"], COUNT),
        }
    )
    wirecalc.speaker_runs(table.head())
    start = time.process_time()
    answers = wirecalc.speaker_runs(table)
    took = time.process_time() - start
    print(f"{COUNT} runs: {took:.2f} s")
    assert len(answers) == COUNT
    assert took < 2


def test_import_takes_under_20_ms() -> None:
    code = "import time; start = time.process_time(); import wirecalc; print(1e3 * (time.process_time() - start))"
    took = min(
        float(subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout)
        for _ in range(5)
    )
    print(f"import wirecalc: {took:.1f} ms")
    assert took < 20
