"""Wire by the names of open standards, and a bare gauge that is asked back."""

from __future__ import annotations

import pytest

from wirecalc.errors import InputError
from wirecalc.wire.bought import BOUGHT, asked_back, meanings, sizes_of, types
from wirecalc.wire.conductor import awg


# SAE J1127 and J1128 ask 5 to 12 % less metal than ASTM B258's formula gives: published values, copy not checked
@pytest.mark.parametrize("number", [18, 16, 14, 12, 10, 8, 6, 4, 2, 0])
def test_an_sae_size_has_less_metal_than_the_awg_number_says(number: int) -> None:
    label = "1/0" if number == 0 else f"{number}"
    full, less = meanings(f"{label} ga")
    assert full == awg(number)
    assert 0.86 <= less.area_m2 / full.area_m2 <= 0.96
    assert less.ohm_per_m_20c > full.ohm_per_m_20c


@pytest.mark.parametrize("text", ["4 ga", "4ga", "4 gauge", "14g", "1/0 ga"])
def test_a_bare_gauge_is_asked_back(text: str) -> None:
    assert "AWG or SAE?" in asked_back(text)


@pytest.mark.parametrize("text", ["4 AWG", "4 SAE", "2.5 mm2", "", "99 ga", "26 ga"])
def test_what_means_one_thing_is_not(text: str) -> None:
    assert asked_back(text) == ""


def test_every_type_has_its_sizes_in_order() -> None:
    for standard, name in types():
        found = sizes_of(standard, name)
        areas = [wire.conductor.area_m2 for wire in found]
        assert areas == sorted(areas)
        assert all(wire.insulation.limit_c <= wire.insulation.damage_c for wire in found)
    assert sum(len(sizes_of(*each)) for each in types()) == len(BOUGHT)
    with pytest.raises(InputError, match="Type of wire"):
        sizes_of("SAE J1128", "XYZ")


# ISO 6722-1: 7.6 mohm/m for 2.5 mm2, 100 degC for class B: published values, copy not checked
def test_a_thin_wall_wire_by_its_name() -> None:
    wire = BOUGHT["iso_flry_b_2_5"]
    assert wire.conductor.ohm_per_m_20c == pytest.approx(7.6e-3)
    assert wire.insulation.limit_c == 100
    assert wire.name == "2.5 mm² FLRY-B (ISO 6722-1)"
