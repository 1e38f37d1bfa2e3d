"""The first tab: where devices and wires are drawn, what the cards say, and that they mend and open the right rows."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from dashboards.panels.whole_vehicle import page as plan_page
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.from_above import DEVICE, cards, drawing, of_device
from dashboards.panels.whole_vehicle.page import ABOVE, DEVICES, WIRES, WholeVehiclePanel
from dashboards.panels.whole_vehicle.spots import LONG, WIDE, spots
from tests.support.jobs import fixed, large, row
from wirecalc.vehicle.plan import solve_vehicle
from wirecalc.vehicle.text import PlanText, vehicle_of

THIN = "Right dash run"


def one_thin() -> PlanText:
    text = fixed()
    return replace(text, wires=text.wires.with_cell(row(text, THIN), "Size", "24 AWG"))


@pytest.fixture(scope="module")
def answer() -> PlanAnswer:
    return PlanAnswer(plan=solve_vehicle(vehicle_of(one_thin())), reasons={}, fuse_reasons={}, final=True)


@pytest.fixture(scope="module")
def panel() -> Iterator[WholeVehiclePanel]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan_page, "demo_plan", one_thin)
        made = WholeVehiclePanel()
        made.start.demo.click()
        yield made


def width(picture: str, name: str) -> float:
    match = re.search(rf'data-ask="{re.escape(html.escape(name))}".*?stroke-width=\'([\d.]+)\'', picture)
    assert match is not None, name
    return float(match[1])


def test_every_device_and_every_wire_is_drawn_once(answer: PlanAnswer) -> None:
    picture = drawing(answer)
    asked = [html.unescape(key) for key in re.findall(r'<g[^>]*data-ask="([^"]+)"', picture)]
    devices = [device.name for device in answer.plan.vehicle.devices if device.kind != "body"]
    assert sorted(asked) == sorted([*(DEVICE + name for name in devices), *(c.wire.name for c in answer.plan.circuits)])


def test_a_thicker_wire_is_drawn_thicker(answer: PlanAnswer) -> None:
    picture = drawing(answer)
    by_metal = sorted(answer.plan.circuits, key=lambda circuit: circuit.conductor.area_m2 * circuit.wire.parallel)
    widths = [width(picture, circuit.wire.name) for circuit in by_metal]
    assert widths == sorted(widths)
    assert widths[0] < widths[-1]


@pytest.mark.parametrize("text", [fixed(), large(300)])
def test_devices_lie_on_the_drawing_and_not_on_one_another(text: PlanText) -> None:
    places = spots(vehicle_of(text))
    assert len(set(places.values())) == len(places)
    assert all(0 < spot.x < WIDE and 0 < spot.y < LONG for spot in places.values())


@pytest.mark.parametrize(
    ("name", "side", "end"),
    [
        ("Left front door speaker", -1, 0), ("Right rear door speaker", 1, 0), ("Starter battery", 0, -1),
        ("Subwoofer amplifier", 0, 1), ("Head unit", 0, -1), ("Rear camera", 0, 1), ("Right dash speaker", 1, -1),
    ],
)  # fmt: skip
def test_a_device_is_where_its_name_says(name: str, side: int, end: int) -> None:
    spot = spots(vehicle_of(fixed()))[name]
    if side:
        assert side * (spot.x - WIDE / 2) > 90
    if end:
        assert end * (spot.y - LONG / 2) > 0


def test_what_is_too_thin_is_seen_by_its_dash_and_said_first(answer: PlanAnswer) -> None:
    thin = [circuit.wire.name for circuit in answer.plan.circuits if circuit.grade == "too thin"]
    assert THIN in thin
    assert drawing(answer).count("wc-run-thin") == len(thin)
    page_html = cards(answer)
    assert page_html.index(THIN) < page_html.index("are fine")
    assert "✗" in page_html.split("</section>")[0]
    assert "What helps:" in page_html
    for circuit in answer.plan.circuits:  # to a keyboard and a reader the list says them all
        assert f'data-ask="{html.escape(circuit.wire.name)}"' in page_html


def test_a_device_says_its_wires(answer: PlanAnswer) -> None:
    description = of_device(answer, "Front amplifier")
    for part in ("amplifier", "Front amplifier feed", THIN, "Right dash speaker"):
        assert part in description
    assert "not in the plan" in of_device(answer, "<b>")
    assert "<b>" not in of_device(answer, "<b>")


def test_a_press_has_what_is_too_thin_chosen_anew(panel: WholeVehiclePanel) -> None:
    assert panel.bar.value == ABOVE
    assert "wc-shut" not in panel.above.mend._dom_classes
    panel.above.mend.click()
    at = row(panel.desk.text, THIN)
    assert panel.desk.text.wires.column("Size")[at] == "choose"
    assert panel.answer is not None
    assert panel.answer.plan.circuit(THIN).meets
    assert "wc-shut" in panel.above.mend._dom_classes
    panel.undo.click()
    assert panel.desk.text.wires.column("Size")[at] == "24 AWG"  # one step


def test_what_was_opened_is_edited_in_its_list(panel: WholeVehiclePanel) -> None:
    panel.above._behind(THIN)
    assert panel.above.edit.description == f"Edit {THIN}"
    panel.above.edit.click()
    assert (panel.bar.value, panel.wires.grid.focus[:2]) == (WIRES, [row(panel.desk.text, THIN), "Size"])
    panel.bar.value = ABOVE
    panel.above._behind(DEVICE + "Head unit")
    panel.above.edit.click()
    assert panel.bar.value == DEVICES
