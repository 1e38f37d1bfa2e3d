"""What is offered for a device that was just added, and that it makes a plan without fault."""

from __future__ import annotations

from dataclasses import replace

from wirecalc.jobs.blank import blank
from wirecalc.jobs.companions import added, offers
from wirecalc.vehicle.choose import choose_plan
from wirecalc.vehicle.file import demo_plan
from wirecalc.vehicle.text import PlanSheet, PlanText, parse


def with_devices(text: PlanText, *rows: dict[str, str]) -> PlanText:
    own = tuple(tuple(row.get(column, "") for column in text.devices.columns) for row in rows)
    return replace(text, devices=PlanSheet(columns=text.devices.columns, rows=(*text.devices.rows, *own)))


HEAD = {"Name": "Radio", "Kind": "head unit"}
AMP = {"Name": "Amp", "Kind": "amplifier", "Power": "75 W", "Channels": "4"}


def test_an_amplifier_is_offered_feed_fuse_ground_and_turn_on() -> None:
    text = with_devices(blank(), HEAD, AMP)
    assert [offer.title for offer in offers(text)] == [
        "Add feed with fuse, ground for Radio",
        "Add feed with fuse, ground, turn-on for Amp",
    ]
    assert parse(text).faults  # nothing feeds them yet
    for offer in offers(text):
        text = added(text, offer)
    assert offers(text) == ()
    parsed = parse(text)
    assert parsed.faults == ()
    assert parsed.vehicle is not None
    assert {wire.fuse for wire in parsed.vehicle.wires} == {"choose", "none"}
    assert choose_plan(parsed.vehicle).plan.meets


def test_a_device_on_the_supply_needs_a_feed_alone() -> None:
    (offer,) = offers(with_devices(blank(), {"Name": "Fan", "Kind": "other load", "Draw": "10 A"}))
    assert offer.what == "feed with fuse"


def test_the_demo_is_offered_nothing_and_a_new_amplifier_its_fuse_block() -> None:
    assert offers(demo_plan()) == ()
    (offer,) = offers(with_devices(demo_plan(), AMP))
    assert offer.wires[0]["start"] == "Dash fuse block"
    assert offer.wires[0]["start_terminal"] == "out 7"
    assert offer.wires[-1]["start"] == "Sound processor"
    assert parse(added(with_devices(demo_plan(), AMP), offer)).faults == ()


def test_unfinished_lists_are_offered_what_can_be_said() -> None:
    empty = PlanSheet(columns=("Remark",), rows=(("x",),))
    assert offers(PlanText(devices=empty, wires=empty)) == ()
    assert offers(PlanText(devices=with_devices(blank(), AMP).devices, wires=empty))[0].what == "feed with fuse, ground"
