"""The drawing of a cable: to scale, every conductor told without colour, nothing loaded, no name can break it."""

from __future__ import annotations

import dataclasses
import math
import re
from itertools import combinations
from xml.etree import ElementTree

import pytest

from dashboards.panels.controls.cable_picture import cable_picture
from wirecalc.wire.cable_types import CABLES, CableType
from wirecalc.wire.cross_section import CrossSection, cross_section

NINE = CABLES["speaker_9"]


def conductors(svg: str) -> list[ElementTree.Element]:
    """The groups of the conductors in the jacket: those that have a title of their own."""
    return [group for group in ElementTree.fromstring(svg).findall("g") if group.find("title") is not None]


def disc(circle: ElementTree.Element) -> tuple[float, float, float]:
    x, y, radius = (float(circle.attrib[name]) for name in ("cx", "cy", "r"))
    return x, y, radius


@pytest.mark.parametrize("under", [False, True])
@pytest.mark.parametrize("cable", CABLES.values(), ids=CABLES)
def test_to_scale_and_apart(cable: CableType, under: bool) -> None:
    section = cross_section(cable)
    svg = cable_picture(section, under=under)
    jacket, inside = (disc(circle) for circle in ElementTree.fromstring(svg).findall("circle"))
    drawn = [disc(group.findall("circle")[0]) for group in conductors(svg)]
    assert len(drawn) == len(cable.cores)
    scale = 2 * jacket[2] / section.outer_m
    assert jacket[2] - inside[2] == pytest.approx(cable.jacket_m * scale, abs=1.1)  # as the row says, within a line
    for placed, (x, y, radius) in zip(section.placed, drawn, strict=True):
        assert (x - jacket[0], jacket[1] - y) == pytest.approx((placed.x_m * scale, placed.y_m * scale), abs=0.1)
        assert radius == pytest.approx(placed.outer_m / 2 * scale, abs=1.0)
        assert math.hypot(x - jacket[0], y - jacket[1]) + radius < jacket[2]
    for circle, other in combinations(drawn, 2):
        assert math.dist(circle[:2], other[:2]) > circle[2] + other[2]


def test_told_without_colour() -> None:
    uses = {"white": "front left +", "white/black": "front left −"}
    svg = cable_picture(cross_section(NINE), uses)
    root = ElementTree.fromstring(svg)
    assert root.attrib["role"] == "img"
    assert root.findtext("title") == "nine-conductor speaker cable, cut across"
    assert "1 white, 18 AWG: front left +; 2 white/black, 18 AWG: front left −; 3 grey" in str(root.findtext("desc"))
    assert str(root.findtext("desc")) in root.attrib["aria-label"]
    groups = conductors(svg)
    assert [group.findtext("text") for group in groups] == [str(number) for number in range(1, 10)]
    assert [group.findtext("title") for group in groups][1] == "2: white/black"
    rows = [group for group in root.findall("g") if group not in groups and group.find("title") is None]
    assert [row.findall("text")[0].text for row in rows] == [str(number) for number in range(1, 10)]
    assert rows[0].findall("text")[1].text == "white, 18 AWG: front left +"
    assert rows[8].findall("text")[1].text == "blue, 18 AWG: spare"
    assert "spare" not in cable_picture(cross_section(NINE))
    striped = [group for group in groups if group.findall("path")]
    assert [group.findtext("title") for group in striped] == [
        f"{number}: {core.name}" for number, core in enumerate(NINE.cores, 1) if core.stripe
    ]


@pytest.mark.parametrize("under", [False, True])
def test_words_stay_in_the_picture(under: bool) -> None:
    long = "a use that takes many words to tell"
    root = ElementTree.fromstring(cable_picture(cross_section(NINE), {"blue": long}, under=under))
    width, height = map(float, root.attrib["viewBox"].split()[2:])
    assert max(float(text.attrib["y"]) for text in root.iter("text")) + 8 < height
    for text in root.iter("text"):
        if text.attrib.get("text-anchor") != "middle":
            assert float(text.attrib["x"]) + 7.5 * len(str(text.text)) < width  # 7.5: half of 15 px a letter


def test_a_name_is_text_and_nothing_is_loaded() -> None:
    own = dataclasses.replace(NINE, name="<b>own</b>")
    svg = cable_picture(cross_section(own), {"blue": '"><script>alert(1)</script>'})
    root = ElementTree.fromstring(svg)  # well formed
    assert "script" not in {element.tag for element in root.iter()}
    assert root.findtext("title") == "<b>own</b>, cut across"
    assert not re.search(r"href|url\(|src=|//", svg)


def test_the_picture_is_a_pure_function() -> None:
    section: CrossSection = cross_section(NINE)
    assert cable_picture(section, {}) == cable_picture(section, {})
    assert cable_picture(section, {}).count("spare") > 9
