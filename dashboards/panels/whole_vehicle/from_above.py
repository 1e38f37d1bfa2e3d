"""The vehicle seen from above, front up, as HTML: devices where they sit, wires where they run, each as thick as its
size and drawn by its verdict. Beside it what needs a hand, as cards, and everything else in a list to open.

Pure functions of a solved plan. The drawing is for eye and pointer; the cards and the list say the same to a keyboard
and to a reader."""

from __future__ import annotations

import html
import math
import textwrap
from collections.abc import Sequence

from dashboards.panels.whole_vehicle.circuits import SIGNS, size, worst_first
from dashboards.panels.whole_vehicle.desk import PlanAnswer
from dashboards.panels.whole_vehicle.spots import LONG, WIDE, Spot, spots
from wirecalc.vehicle.fields import AMPLIFIER, BATTERY, BLOCK, BODY, HEAD, LOUDSPEAKER, SUBWOOFER
from wirecalc.vehicle.model import SUPPLY
from wirecalc.vehicle.plan import Circuit

DEVICE = "device:"
"""Before a device's name where it is asked for; a wire's name stands alone."""
_LOOKS = {"fine": "wc-run-fine", "borderline": "wc-run-borderline", "too thin": "wc-run-thin"}
_FAR = 150  # from here on a wire goes along a sill
_LANES = 34  # that the wires of one sill share
_HALF = {AMPLIFIER: (24, 13), SUBWOOFER: (19, 19), LOUDSPEAKER: (13, 13), BATTERY: (19, 13), HEAD: (24, 11)}
_BOX = (15, 11)


def drawing(answer: PlanAnswer) -> str:
    """Devices where they sit, wires where they run.

    Parameters
    ----------
    answer : PlanAnswer
    """
    plan = answer.plan
    places = spots(plan.vehicle)
    wires = "".join(_wires(plan.circuits, places))
    devices = "".join(
        _device(device.name, device.kind, places[device.name])
        for device in plan.vehicle.devices
        if device.name in places
    )
    label = f"The vehicle from above: {len(places)} devices and {len(plan.circuits)} wires, which the list says too"
    return (
        f"<figure class='wc-vehicle'><svg role='img' aria-label='{label}' viewBox='0 0 {WIDE} {LONG}'>{_OUTLINE}"
        f"{wires}{devices}</svg><figcaption>Front up. A wire is as thick as its size: ✓ drawn through is fine, ≈ dashed"
        " is borderline, ✗ dotted breaks a limit. Press a wire or a device.</figcaption></figure>"
    )


_OUTLINE = (
    "<g class='wc-shell'><path d='M80 90Q84 20 200 16Q316 20 320 90V820Q316 880 200 884Q84 880 80 820Z'/>"
    "<path d='M96 235Q200 190 304 235L292 300Q200 272 108 300Z'/>"
    "<path d='M108 610Q200 632 292 610L300 660Q200 684 100 660Z'/>"
    "<path d='M80 380H96M80 500H96M80 620H96M304 380H320M304 500H320M304 620H320'/></g>"
)
"""Ours: shell, windscreen, rear window and the gaps of the doors."""


def _wires(circuits: Sequence[Circuit], places: dict[str, Spot]) -> list[str]:
    """Thick ones first, so that thin ones stay in sight; what is too thin last."""
    order = sorted(circuits, key=lambda circuit: (circuit.grade == "too thin", -circuit.conductor.area_m2))
    lanes = _lanes(circuits, places)
    drawn = []
    between: dict[tuple[str, str], int] = {}
    for circuit in order:
        wire = circuit.wire
        start, end = places.get(wire.start), places.get(wire.end)
        if start is None and end is None:
            continue
        plates = ""
        if start is None or end is None:
            path, plates = _to_body(start or end)
        elif wire.name in lanes:
            path = _along(start, end, lanes[wire.name])
        else:
            ends = (min(wire.start, wire.end), max(wire.start, wire.end))
            between[ends] = between.get(ends, 0) + 1
            path = _straight(start, end, between[ends])
        width = 1.2 + 900 * math.sqrt(circuit.conductor.area_m2 * wire.parallel)
        title = f"{SIGNS[circuit.grade]} {wire.name}: {size(circuit)}, {circuit.standing}"
        drawn.append(
            f'<g data-ask="{html.escape(wire.name)}"><title>{html.escape(title)}</title>'
            f"<path class='wc-hit' d='{path}'/>"
            f"<path class='{_LOOKS[circuit.grade]}' d='{path}' stroke-width='{width:.1f}'/>{plates}</g>"
        )
    return drawn


def _lanes(circuits: Sequence[Circuit], places: dict[str, Spot]) -> dict[str, float]:
    """Where across the vehicle each wire runs that goes far: by the side that its bundle or its end names, otherwise
    the supply on the left and signals on the right, which is how they are kept apart."""
    far: dict[int, list[str]] = {-1: [], 1: []}
    for circuit in circuits:
        wire = circuit.wire
        start, end = places.get(wire.start), places.get(wire.end)
        if start is None or end is None or abs(start.y - end.y) < _FAR:
            continue
        words = wire.bundle.casefold().split()
        side = 1 if "right" in words else -1 if "left" in words else -1 if circuit.kind in SUPPLY else 1
        far[side].append(wire.name)
    lanes = {}
    for side, names in far.items():
        for place, name in enumerate(names):
            lanes[name] = WIDE / 2 + side * (106 - _LANES * (place + 0.5) / len(names))
    return lanes


def _along(start: Spot, end: Spot, lane: float) -> str:
    """Out to its lane, along it, and in again."""
    turn = max(-60.0, min(60.0, (end.y - start.y) / 2))
    out, back = f"{lane:.0f} {start.y:.0f}", f"{lane:.0f} {end.y:.0f}"
    return (
        f"M{start.x:.0f} {start.y:.0f}C{out} {out} {lane:.0f} {start.y + turn:.0f}"
        f"V{end.y - turn:.0f}C{back} {back} {end.x:.0f} {end.y:.0f}"
    )


def _straight(start: Spot, end: Spot, place: int) -> str:
    """With a bow, so that wires between the same two devices lie beside one another."""
    across, along = end.x - start.x, end.y - start.y
    reach = math.hypot(across, along) or 1.0
    bow = (place // 2) * (10 if place % 2 else -10)
    middle_x, middle_y = (start.x + end.x) / 2 - along / reach * bow, (start.y + end.y) / 2 + across / reach * bow
    return f"M{start.x:.0f} {start.y:.0f}Q{middle_x:.0f} {middle_y:.0f} {end.x:.0f} {end.y:.0f}"


def _to_body(at: Spot | None) -> tuple[str, str]:
    """A stub, and the sign of a ground at its end."""
    assert at is not None
    x, y = at.x + 34, at.y + 20
    sign = "".join(f"M{x - half:.0f} {y + down:.0f}h{2 * half}" for half, down in ((9, 0), (6, 4), (3, 8)))
    return f"M{at.x:.0f} {at.y:.0f}L{x:.0f} {y - 10:.0f}V{y:.0f}", f"<path class='wc-ground' d='{sign}'/>"


def _device(name: str, kind: str, at: Spot) -> str:
    half_x, half_y = _HALF.get(kind, _BOX)
    where = f"x='{at.x - half_x:.0f}' y='{at.y - half_y:.0f}' width='{2 * half_x}' height='{2 * half_y}'"
    inside = ""
    if kind in (LOUDSPEAKER, SUBWOOFER):
        shape = f"<circle cx='{at.x:.0f}' cy='{at.y:.0f}' r='{half_x}'/>"
        inside = f"<circle cx='{at.x:.0f}' cy='{at.y:.0f}' r='{half_x / 2.4:.0f}'/>"
    else:
        shape = f"<rect {where} rx='4'/>"
    if kind == BATTERY:
        inside = f"<path d='M{at.x - 12:.0f} {at.y:.0f}h8m8 0h8m-4 -4v8'/>"
    elif kind == BLOCK:
        inside = "".join(f"<path d='M{at.x + over:.0f} {at.y - 6:.0f}v12'/>" for over in (-7, 0, 7))
    lines = textwrap.wrap(_short(name), 12)[:2]
    label = "".join(
        f"<text x='{at.x:.0f}' y='{at.y + half_y + 12 + 12 * down:.0f}'>{html.escape(line)}</text>"
        for down, line in enumerate(lines)
    )
    ask = html.escape(DEVICE + name)
    return f"<g class='wc-device' data-ask=\"{ask}\"><title>{html.escape(name)}</title>{shape}{inside}{label}</g>"


def _short(name: str) -> str:
    """What the picture shows need not be said."""
    words = [word for word in name.split() if word.casefold() not in (LOUDSPEAKER, "speaker")]
    return " ".join(words) or name


def cards(answer: PlanAnswer) -> str:
    """What needs a hand, worst first, then all else in a list to open.

    Parameters
    ----------
    answer : PlanAnswer
    """
    circuits = answer.plan.circuits
    poor = sorted((circuit for circuit in circuits if circuit.grade != "fine"), key=worst_first)
    fine = [circuit for circuit in circuits if circuit.grade == "fine"]
    shown = "".join(_card(circuit) for circuit in poor)
    rows = "".join(f"<li>{_button(circuit)}</li>" for circuit in fine)
    many = f"{len(fine)} wire is fine" if len(fine) == 1 else f"{len(fine)} wires are fine"
    return f"{shown}<details class='wc-fine-ones'><summary>✓ {many}</summary><ul>{rows}</ul></details>"


def _card(circuit: Circuit) -> str:
    """What is wrong with one wire, and what helps."""
    look = "wc-borderline" if circuit.meets else "wc-too-thin"
    why = "".join(f"<p>{html.escape(text)}</p>" for text in (*circuit.broken, *circuit.close))
    hints = dict.fromkeys(
        limit.remedy
        for limit, grade in zip(circuit.verdict.limits, circuit.grades, strict=True)
        if grade != "fine" and limit.remedy
    )
    helps = f"<p>What helps: {html.escape('; '.join(hints))}.</p>" if hints else ""
    return f"<section class='wc-decision {look}'><h3>{_button(circuit)}</h3>{why}{helps}</section>"


def _button(circuit: Circuit) -> str:
    name = html.escape(circuit.wire.name)
    return (
        f"<button type='button' class='wc-of-wire' aria-haspopup='dialog' data-ask=\"{name}\">"
        f"{SIGNS[circuit.grade]} {name}: {html.escape(size(circuit))}</button>"
    )


def of_device(answer: PlanAnswer, name: str) -> str:
    """What is behind a device: its kind and its wires, as HTML.

    Parameters
    ----------
    answer : PlanAnswer
    name : str
        The device's.
    """
    own = [circuit for circuit in answer.plan.circuits if name in (circuit.wire.start, circuit.wire.end)]
    device = next((device for device in answer.plan.vehicle.devices if device.name == name), None)
    title = html.escape(name)
    if device is None:
        return f"<h2>{title}</h2><p>It is not in the plan that is shown.</p>"
    rows = "".join(
        f"<li>{SIGNS[circuit.grade]} {html.escape(circuit.wire.name)}: {html.escape(size(circuit))}, to "
        f"{html.escape(circuit.wire.end if circuit.wire.start == name else circuit.wire.start)}</li>"
        for circuit in own
    )
    kind = "" if device.kind == BODY else f"<p>{html.escape(device.kind)}</p>"
    note = f"<p>{html.escape(device.note)}</p>" if device.note else ""
    return f"<h2>{title}</h2>{kind}{note}<ul>{rows}</ul>"
