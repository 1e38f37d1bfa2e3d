"""Samples as a log keeps them: copper, clad aluminium, and readings that no wire has."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from wirecalc.bench.log import LoggedSample
from wirecalc.bench.meter import Accuracy
from wirecalc.bench.sample import FIELDS

COPPER_18 = {
    "strands": "16",
    "strand_m": "0.254 mm ± 0.005 mm",
    "ohm": "62.0 mohm",
    "lead_ohm": "20.0 mohm",
    "length_m": "2.00 m",
    "temperature_c": "68 °F",
}
CLAD_18 = {**COPPER_18, "ohm": "89.0 mohm"}
IMPOSSIBLE = {**COPPER_18, "ohm": "40.0 mohm"}
PLAIN = LoggedSample(
    name="spool 3", texts=("",) * len(FIELDS), way="two", accuracy=Accuracy(share=0.01, counts=3), sold_as=None
)


def kept(texts: dict[str, str], **changes: Any) -> LoggedSample:
    return replace(PLAIN, texts=tuple(texts.get(key, "") for key in FIELDS), **changes)
