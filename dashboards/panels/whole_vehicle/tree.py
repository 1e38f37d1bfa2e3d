"""The vehicle as a tree, as HTML: every supply wire a branch with its current and how the volts fall along it.

Two trees: feeds, from what gives to what draws, and returns, from the body to what comes back to it. A second wire to
a device, or a turn-on lead, is a branch of its own that ends there. A pure function of a solved plan.
"""

from __future__ import annotations

import html
import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from dashboards.panels.whole_vehicle.drawings.fall import Scale, fall
from wirecalc.vehicle.model import Wire
from wirecalc.vehicle.network import STATES
from wirecalc.vehicle.plan import Plan

STATE_NAMES = tuple(state.name for state in STATES)
STATE_KEYS = {state.name: f"{'on' if state.engine else 'off'}-{'full' if state.full else 'music'}" for state in STATES}
"""In the page's address."""


@dataclass(frozen=True)
class Branch:
    """One row: a wire and what is at its far end, or a root without a wire."""

    depth: int
    parent: int
    """Row of the device it comes from; -1 for a root."""
    wire: Wire | None
    device: str
    ends: bool
    """Nothing grows from it: the device has a place elsewhere."""


def branches(
    wires: Sequence[Wire], roots: Iterable[str], *, back: bool = False, leads: Collection[str] = ()
) -> list[Branch]:
    """Rows of a tree, each wire once.

    Parameters
    ----------
    wires : sequence of Wire
    roots : iterable of str
        Devices to begin with; those that no wire leads to come after.
    back : bool
        From each wire's end to its start: for returns.
    leads : collection of str
        Names of wires that no device hangs on, such as turn-on leads.
    """
    out: dict[str, list[Wire]] = {}
    for wire in wires:
        out.setdefault(wire.end if back else wire.start, []).append(wire)
    led_to = {wire.start if back else wire.end for wire in wires if wire.name not in leads}
    rows: list[Branch] = []
    done: set[str] = set()

    def grow(device: str) -> None:
        """Down from the last row, without recursion: a chain of wires may be long."""
        stack = [(wire, len(rows) - 1) for wire in reversed(out.get(device, []))]
        done.add(device)
        while stack:
            wire, parent = stack.pop()
            far = wire.start if back else wire.end
            ends = far in done or wire.name in leads
            rows.append(Branch(rows[parent].depth + 1, parent, wire, far, ends))
            if not ends:
                done.add(far)
                stack += [(next_wire, len(rows) - 1) for next_wire in reversed(out.get(far, []))]

    for device in dict.fromkeys([*roots, *(name for name in out if name not in led_to), *out]):
        if device in out and device not in done:
            rows.append(Branch(0, -1, None, device, ends=False))
            grow(device)
    return rows


def tree(plan: Plan, state: str) -> str:
    """Both trees in one state.

    Parameters
    ----------
    plan : Plan
    state : str
        One of `STATE_NAMES`.
    """
    row = STATE_NAMES.index(state)
    answer = plan.supply.answers[row]
    if answer.problem:
        return f"<p role='alert'>{html.escape(answer.problem)}</p>"
    wiring = plan.supply.wiring
    grounds = [wire for wire in wiring.wires if plan.vehicle.circuit(wire) == "ground"]
    feeds = [wire for wire in wiring.wires if plan.vehicle.circuit(wire) != "ground"]
    leads = {wire.name for wire in feeds if plan.vehicle.circuit(wire) in ("remote", "relay")}
    giving = [device.name for device in wiring.sources]
    giving = giving[::-1] if any(wire.start == giving[-1] for wire in feeds) else giving
    return (
        f"<h3>Feeds, {html.escape(state)}</h3>{_drawn(plan, row, branches(feeds, giving, leads=leads), back=False)}"
        f"<h3>Returns</h3>{_drawn(plan, row, branches(grounds, [wiring.body.name], back=True), back=True)}"
    )


def _drawn(plan: Plan, state: int, rows: Sequence[Branch], *, back: bool) -> str:
    broken = {circuit.wire.name for circuit in plan.circuits if not circuit.meets}
    place = plan.supply.wiring.places
    current_a = plan.supply.current_a[state]
    most_a = max((abs(float(current_a[place[row.wire.name]])) for row in rows if row.wire), default=1.0) or 1.0
    dashed = " class='wc-over' stroke-dasharray='7 4'"
    ends = {row.wire.name: _ends_v(plan, state, row.wire, back=back) for row in rows if row.wire}
    levels = [volts for pair in ends.values() for volts in pair]
    scale = Scale(min(levels, default=0.0), max(levels, default=0.0))
    deepest = max((row.depth for row in rows), default=0)
    lines: list[str] = []
    dashes: list[str] = []
    labels: list[str] = []
    for at, branch in enumerate(rows):
        volts = _volts(plan, state, branch, back=back)
        if branch.wire is None:
            labels.append(_label(branch.depth, at, f"<span><b>{html.escape(branch.device)}</b>{volts}</span>", ""))
            continue
        name = branch.wire.name
        amps = float(current_a[place[name]])
        drop = float(plan.supply.wire_v[state, place[name]])
        over = name in broken
        width = 1.5 + 8 * math.sqrt(abs(amps) / most_a)
        (dashes if over else lines).append(
            f"<path d='M{branch.depth - 1} {branch.parent + 0.72:g}V{at + 0.5:g}H{branch.depth}'"
            f" stroke-width='{width:.1f}'{dashed if over else ''}/>"
        )
        caption = f"{'✗ ' if over else ''}{_si(amps, 'A')}, {_si(drop, 'V')} lost"
        far = f"{html.escape(branch.device)}{volts}{_note(plan, branch)}"
        bar = fall(*ends[name], scale, levels=deepest - branch.depth, over=over)
        label = f"<b>{far}</b><small>{bar} {caption} <span class='wc-by'>{html.escape(name)}</span></small>"
        labels.append(_label(branch.depth, at, label, name))
    what = "over the battery’s minus, on the way back" if back else "over the battery’s minus, along the feeds"
    return (
        f"<p><small>{scale.words(f'volts {what}')}</small></p>"
        f"<div class='wc-tree'><div style='--rows: {len(rows)}; --levels: {deepest + 1}'>"
        f"<svg aria-hidden='true' viewBox='0 0 {deepest + 1} {len(rows)}' preserveAspectRatio='none'>"
        f"{''.join([*lines, *dashes])}</svg>"
        f"{''.join(labels)}</div></div>"
    )


def _ends_v(plan: Plan, state: int, wire: Wire, *, back: bool) -> tuple[float, float]:
    """Over the battery's minus, at the end nearer to the root and at the other. [V]"""
    wiring, node_v = plan.supply.wiring, plan.supply.node_v[state]
    start, end = (float(node_v[wiring.nodes[node]]) for node in wiring.ends(wire))
    return (end, start) if back else (start, end)


def _note(plan: Plan, branch: Branch) -> str:
    if branch.wire is not None and plan.vehicle.circuit(branch.wire) in ("remote", "relay"):
        return ", turn-on" if plan.vehicle.circuit(branch.wire) == "remote" else ", coil"
    return " (again)" if branch.ends else ""


def _label(depth: int, row: int, text: str, wire: str) -> str:
    where = f"style='--level: {depth}; --row: {row}'"
    if not wire:
        return f"<div class='wc-branch' {where}>{text}</div>"
    return (
        f"<button type='button' class='wc-branch' aria-haspopup='dialog' data-ask=\"{html.escape(wire)}\" {where}>"
        f"{text}</button>"
    )


def _volts(plan: Plan, state: int, branch: Branch, *, back: bool) -> str:
    """Of a device; on the way back how far its minus is over the battery's."""
    wiring, node_v = plan.supply.wiring, plan.supply.node_v[state]
    plus, minus = wiring.plus(branch.device), wiring.minus(branch.device)
    if branch.wire is not None:
        near, far = wiring.ends(branch.wire)
        plus, minus = (near, near) if back else (far, minus)
    if plus not in wiring.nodes:
        return ""
    if back:
        return f", {_si(float(node_v[wiring.nodes[plus]]), 'V')}"
    low = float(node_v[wiring.nodes[minus]]) if minus in wiring.nodes else 0.0
    return f", {float(node_v[wiring.nodes[plus]]) - low:.2f} V"


def _si(value: float, unit: str) -> str:
    if abs(value) < 1e-9:
        return f"0 {unit}"
    if abs(value) < 0.9995:
        return f"{value * 1e3:.{2 if abs(value) < 1e-3 else 3}g} m{unit}".replace("-", "−")
    return f"{value:.3g} {unit}".replace("-", "−")
