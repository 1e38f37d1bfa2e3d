"""Wire as shops buy it, by the names of open standards: against published tables and against physics."""

from __future__ import annotations

import numpy as np
import pytest

from wirecalc import tables
from wirecalc.wire.conductor import METALS, awg, awg_area_m2
from wirecalc.wire.insulation import INSULATIONS

WIRES = tables.load("bought_conductors").set_index("key")
SAE = {"6": 6, "4": 4, "2": 2, "1": 1, "1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3}

# SAE size, circular mils: a public table of SAE beside AWG wire (18 to 4/0), read; a second one agrees from 6 to 4/0
SAE_CIRCULAR_MILS = {"6": 24538, "4": 37360, "2": 62450, "1": 77790, "1/0": 98980, "2/0": 125100, "3/0": 158600}
SAE_CIRCULAR_MILS |= {"4/0": 205500, "18": 1537, "16": 2336, "14": 3702, "12": 5833, "10": 9343, "8": 14810}
CIRCULAR_MIL_MM2 = np.pi / 4 * 0.0254**2

# Size, strands, strand mm, calculated area mm2, largest mohm/m at 20 degC: JIS C 3406 type AV; read
JIS_AV = [
    ("0.5 mm²", 7, 0.32, 0.5629, 32.7),
    ("0.85 mm²", 11, 0.32, 0.8846, 20.8),
    ("1.25 mm²", 16, 0.32, 1.287, 14.3),
    ("2 mm²", 26, 0.32, 2.091, 8.81),
    ("3 mm²", 41, 0.32, 3.297, 5.59),
    ("5 mm²", 65, 0.32, 5.228, 3.52),
    ("8 mm²", 50, 0.45, 7.952, 2.32),
    ("20 mm²", 41, 0.80, 20.61, 0.887),
    ("100 mm²", 217, 0.80, 109.1, 0.168),
    ("0.5f mm²", 20, 0.18, 0.5087, 36.7),
    ("2f mm²", 37, 0.26, 1.964, 9.50),
]

# Strands of one gauge in general-purpose primary wire: two public digests of SAE J1128; read
PRIMARY = {"20": (7, 28), "18": (16, 30), "16": (19, 29), "14": (19, 27), "12": (19, 25), "10": (19, 23), "8": (19, 21)}

# AWG, ohm per 1000 ft at 75 degC, uncoated and coated: NEC chapter 9 table 8, read in a textbook
NEC = [
    (18, 7.95, 8.45),
    (12, 1.98, 2.05),
    (8, 0.778, 0.809),
    (4, 0.308, 0.321),
    (0, 0.122, 0.127),
    (-3, 0.0608, 0.0626),
]


@pytest.mark.parametrize("size", SAE)
@pytest.mark.parametrize("kind", ["sgt", "sgx", "stx"])
def test_battery_cable_has_less_metal_than_its_number_says(kind: str, size: str) -> None:
    row = WIRES.loc[f"sae_{kind}_{size.replace('/', '_')}"]
    assert 0.88 < row["area_mm2"] / (awg_area_m2(SAE[size]) * 1e6) < 0.98
    assert row["area_mm2"] == pytest.approx(SAE_CIRCULAR_MILS[size] * CIRCULAR_MIL_MM2, rel=1e-4)
    assert (row["confidence"], row["outer_confidence"]) == ("read", "memory")


@pytest.mark.parametrize(("size", "strands", "strand_mm", "area_mm2", "mohm"), JIS_AV)
def test_jis_c_3406(size: str, strands: int, strand_mm: float, area_mm2: float, mohm: float) -> None:
    (row,) = WIRES[(WIRES["type"] == "AV") & (WIRES["size"] == size)].to_dict("records")
    assert (row["strands"], row["strand_mm"], row["max_mohm_per_m_20c"]) == (strands, strand_mm, mohm)
    assert row["area_mm2"] == pytest.approx(area_mm2, rel=1e-4)
    assert strands * np.pi / 4 * strand_mm**2 == pytest.approx(area_mm2, rel=1e-3)  # as the standard calculates it


@pytest.mark.parametrize("size", PRIMARY)
@pytest.mark.parametrize("kind", ["gpt", "gxl", "sxl", "txl", "twp"])
def test_primary_wire_is_made_of_strands_of_a_gauge(kind: str, size: str) -> None:
    strands, gauge = PRIMARY[size]
    row = WIRES.loc[f"sae_{kind}_{size}"]
    assert row["strands"] == strands
    if size != "20":
        assert row["area_mm2"] == pytest.approx(SAE_CIRCULAR_MILS[size] * CIRCULAR_MIL_MM2, rel=1e-4)
        assert 0.88 < row["area_mm2"] / (awg_area_m2(float(size)) * 1e6) < 0.96
    assert row["strand_mm"] == pytest.approx(0.127 * 92 ** ((36 - gauge) / 39), abs=1e-4)  # ASTM B258


@pytest.mark.parametrize(("number", "plain", "coated"), NEC)
def test_full_awg_wire_against_the_national_electrical_code(number: int, plain: float, coated: float) -> None:
    to_20c = 1 / (1 + 0.00393 * 55) / 0.3048
    label = f"{number}" if number > 0 else f"{1 - number}_0"
    for key, ohm_per_kft in (("copper", plain), ("tinned", coated)):
        row = WIRES.loc[f"awg_{key}_{label}"]
        assert row["max_mohm_per_m_20c"] == pytest.approx(ohm_per_kft * to_20c, rel=1e-3)
        assert row["area_mm2"] == pytest.approx(awg(number).area_m2 * 1e6, rel=1e-3)


def test_a_wire_s_strands_are_its_area() -> None:
    """SAE gives the least area, ISO the nominal one and the largest strand; other wire has what its strands have."""
    made = WIRES.dropna(subset=["strands"])
    ratio = made["strands"] * np.pi / 4 * made["strand_mm"] ** 2 / made["area_mm2"]
    bounds = {
        "SAE J1128": (1.0, 1.1),
        "ISO 6722-1": (1.0, 1.19),
        "ASTM B258": (0.97, 1.03),
        "JIS C 3406": (0.999, 1.001),
        "JASO D 611": (0.999, 1.001),
        "no standard": (0.999, 1.001),
    }
    assert set(made["standard"]) == set(bounds)
    for standard, (low, high) in bounds.items():
        assert ratio[made["standard"] == standard].between(low, high).all(), standard


def test_no_wire_is_said_to_conduct_better_than_its_metal() -> None:
    made = WIRES.dropna(subset=["strands", "max_mohm_per_m_20c"])
    metal_mm2 = made["strands"] * np.pi / 4 * made["strand_mm"] ** 2
    rho = made["metal"].map(lambda key: METALS[key].ohm_m_20c * 1e9)  # mohm mm2/m
    over = made["max_mohm_per_m_20c"] * metal_mm2 / rho
    iso = made["standard"] == "ISO 6722-1"  # its strands are the largest that it allows
    assert over[iso].between(1.0, 1.32).all()
    assert over[~iso].between(1.0, 1.15).all()


def test_thicker_wire_of_a_type_conducts_better_and_is_thicker_outside() -> None:
    assert not WIRES.duplicated(["standard", "type", "size"]).any()
    for key, rows in WIRES.groupby(["standard", "type"]):
        ordered = rows[~rows["size"].str.contains("f ")].sort_values("area_mm2")
        assert ordered["max_mohm_per_m_20c"].dropna().is_monotonic_decreasing, key
        assert ordered["outer_mm"].dropna().is_monotonic_increasing, key


def test_metals_and_insulations_are_those_of_their_tables() -> None:
    assert set(WIRES["metal"]) <= set(METALS)
    for row in WIRES.to_dict("records"):
        assert row["limit_c"] <= INSULATIONS[row["insulation"]].limit_c + 20  # one material, its grades


# Gauge as sold, mm2 of the full grade and of the thin one: a trade note on audio power wire; read
AUDIO_MM2 = {"1/0": (53.5, 44.87), "4": (21.1, 17.22), "8": (8.36, 6.96), "12": (3.31, 2.77), "16": (1.31, 1.11)}


@pytest.mark.parametrize("size", AUDIO_MM2)
def test_two_grades_of_audio_power_wire(size: str) -> None:
    for grade, area_mm2 in zip(("full", "thin"), AUDIO_MM2[size], strict=True):
        row = WIRES.loc[f"audio_{grade}_{size.replace('/', '_')}"]
        assert row["area_mm2"] == pytest.approx(area_mm2, rel=0.035)
    thin, full = (WIRES.loc[f"audio_{grade}_{size.replace('/', '_')}", "area_mm2"] for grade in ("thin", "full"))
    assert 0.82 < thin / full < 0.89


def test_limits_of_the_japanese_types() -> None:
    """JASO D 611, a public digest, read: AV, AVS, AVSS 80 °C; heat-resistant AVSSH 100 °C."""
    limits = WIRES.groupby("type")["limit_c"].unique()
    assert {key: limits[key].tolist() for key in ("AV", "AVS", "AVSS", "AVSSH")} == {
        "AV": [80],
        "AVS": [80],
        "AVSS": [80],
        "AVSSH": [100],
    }


def test_diameters_say_how_sure_they_are() -> None:
    known = WIRES["outer_mm"].notna()
    assert WIRES["outer_confidence"].notna().equals(known)


def test_metal_and_wall_fit_in_the_outer_diameter() -> None:
    made = WIRES.dropna(subset=["outer_mm"])
    solid_mm = 2 * np.sqrt(made["area_mm2"] / np.pi)
    assert (made["outer_mm"] > solid_mm * 1.1).all()
    assert (made["outer_mm"] < solid_mm * 1.6 + 3).all()
