"""What the tables say was read: the published figures again, and no word of memory passed off as a source."""

from __future__ import annotations

import pytest

from wirecalc import tables

NAMES = sorted(path.stem for path in tables.FOLDER.glob("*.csv"))

# BS 7671:2008 table 4C1, bunched in air (IEC 60364-5-52 table B.52.17 has the same): circuits, factor; read
BUNCHED = {1: 1.0, 2: 0.8, 3: 0.7, 4: 0.65, 5: 0.6, 6: 0.57, 7: 0.54, 8: 0.52, 9: 0.5, 12: 0.45, 16: 0.41, 20: 0.38}

# 33 CFR 183.425 table 5 note 2 as reprinted from the US Coast Guard's compliance guideline: up to so many, factor; read
COAST_GUARD = {3: 0.7, 6: 0.6, 24: 0.5}


def factors(rule: str) -> dict[float, float]:
    rows = tables.load("ampacity_factors")
    rows = rows[rows["rule"].str.startswith(rule)]
    return dict(zip(rows["at"], rows["factor"], strict=True))


def test_grouping_of_circuits() -> None:
    assert factors("IEC 60364") == BUNCHED


def test_bundles_of_the_coast_guard() -> None:
    factor_by_count = factors("33 CFR 183.425")
    assert {at: factor_by_count[at] for at in COAST_GUARD} == COAST_GUARD
    assert factor_by_count[100] == 0.4  # 25 and above


def test_engine_space() -> None:
    """Read for 105 °C insulation only; the other columns are marked as remembered."""
    rows = tables.load("ampacity_factors").query("rule.str.startswith('engine space')")
    assert rows.set_index("at").loc[105, ["factor", "confidence"]].tolist() == [0.85, "read"]
    assert set(rows.loc[rows["at"] != 105, "confidence"]) == {"memory"}


def test_air_that_the_law_s_table_is_made_for() -> None:
    """Public digest of 33 CFR 183.425 for boat builders: 30 °C, and 50 °C in engine spaces; read."""
    zones = tables.load("zones").set_index("zone")["ambient_c"]
    assert (zones["table"], zones["engine_space"]) == (30, 50)


def test_colours_of_replacement_radios() -> None:
    """Two public digests, read: amplifiers are turned on by blue with a white stripe, plain blue is the aerial's."""
    leads = tables.load("lead_colours").fillna("").set_index("lead")
    assert leads.loc["remote turn-on", ["colour", "stripe"]].tolist() == ["blue", "white"]
    for channel, colour in {"front left": "white", "front right": "grey", "rear left": "green"}.items():
        assert leads.loc[f"{channel} −", ["colour", "stripe"]].tolist() == [colour, "black"]
    assert leads.loc["rear right +", "colour"] == "violet"


@pytest.mark.parametrize("name", NAMES)
def test_memory_is_no_source(name: str) -> None:
    """How sure a row is stands in its own column; its source names the published text."""
    table = tables.load(name)
    assert not table["source"].str.contains("memory").any()
    unchecked = table["source"].str.contains("copy not checked", regex=False)
    read = table.loc[unchecked & (table["confidence"] == "read"), "source"]
    assert read.str.contains(r"\bread\b").all(), "say which part was read"
