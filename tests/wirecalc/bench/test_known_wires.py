"""The strandings that a wire may have, against published figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wirecalc import tables
from wirecalc.bench import known_wires
from wirecalc.bench.known_wires import SIZES
from wirecalc.wire.conductor import awg_area_m2

STRANDINGS = [(place, *stranding) for place, size in enumerate(SIZES) for stranding in known_wires.published(size)]

# FAA AC 43.13-1B table 11-3, circular mils of aircraft wire by AWG: read
CIRCULAR_MILS = {
    24: 475, 22: 755, 20: 1216, 18: 1900, 16: 2426, 14: 3831, 12: 5874, 10: 9354, 8: 16983, 6: 26818, 4: 42615,
    2: 66500, 1: 81700, 0: 104500, -1: 133000, -2: 166500, -3: 210900,
}  # fmt: skip


def test_aircraft_strandings_have_the_published_circular_mils() -> None:
    rows = tables.load("awg_strandings")
    rows = rows[rows["source"].str.contains("AS22759")]
    assert set(rows["awg"]) == set(CIRCULAR_MILS)
    mil2 = np.pi / 4 * 0.0254e-3**2
    for row in rows.to_dict("records"):
        cmil = row["strands"] * float(awg_area_m2(row["strand_awg"])) / mil2
        assert cmil == pytest.approx(CIRCULAR_MILS[row["awg"]], rel=0.013)  # strands are rounded to 0.1 mil there


def test_strandings_come_near_their_size() -> None:
    for place, strands, strand_m in STRANDINGS:
        ratio = strands * math.pi / 4 * strand_m**2 / known_wires.size_area_m2(SIZES[place])
        assert abs(ratio - 1) < 0.28, (SIZES[place], strands)  # AWG by 18 %; Japanese 0.3f mm² has 0.382
    for row in tables.load("iec60228_class5_strandings").to_dict("records"):
        area_mm2 = row["strands"] * math.pi / 4 * row["strand_mm"] ** 2
        assert area_mm2 == pytest.approx(row["area_mm2"], rel=0.025)


def test_a_stranding_that_stands_in_two_tables_is_one() -> None:
    """18 SAE is 16 strands of 30 AWG, and so is 18 AWG; 19 × 0.18 and 19 × 0.19 are both 0.5 mm² of ISO 6722-1."""
    assert [strands for strands, _ in known_wires.published(("AWG", 18.0))].count(16) == 1
    nineteen = [strand_m for strands, strand_m in known_wires.published(("mm2", 0.5)) if strands == 19]
    assert nineteen == pytest.approx([0.18e-3, 0.19e-3])
    assert known_wires.published(("thin grade", 4.0)) == ((1568, pytest.approx(0.12e-3)),)


def test_counts_of_unlisted_wire_are_likelier_where_machines_lay_them() -> None:
    counts = np.arange(1, known_wires.MOST_STRANDS + 1)
    share = known_wires.any_count(counts)
    assert share[0] == 0
    assert share.sum() == pytest.approx(1.0, abs=1e-3)
    assert share[19 - 1] > 5 * share[20 - 1]
    assert np.isfinite(known_wires.any_count([np.nan, 1e9])).sum() == 1


def test_no_strand_is_thicker_than_class_5_allows() -> None:
    """IEC 60228:2004 table 3, largest strand: 0.21 to 1 mm², 0.26 to 2.5, 0.31 to 6, 0.41 to 50, 0.51 above; memory."""
    limits = ((1, 0.21), (2.5, 0.26), (6, 0.31), (50, 0.41), (120, 0.51))
    for row in tables.load("iec60228_class5_strandings").to_dict("records"):
        assert row["strand_mm"] <= next(limit for area, limit in limits if row["area_mm2"] <= area)


def test_class_5_strandings_keep_the_largest_resistance() -> None:
    """IEC 60228:2004 table 3, in data/metric_conductors.csv: read."""
    rows = tables.load("metric_conductors").query("table == 'IEC 60228 class 5' and coating == 'plain'")
    most = rows.set_index("area_mm2")["max_ohm_per_km_20c"]
    for row in tables.load("iec60228_class5_strandings").to_dict("records"):
        area_m2 = row["strands"] * math.pi / 4 * (row["strand_mm"] * 1e-3) ** 2
        lay = 1.04 if row["strands"] > 50 else 1.02
        assert 0.88 < 1.7241e-5 * lay / area_m2 / most[row["area_mm2"]] < 1.005, row
