"""The house rules as a file: what a program reads of them, and the published figures among them."""

from __future__ import annotations

import math

import pytest

from wirecalc import tables
from wirecalc.units import read_standard_size
from wirecalc.wire.ampacity import allowable
from wirecalc.wire.conductor import STRANDINGS, awg
from wirecalc.wire.insulation import INSULATIONS, insulated
from wirecalc.wire.zones import ZONES

RULES = tables.load("house_rules").fillna({"case": "", "of": "", "unit": ""})
KINDS = set(tables.load("limits")["kind"]) | {
    "load", "relay or lamp", "sheathed pair", "sheathed cable", "ground of a battery",
}  # fmt: skip
CASES = {"at the battery", "behind a fuse or block", "short over the breaking capacity", "limit of taste"}
SIZE_RULES = ("least_size", "shelf_sizes", "sizes_on_order", "sizes_when_asked")


def sizes(value: str, unit: str) -> list[tuple[str, float]]:
    """ "18 1/0" and "AWG" -> [("AWG", 18.0), ("AWG", 0.0)]."""
    return [read_standard_size(f"{size} {unit}") for size in value.split()]


def thickness(size: tuple[str, float]) -> float:
    return size[1] if size[0] == "mm2" else -size[1]


def listed(rule: str, applies: str, unit: str) -> list[tuple[str, float]]:
    rows = RULES[(RULES["rule"] == rule) & (RULES["applies"] == applies) & (RULES["unit"] == unit)]
    return [size for value in rows["value"] for size in sizes(value, unit)]


def test_every_rule_is_for_a_kind_of_circuit_or_a_named_case() -> None:
    assert set(RULES["applies"]) <= KINDS | CASES


def test_no_rule_is_given_twice() -> None:
    assert not RULES.duplicated(["rule", "applies", "case", "above", "up_to", "unit"]).any()


@pytest.mark.parametrize("rule", SIZE_RULES)
def test_sizes_are_read_by_what_reads_entries(rule: str) -> None:
    rows = RULES[(RULES["rule"] == rule) & (RULES["value"] != "as sold")]
    assert set(rows["unit"]) == {"AWG", "mm2"}
    for row in rows.to_dict("records"):
        thicknesses = [thickness(size) for size in sizes(row["value"], row["unit"])]
        assert thicknesses == sorted(set(thicknesses)), "thin to thick, each once"


def test_ranges_follow_each_other_without_a_gap() -> None:
    ranged = RULES[RULES["above"].notna() | RULES["up_to"].notna()]
    ranged = ranged[ranged["case"] == ""]
    for key, rows in ranged.groupby(["rule", "applies", "unit"]):
        if len(rows) == 1:
            continue
        assert math.isnan(rows["above"].iloc[0]), key
        assert rows["above"].iloc[1:].tolist() == rows["up_to"].iloc[:-1].tolist(), key


def test_a_stronger_subwoofer_gets_thicker_wire() -> None:
    for unit in ("AWG", "mm2"):
        thicknesses = [thickness(size) for size in listed("least_size", "subwoofer", unit)]
        assert thicknesses == sorted(set(thicknesses))
        assert len(thicknesses) == 5


def test_every_least_size_is_on_its_shelf() -> None:
    for (applies, unit), _ in RULES[RULES["rule"] == "shelf_sizes"].groupby(["applies", "unit"]):
        shelf = set(listed("shelf_sizes", applies, unit))
        assert set(listed("least_size", applies, unit)) <= shelf, applies
        assert not shelf & set(listed("sizes_on_order", applies, unit))
        assert not shelf & set(listed("sizes_when_asked", applies, unit))


def test_families_are_those_that_have_ratings_for_the_range() -> None:
    families = tables.load("fuse_families").set_index("family")
    rows = RULES[RULES["rule"] == "fuse_family"]
    assert len(rows) == 8
    for row in rows.to_dict("records"):
        family = families.loc[row["value"]]
        assert row["up_to"] <= family["largest_a"]
        assert math.isnan(row["above"]) or row["above"] >= family["smallest_a"]


# rule, applies, case, value, unit, source, whether read
PUBLISHED = [
    ("drop_limit", "load", "critical", 3, "%", "ABYC E-11, as quoted in a public digest", "read"),
    ("drop_limit", "load", "not critical", 10, "%", "ABYC E-11, as quoted in a public digest", "read"),
    ("drop_limit", "battery to amplifier", "average of music", 0.5, "V", "FAA AC 43.13-1B table 11-6", "memory"),
    ("drop_limit", "battery to amplifier", "full power", 1.0, "V", "FAA AC 43.13-1B table 11-6", "memory"),
    ("matched_level", "amplifier to speaker", "", 0.2, "dB", "Indiana University, Introduction to acoustics", "read"),
    ("supply_v", "relay or lamp", "battery low", 10.5, "V", "ISO 16750-2:2010 4.5, code D", "read"),
]


@pytest.mark.parametrize(("rule", "applies", "case", "value", "unit", "source", "confidence"), PUBLISHED)
def test_published_figures(
    rule: str, applies: str, case: str, value: float, unit: str, source: str, confidence: str
) -> None:
    rows = RULES[(RULES["rule"] == rule) & (RULES["applies"] == applies) & (RULES["case"] == case)]
    (row,) = rows.to_dict("records")
    assert (float(row["value"]), row["unit"], row["confidence"]) == (value, unit, confidence), source


def test_a_band_is_for_taste_only() -> None:
    band = RULES[RULES["rule"] == "taste_band"].set_index("case")
    assert set(band["applies"]) == {"limit of taste"}
    assert float(band.at["fine", "value"]) == 1 < float(band.at["borderline", "value"])


def test_places_and_insulations_are_those_of_their_tables() -> None:
    zones, insulations = tables.load("zones")["zone"], tables.load("insulations")["insulation"]
    for passes in RULES.loc[RULES["rule"] == "places", "value"]:
        assert set(passes.split()[::2]) <= set(zones)
    assert set(RULES.loc[RULES["rule"] == "insulation", "value"]) <= set(insulations)


# AWG, amperes: what the trade fuses wire of 105 °C for when it passes the bay; common practice, no source
FUSED = [(8, 50), (4, 100), (2, 150), (0, 200)]


@pytest.mark.parametrize(("number", "fuse_a"), FUSED)
def test_the_bay_that_a_feed_passes_allows_what_the_trade_fuses(number: int, fuse_a: float) -> None:
    """A guard on the air of the place: far hotter, and no shop's wire would do; far cooler, and it protects nobody."""
    wires = insulated([awg(number, stranding=STRANDINGS["fine"])], INSULATIONS["pvc_105"])
    allowed = allowable(wires, ZONES["battery_side"].ambient_c).current_a
    assert fuse_a <= float(allowed[0]) < 1.35 * fuse_a


# Amplifier of class D in W, AWG of 105 °C insulation, least and largest fuse in A that the trade signs for its feed
# through the bay; common practice, no source
FEEDS = [(500, 8, 50, 80), (1000, 4, 80, 125), (2000, 0, 150, 250)]


@pytest.mark.parametrize(("watts", "number", "least_a", "most_a"), FEEDS)
def test_the_rules_together_give_the_fuse_that_the_trade_signs(
    watts: float, number: int, least_a: float, most_a: float
) -> None:
    """Supply, efficiency, loading, derating of the family and air of the place: one of them off, and no fuse fits."""
    feed = RULES[RULES["applies"] == "battery to amplifier"].set_index(["rule", "case"])["value"]
    efficiency = tables.load("amplifier_classes").set_index("class").at["D", "efficiency_at_rated"]
    draw_a = watts / efficiency / float(feed["supply_v", "engine running"])
    air_c = ZONES["battery_side"].ambient_c
    families = tables.load("fuse_families").set_index("family")
    at_battery = RULES[(RULES["rule"] == "fuse_family") & (RULES["applies"] == "at the battery")]
    row = at_battery[(at_battery["up_to"] >= draw_a) & ~(at_battery["above"] > draw_a)].iloc[0]
    family = families.loc[row["value"]]
    left = 1 - family["derate_percent_per_k"] / 100 * (air_c - family["derate_from_c"])
    needed_a = draw_a / (float(feed["fuse_loading", "full power"]) / 100) / left
    ratings = tables.load("fuse_ratings").query("family == @row['value']")["rating_a"]
    fuse_a = ratings[ratings >= needed_a].min()
    wires = insulated([awg(number, stranding=STRANDINGS["fine"])], INSULATIONS[feed["insulation", ""]])
    assert least_a <= fuse_a <= min(most_a, float(allowable(wires, air_c).current_a[0]))


def test_limits_of_taste_are_those_of_the_table_of_limits() -> None:
    """One bound, said in two files: a run without house rules is held to the same."""
    limits = tables.load("limits")
    rows = RULES[RULES["rule"] == "taste_limit"]
    assert len(rows) == 7
    for row in rows.to_dict("records"):
        limit = limits[(limits["kind"] == row["applies"]) & (limits["name"] == row["case"])].iloc[0]
        assert float(limit["bound"]) == float(row["value"])
        assert (limit["unit"] if isinstance(limit["unit"], str) else "") == row["unit"]
        assert (limit["source"], limit["confidence"]) == (row["source"], row["confidence"])


@pytest.mark.parametrize(("size", "kelvin"), [(8, 15), (14, 230)])
def test_what_the_starter_does_to_a_batterys_ground(size: int, kelvin: float) -> None:
    """200 A for 5 s without cooling: the reason of a rule holds by itself. Copper: IEC 60028, 3.45 MJ/(m3 K)."""
    warms_k = 200**2 * 5 * 1.724e-8 / (awg(size).area_m2 ** 2 * 3.45e6)
    assert warms_k == pytest.approx(kelvin, rel=0.05)
    reasons = RULES[RULES["applies"] == "ground of a battery"]["reason"]
    assert len(reasons) == 2
    assert all(f"{size} AWG by {kelvin} K" in reason for reason in reasons)
