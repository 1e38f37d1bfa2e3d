"""Strandings that tell an unmarked wire's standard, beside the wire that shops buy."""

from __future__ import annotations

import numpy as np
import pytest

from wirecalc import tables

STRANDINGS = tables.load("bought_strandings")
WIRES = tables.load("bought_conductors")

# Strands, their diameter in mm, what the wire is; where each is from stands in its row
KNOWN = [
    (19, 0.19, "0.5 mm² ISO 6722-1 type A"),
    (19, 0.26, "1 mm² ISO 6722-1 type A"),
    (16, 0.20, "0.5 mm² ISO 6722-1 type B"),
    (24, 0.20, "0.75 mm² ISO 6722-1 type B"),
    (7, 0.32, "0.5 mm² JIS C 3406 AV"),
    (11, 0.32, "0.85 mm² JIS C 3406 AV"),
    (50, 0.45, "8 mm² JIS C 3406 AV"),
    (16, 0.255, "18 SAE J1128 GPT, GXL, SXL, TXL"),
    (19, 0.455, "12 SAE J1128 GPT, GXL, SXL, TXL"),
    (12, 0.18, "0.3 mm² flexible hook-up and two-conductor wire"),
]


@pytest.mark.parametrize(("strands", "strand_mm", "label"), KNOWN)
def test_a_wire_is_known_by_its_strands(strands: int, strand_mm: float, label: str) -> None:
    matches = STRANDINGS[(STRANDINGS["strands"] == strands) & (STRANDINGS["strand_mm"].sub(strand_mm).abs() < 0.004)]
    assert label in set(matches["label"])


def test_the_metal_is_what_the_strands_have() -> None:
    computed = STRANDINGS["strands"] * np.pi / 4 * STRANDINGS["strand_mm"] ** 2
    assert np.allclose(computed, STRANDINGS["metal_mm2"], rtol=1e-4)


def test_each_stranding_stands_once_under_its_label() -> None:
    assert not STRANDINGS.duplicated(["label", "strands", "strand_mm"]).any()


def test_every_stranding_that_is_bought_is_known() -> None:
    """AWG wire's strandings have a table of their own, data/awg_strandings.csv."""
    bought = WIRES.dropna(subset=["strands"]).query("standard != 'ASTM B258'")
    for row in bought.to_dict("records"):
        same = STRANDINGS[(STRANDINGS["size"] == row["size"]) & (STRANDINGS["strands"] == row["strands"])]
        assert (same["strand_mm"].sub(row["strand_mm"]).abs() < 1e-3).any(), row["key"]
    bare = WIRES[WIRES["key"].str.startswith("awg_copper")]
    awg = tables.load("awg_strandings")
    for row in bare.to_dict("records"):
        matches = awg[(awg["strands"] == row["strands"]) & (awg["strand_awg"] == 30)]
        assert len(matches) == 1, row["key"]


def test_a_stranding_as_drawn_is_a_hundredth_under_the_largest() -> None:
    iso = STRANDINGS[STRANDINGS["standard"] == "ISO 6722-1"]
    for (_, _, _), rows in iso.groupby(["type", "size", "strands"]):
        if len(rows) > 1:
            assert rows["strand_mm"].max() - rows["strand_mm"].min() == pytest.approx(0.01, abs=1e-9)
