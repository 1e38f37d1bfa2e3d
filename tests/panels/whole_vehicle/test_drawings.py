"""What is drawn of a plan beside its tables: the tree with its volts, and cables in the order of the plug."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from dashboards.panels.whole_vehicle import tree
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.drawings.plug import plug_picture


def test_the_tree_has_every_supply_wire_once(answer: PlanAnswer) -> None:
    plan = answer.plan
    for state_row, state in enumerate(tree.STATE_NAMES):
        page = tree.tree(plan, state)
        asked = re.findall(r'data-ask="([^"]+)"', page)
        assert sorted(asked) == sorted(wire.name for wire in plan.supply.wiring.wires)
        amps = plan.supply.current_a[state_row][plan.supply.wiring.places["Main feed"]]
        assert re.search(rf"</svg> {amps:.3g} A, [^<]+ lost <span class='wc-by'>Main feed</span>", page)
        bars = re.findall(r"class='wc-left' y='4' width='([0-9.]+)'.*?class='wc-lost(?: wc-over)?' x='([0-9.]+)'", page)
        assert len(bars) == len(asked)
        assert all(0 <= float(left) <= 100 for bar in bars for left in bar)
        drops = [plan.supply.wire_v[state_row][plan.supply.wiring.places[name]] for name in asked]
        for name, drop in zip(asked, drops, strict=True):  # the bar spans what the wire loses
            wire = next(candidate for candidate in plan.supply.wiring.wires if candidate.name == name)
            near, far = tree._ends_v(plan, state_row, wire, back=plan.vehicle.circuit(wire) == "ground")
            assert abs(near - far) == pytest.approx(abs(drop), rel=1e-6, abs=1e-9) or plan.vehicle.ways(wire) == 2
    assert re.search("✗ [^<]+ lost <span class='wc-by'>Drink cooler feed</span>", page)  # not by colour alone


def test_a_ring_of_feeds_is_drawn_too(answer: PlanAnswer) -> None:
    wires = list(answer.plan.vehicle.wires[:2])
    a, b = replace(wires[0], start="A", end="B", name="1"), replace(wires[1], start="B", end="A", name="2")
    rows = tree.branches([a, b], [])
    assert [(row.device, row.depth, row.ends) for row in rows] == [("A", 0, False), ("B", 1, False), ("A", 2, True)]


def test_conductors_stand_in_the_order_of_the_plug_with_a_line_to_what_they_feed(answer: PlanAnswer) -> None:
    ends = {wire.name: wire.end for wire in answer.plan.vehicle.wires}
    for allocation in answer.cables.values():
        root = ElementTree.fromstring(plug_picture(allocation, ends))
        words = [text.text for text in root.iter("text")]
        assert [word for word in words if word and word[0].isdigit()] == [
            f"{at} {core.name}" for at, core in enumerate(allocation.cable.cores, 1)
        ]
        used = [core for use in allocation.uses for _, core in use.cores]
        lines = [
            path for path in root.findall("path") if path.attrib["stroke-width"] == "4" and "C" in path.attrib["d"]
        ]
        assert sorted(path.attrib["stroke"] for path in lines) == sorted(core.colour for core in used)
        for use in allocation.uses:
            if use.carried:
                assert use.circuit.name in words
                assert ends[use.circuit.name] in words
        assert words.count("spare") == len(allocation.spare)
        for at, core in enumerate(allocation.cable.cores, 1):
            assert f"{at} {core.name} " in root.attrib["aria-label"]
