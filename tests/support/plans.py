"""Small vehicles for tests."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from wirecalc.vehicle.fuse import FuseTree
from wirecalc.vehicle.limits import next_rating
from wirecalc.vehicle.model import Device, Vehicle, Wire
from wirecalc.vehicle.search.sizes import Found, round_of
from wirecalc.vehicle.search.task import Row, Task, smallest_ratings
from wirecalc.vehicle.stock import Stock

BATTERY = Device(name="Battery", kind="battery", voltage_v=12.6, inner_ohm=0.005)
BODY = Device(name="Body", kind="body", inner_ohm=0.0005)
BLOCK = Device(name="Block", kind="fuse block")


def amplifier(name: str = "Amplifier", power_w: float = 100.0, regulated: str = "no", **more: Any) -> Device:
    return Device(
        name=name, kind="amplifier", power_w=power_w, into_ohm=4.0, channels=4, amplifier_class="D",
        regulated=regulated, **more,
    )  # fmt: skip


def load(name: str = "Load", **draw: Any) -> Device:
    """That starts as it runs, if no more is said."""
    return Device(name=name, kind="other load", **{"start_ratio": 1.0} | draw)


def wire(name: str, start: str, end: str, length_m: float = 1.0, size: Any = ("AWG", 8.0), **more: Any) -> Wire:
    """Starts and ends as "device: terminal"; the terminal is plus if not said."""
    ends = []
    for text in (start, end):
        device, _, terminal = text.partition(": ")
        ends += [device, terminal or "plus"]
    more = {"zone": "table", "insulation": "pvc_105"} | more
    return Wire(
        name=name, start=ends[0], start_terminal=ends[1], end=ends[2], end_terminal=ends[3], length_m=length_m,
        size=size, **more,
    )  # fmt: skip


def vehicle(*parts: Device | Wire) -> Vehicle:
    """Of these, and a battery on the body; the body, if none is given, has next to no resistance."""
    devices = [part for part in parts if isinstance(part, Device)]
    kinds = {device.kind for device in devices}
    devices += [] if "battery" in kinds else [BATTERY]
    devices += [] if "body" in kinds else [replace(BODY, inner_ohm=1e-5)]
    return Vehicle(devices=tuple(devices), wires=tuple(part for part in parts if isinstance(part, Wire)))


def with_wire(whole: Vehicle, name: str, **change: Any) -> Vehicle:
    """The same with one wire changed."""
    return replace(
        whole, wires=tuple(replace(old, **change) if old.name == name else old for old in whole.wires)
    )  # fmt: skip


# --- the cheapest choice of a small plan by trying every size with every fuse: what searches are held against ---

SIZES = Stock(sizes=tuple(("AWG", float(n)) for n in (0, 4, 8, 10, 12, 14, 16)))
SPARE_V = 0.05  # what a fuse's own resistance may change a drop by
LARGER = 3  # ratings over the smallest that a fuse is tried with, and none at all


def random_plan(seed: int) -> Vehicle:
    """A shared feed with an amplifier and a load; every other plan has the amplifier's ground to choose too."""
    draw = np.random.default_rng(seed)
    main_m, one_m, two_m = draw.uniform(0.5, 6, 3)
    watts, draw_a = draw.uniform(20, 150), draw.uniform(3, 30)
    ground = wire("back", "Amplifier: minus", "Body: floor", float(draw.uniform(0.4, 2)), "choose")
    return vehicle(
        BLOCK, amplifier(power_w=float(watts)), load(draw_a=float(draw_a)),
        wire("main", "Battery", "Block", float(main_m), "choose", fuse="choose"),
        wire("one", "Block: out 1", "Amplifier", float(one_m), "choose", fuse="choose"),
        wire("two", "Block: out 2", "Load", float(two_m), "choose", fuse="choose"),
        *((ground,) if seed % 2 else ()),
    )  # fmt: skip


def fuses(task: Task, row: Row, smallest: dict[str, float]) -> Iterator[dict[str, float]]:
    """Every way to fuse such wires: none, the smallest rating that carries the draw, or one of the next."""
    allowed = task.allowed_a(row)
    asking = [feed for feed in task.wiring.wires if feed.fuse == "choose"]
    offers: list[list[float | None]] = []
    for feed in asking:
        most, own = allowed[task.wiring.places[feed.name]], [smallest[feed.name]]
        for _ in range(LARGER):
            own.append(next_rating(task.vehicle, feed, own[-1] * 1.001))
        offers.append([None, *(rating for rating in own if rating <= most)])
    for ratings in itertools.product(*offers):
        yield {feed.name: rating for feed, rating in zip(asking, ratings, strict=True) if rating is not None}


def stands(task: Task, row: Row, fuses_a: dict[str, float]) -> bool:
    """Whether the solved network keeps every rule with it, and every wire its heat and the fuses before it."""
    current = round_of(task, fuses_a)
    if current.hopeless or FuseTree(task.wiring, fuses_a).unprotected(task.allowed_a(row)):
        return False
    supply = current.solved(row)
    if current.broken(supply) or any(np.array(row) < np.array(current.least(supply))):
        return False
    needed = {feed.name: rating for feed, rating in smallest_ratings(supply).items()}
    return all(rating >= needed[name] for name, rating in fuses_a.items())


def cheapest_of_all(task: Task, best: Found) -> tuple[float, Row, dict[str, float]]:
    """Cost, sizes and fuses of the cheapest choice that stands; `best` itself if nothing is cheaper."""
    task = task.warmed(round_of(task, best.fuses_a).solved(best.row))
    current = round_of(task, best.fuses_a)
    rows = itertools.product(*(range(open_wire.options.least, len(open_wire.worth)) for open_wire in task.open))
    for row in sorted((row for row in rows if task.cost(row) < best.cost * (1 - 1e-9)), key=task.cost):
        solved = current.solved(row)
        if any(answer.problem for answer in solved.answers):
            continue
        # what no fuse mends: far over a bound, or too thin for its own heat
        far = any(rule.value(solved)[rule.states].max() > rule.bound + SPARE_V for rule in current.rules)
        bare = task.least_places(solved, {})
        if far or any(at < low for at, low in zip(row, bare, strict=True)):
            continue
        smallest = {feed.name: rating for feed, rating in smallest_ratings(solved).items()}
        for each in fuses(task, row, smallest):
            if all(np.array(row) >= np.array(task.least_places(solved, each))) and stands(task, row, each):
                return task.cost(row), row, each
    return best.cost, best.row, dict(best.fuses_a)
