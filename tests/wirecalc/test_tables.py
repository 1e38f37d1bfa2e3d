from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import pytest

from wirecalc import tables

NAMES = sorted(path.stem for path in tables.FOLDER.glob("*.csv"))
WORDS = (
    "read",
    "computed",
    "memory",
    "common practice",
    "invented",
)  # how sure a row may be; more may follow

# What is physically possible, by table and column; a unit mixed up by a factor of 1000 falls outside.
RANGES: dict[str, dict[str, tuple[float, float]]] = {
    "metals": {
        "resistivity_ohm_m_20c": (1.5e-8, 2e-7),  # silver to steel
        "temperature_coefficient_per_k_20c": (0.003, 0.006),
        "density_kg_m3": (2600, 9000),
        "heat_capacity_j_per_m3_k": (1e6, 5e6),
        "prior": (0.001, 1),
        "resistivity_spread": (0.001, 0.2),
        "density_spread": (0.001, 0.2),
    },
    "strandings": {"lay_factor": (1.0, 1.06), "fill": (0.5, 1.0)},  # ropes are the longest and loosest
    "metric_conductors": {"area_mm2": (0.1, 300), "max_ohm_per_km_20c": (0.05, 200)},
    "house_rules": {"above": (0, 10_000), "up_to": (1, 10_000)},
    "hearing": {"loss_db_up_to": (0.01, math.inf)},
    "tolerances": {"spread": (1e-6, 100), "low": (-60, 1), "high": (1, 250)},
    "ampacity": {
        "awg": (-3, 40),
        **{f"a_{limit}c": (1, 600) for limit in (60, 75, 80, 90, 105, 125, 200)},
    },
    "ampacity_factors": {"at": (1, 300), "factor": (0.1, 1.0)},
    "amplifier_classes": {"efficiency_at_rated": (0.2, 1.0), "draw_exponent": (0.0, 1.0)},
    "awg_strandings": {"awg": (-3, 40), "strands": (2, 3000), "strand_awg": (18, 44)},
    "bought_conductors": {
        "area_mm2": (0.1, 130),
        "strands": (2, 5000),
        "strand_mm": (0.05, 0.81),
        "max_mohm_per_m_20c": (0.1, 200),
        "outer_mm": (0.8, 25),
        "limit_c": (50, 260),
    },
    "bought_strandings": {"strands": (2, 5000), "strand_mm": (0.05, 0.81), "metal_mm2": (0.1, 130)},
    "cable_capacitance": {"farad_per_m": (10e-12, 1e-9)},
    "circle_packings": {"circles": (1, 19), "ratio": (1, 5)},
    "demo_drivers": {
        "rated_ohm": (1, 16),
        "re_ohm": (0.5, 16),
        "le_henry": (0, 0.01),
        "semi_ohm_s_n": (0, 1),
        "semi_exponent": (0.3, 1),
        "fs_hz": (10, 3000),
        "qes": (0.1, 5),
        "qms": (0.5, 30),
        "vas_m3": (1e-6, 1),
    },
    "demo_devices": {
        "Channels": (1, 8),
        "Damping factor": (1, 10_000),
        "Capacity": (10, 400),
        "Start over draw": (1, 10),
        "Start lasts": (0, 10),
    },
    "fuse_families": {
        "rated_v": (12, 600),
        "breaking_a": (500, 200_000),
        "breaking_at_v": (12, 600),
        "smallest_a": (0.5, 500),
        "largest_a": (0.5, 500),
        "derate_from_c": (20, 25),
        "derate_percent_per_k": (0.05, 1.0),
    },
    "fuse_gates": {
        "above_a": (0, 600),
        "up_to_a": (0, 600),
        "over_rating": (1, 10),
        "least_s": (0, 400_000),
        "most_s": (0.01, 400_000),
    },
    "spools": {"length_m": (0.5, 500)},
    "wiring_faults": {"weight": (0.1, 100), "low": (0, 1000), "high": (0.5, 1e6)},
    "fuse_ratings": {"rating_a": (0.5, 500)},
    "iec60228_class5_strandings": {"area_mm2": (0.1, 300), "strands": (2, 3000), "strand_mm": (0.05, 0.51)},
    "insulation_dielectrics": {
        "relative_permittivity": (1.0, 8.0),
        "lowest": (1.0, 8.0),
        "highest": (1.0, 8.0),
    },
    "insulations": {
        "limit_c": (50, 260),
        "damage_c": (100, 350),
        "w_per_m_k": (0.05, 1.0),
        "emissivity": (0.1, 1.0),
        "j_per_m3_k": (5e5, 5e6),
    },
    "multicore_cables": {"outer_mm": (3, 40), "jacket_mm": (0.1, 3)},
    "lead_colours": {},
    "typical_devices": {"draw": (0.05, 1000), "inrush_ratio": (1, 20), "inrush_s": (0, 5)},
    "usual_terminals": {"from_w": (0, 5000)},
    "zones": {"ambient_c": (-40, 150)},
}
# Tables with cells that are empty on purpose: nothing is known, or there is no bound.
EMPTY_CELLS = {"wiring_faults", "bought_conductors", "demo_devices", "fuse_gates", "house_rules"}


@pytest.mark.parametrize("name", NAMES)
def test_every_row_says_where_it_is_from_and_how_sure_that_is(name: str) -> None:
    table = tables.load(name)
    assert len(table) > 0
    assert not table.duplicated().any()
    assert table["source"].str.strip().str.len().gt(5).all()
    assert table["confidence"].str.startswith(WORDS).all()


@pytest.mark.parametrize("name", NAMES)
def test_every_number_is_physically_possible(name: str) -> None:
    numbers = tables.load(name).select_dtypes("number")
    ranges = RANGES.get(name, {})
    assert set(numbers.columns) == set(ranges), f"say in RANGES what is possible in {name}"
    for column, (low, high) in ranges.items():
        cells = numbers[column].dropna() if name in EMPTY_CELLS else numbers[column]
        assert len(cells), f"{column}: a column with nothing in it"
        assert cells.between(low, high).all(), f"{column}: {low} to {high}"


def test_every_range_has_its_table() -> None:
    assert set(RANGES) <= set(NAMES)


def test_thicker_is_lower_in_every_metric_table() -> None:
    table = tables.load("metric_conductors")
    assert not table.duplicated(["table", "coating", "area_mm2"]).any()
    for _, rows in table.groupby(["table", "coating"]):
        assert rows.sort_values("area_mm2")["max_ohm_per_km_20c"].is_monotonic_decreasing
    by_coating = table.pivot(index=["table", "area_mm2"], columns="coating", values="max_ohm_per_km_20c")
    ratio = (by_coating["tinned"] / by_coating["plain"]).dropna()
    assert ratio.between(1.0, 1.04).all()  # a coat never helps; 1.03 is the largest of IEC 60228


def test_words_for_losses_rise_to_any_loss() -> None:
    losses = tables.load("hearing")["loss_db_up_to"]
    assert losses.is_monotonic_increasing
    assert math.isinf(losses.iloc[-1])


def test_a_copy_is_nobody_elses() -> None:
    mine = tables.load("metals")
    mine.loc[:, "density_kg_m3"] = 0
    assert tables.load("metals")["density_kg_m3"].gt(0).all()
    pd.testing.assert_frame_equal(tables.load("metals"), pd.read_csv(tables.FOLDER / "metals.csv"))


def test_unknown_table() -> None:
    with pytest.raises(FileNotFoundError, match=r"nothing\.csv"):
        tables.load("nothing")


@pytest.mark.parametrize("name", NAMES)
def test_rows_are_what_pandas_reads(name: str) -> None:
    read = pd.DataFrame(tables.rows(name))
    pd.testing.assert_frame_equal(read, tables.load(name))


@dataclass(frozen=True)
class Row:
    key: str
    ohm_m: float
    name: str
    source: str
    note: str = "none"


def test_a_row_as_a_dataclass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = ["metal,resistivity,name,unused,source", "lead,2.1e-7,,x,by hand", "tin,1.1e-7,tin,,by hand"]
    (tmp_path / "mine.csv").write_text("\n".join(lines), encoding="utf-8")
    (tmp_path / "twice.csv").write_text("\n".join([*lines, lines[1]]), encoding="utf-8")
    monkeypatch.setattr(tables, "FOLDER", tmp_path)
    lead = Row(key="lead", ohm_m=2.1e-7, name="", source="by hand")
    assert tables.records("mine", Row, ohm_m="resistivity")[0] == lead
    assert list(tables.keyed("mine", Row, ohm_m="resistivity")) == ["lead", "tin"]
    with pytest.raises(KeyError, match="resistance"):
        tables.records("mine", Row, ohm_m="resistance")
    with pytest.raises(ValueError, match="two rows"):
        tables.keyed("twice", Row, ohm_m="resistivity")
