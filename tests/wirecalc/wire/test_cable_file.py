"""Cables of one's own as a CSV file: every cable of the table comes back, and every bad row is named."""

from __future__ import annotations

from dataclasses import replace

import pytest

from wirecalc import csv_text
from wirecalc.errors import FileFaults, InputError
from wirecalc.wire.cable_file import OWN_SOURCE, colours_of, key_of, own_cable, read_cables, write_cables
from wirecalc.wire.cable_types import CABLES, Core
from wirecalc.wire.conductor import awg, metric
from wirecalc.wire.cross_section import cross_section
from wirecalc.wire.insulation import INSULATIONS


def text_of(content: bytes) -> str:
    return csv_text.decoded(content)


def test_every_cable_of_the_table_comes_back() -> None:
    back = read_cables(text_of(write_cables(CABLES.values())))
    assert len(back) == len(CABLES)
    for cable, was in zip(back, CABLES.values(), strict=True):
        assert replace(cable, key=was.key, source=was.source, confidence=was.confidence) == was
        assert cable.key == key_of(was.name)
        assert cable.source == OWN_SOURCE
    assert read_cables(text_of(write_cables(back))) == back


def test_what_is_left_empty_is_filled() -> None:
    (van,) = read_cables("Cable;Conductor;Size;Pair\nVan;white;0,75 mm2;a\n;white/black;;a\n;Gray 2;18 AWG\n\n")
    assert [core.conductor.label for core in van.cores] == ["0.75 mm²", "0.75 mm²", "18 AWG"]
    assert [core.conductor for core in van.cores[1:]] == [metric(0.75), awg(18)]
    assert van.cores[2].colour == CABLES["speaker_9"].cores[2].colour
    assert (van.cores[1].colour, van.cores[1].stripe) == colours_of("white/black")
    assert [core.name for core in van.pairs["a"]] == ["white", "white/black"]
    assert van.insulation is INSULATIONS["pvc_60"]
    assert not van.screened
    section = cross_section(van)
    assert 0 <= van.outer_m - section.inner_m - 0.6e-3 < 2e-5  # the least, to the hundredth of a millimetre above


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("conductor,size\nwhite,18 AWG", ["row 1", "There is no cable"]),
        ("cable,conductor,size\n", ["a row for each conductor"]),
        (
            "cable,conductor,size\nVan,mauve,18 AWG\nVan,white,18 kg\nBus,red,16 AWG\nBus,red,16 AWG\n",
            ["Row 2, conductor", "mauve", "Row 3, size", "18 kg", "Row 4, Colours in “Bus”", "each colour once"],
        ),
        ("cable,conductor,size,pair\nVan,white,18 AWG,a\nVan,red,16 AWG,a", ["Row 2", "two conductors of one size"]),
        ("cable,conductor,size,way\nVan,white,18 AWG,up", ["Row 2, way", "up"]),
        ("cable,conductor,size,outer_mm\nVan,white,18 AWG,thick", ["Row 2, outer_mm", "millimetres"]),
        ("cable,conductor,size,jacket_mm\nVan,white,18 AWG,90", ["Row 2, jacket_mm", "0.1"]),
        ("cable,conductor,size,outer_mm\nVan,white,4 AWG,3", ["Row 2", "or more for these conductors"]),
        ("cable,conductor,size,insulation\nVan,white,18 AWG,silk", ["Row 2, insulation", "pvc_60"]),
        ("cable,conductor,size,screen\nVan,white,18 AWG,perhaps", ["Row 2, screen", "yes or no"]),
        ("cable,conductor,size\nVan,white,", ["Row 2, size"]),
        ("cable,conductor,size\n,white,18 AWG", ["Row 2, Cable", "a name"]),
        ("cable,conductor,size\nVan,white,18 AWG\nvan!,red,18 AWG", ["each name once"]),
        ("x" * 100_001, ["characters"]),
    ],
)
def test_every_bad_row_is_named(text: str, parts: list[str]) -> None:
    with pytest.raises(FileFaults) as fault:
        read_cables(text)
    for part in parts:
        assert part in str(fault.value)


def test_no_more_conductors_than_can_be_allocated() -> None:
    cores = [Core(name=f"white {at}", colour="#ffffff", conductor=awg(22)) for at in range(1, 26)]
    with pytest.raises(InputError, match="1 to 24"):
        own_cable("Loom", cores, INSULATIONS["pvc_60"])
    assert len(own_cable("Loom", cores[:24], INSULATIONS["pvc_60"], screened=True).cores) == 24
