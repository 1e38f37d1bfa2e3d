"""The circuit of a practice problem, drawn: what feeds, the wire with the size and length of the text, what is fed."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Sequence

from wirecalc.practice.problem import Problem, in_feet, in_mm2

_ENDS: dict[str, tuple[str, tuple[str, ...], int]] = {
    "loop": ("Amplifier", ("Speaker",), 2),
    "diameter": ("Meter", (), 1),
    "parallel": ("Amplifier", ("Speaker",), 2),
    "unlike": ("Amplifier", ("Subwoofer",), 2),
    "temperature": ("Supply", ("Load",), 2),
    "drop": ("Supply", ("Cool box",), 2),
    "decibels": ("Amplifier", ("Speaker",), 2),
    "power": ("Amplifier", ("Speaker",), 2),
    "damping": ("Amplifier", ("Subwoofer",), 2),
    "coils": ("Amplifier", ("Subwoofers",), 2),
    "treble": ("Processor", ("Amplifier",), 1),
    "plot": ("Amplifier", ("Speaker",), 2),
    "smallest": ("Amplifier", ("Speaker",), 2),
    "fuse": ("Supply", ("Load",), 1),
    "relay": ("Supply", ("Relay coil",), 2),
    "budget": ("Head unit", ("Amplifiers", "Processor"), 1),
    "lead": ("Head unit", ("Amplifier", "Processor"), 1),
    "strip": ("Supply", ("Lamp strip",), 2),
    "device": ("Supply", ("Inverter",), 2),
    "label": ("Meter", (), 1),
    "strands": ("", (), 0),
}
"""Of each kind: what feeds, what is fed along the wire, and how many conductors the drawing has."""
_SIZE, _STOCK = re.compile(r"\d+(?:/0)? AWG"), "Sizes in stock"
_LENGTH = re.compile(r"\d+(?:\.\d+)? (?:ft|m)\b(?! in each)")
_LOADS = re.compile(r"(\d+(?:\.\d+)?) Ω (?:speaker|subwoofer)")
_DEVICE = re.compile(r"(?:The|An?) ([a-z ]+?) in ")


def drawing(problem: Problem, *, feet: bool = False, mm2: bool = False) -> str:
    """As HTML: a drawing that is read out as one sentence.

    Parameters
    ----------
    problem : Problem
        Whose numbers stand on it.
    feet, mm2 : bool
        As its text is shown.
    """
    key, text = problem.kind.key, problem.drawn.text  # in metres and AWG, where each number stands once
    first, fed, ways = _ENDS[key]
    if not first:
        return _across(text)
    if "subwoofer" in text and fed == ("Speaker",):
        fed = ("Subwoofer",)
    if key in ("fuse", "device") and (device := _DEVICE.match(text)):
        fed = (device[1].capitalize(),)
    load = _LOADS.search(text)
    sizes = [] if key in ("smallest", "plot") else _SIZE.findall(text.partition(_STOCK)[0])
    size = " and ".join(_first_said(in_mm2(each)) if mm2 else each for each in sizes)
    lengths = [_first_said(in_feet(each)) if feet else each for each in _LENGTH.findall(text)]
    of_strip = lengths.pop(0) if key == "strip" else ""  # its own, the first in the text
    length = lengths[0] if lengths else ""
    named = [f"{device}, {load[1]} Ω" if load and device in ("Speaker", "Subwoofer") else device for device in fed]
    read_out = f"{first} to {' and '.join(named)}" if named else f"{first} from end to end of a wire"
    read_out += "".join(
        f", {word}" for word in (size, " and ".join(lengths[:2]) if len(named) == 2 else length) if word
    )
    read_out += f", strip {of_strip}" if of_strip else ""
    if not named:
        parts = [_measured(first), _labels(size, length, 280, 258, 78)]
    elif len(named) == 2:  # along one lead
        ends = [_box(222, named[0]), _box(430, named[1])]
        parts = [_box(8, first), _wires(key, ways), *ends]
        parts += [_labels(size, under, at) for under, at in _gaps(lengths)]
    else:
        parts = [_box(8, first), _wires(key, ways), _labels(size, length, 280, 144), _box(430, named[0])]
        parts += [_labels("", of_strip, 491, 56)] if of_strip else []
    return (
        f"<svg class='wc-drawn' viewBox='0 0 560 130' role='img' aria-label='{html.escape(read_out)}'>"
        f"{''.join(parts)}</svg>"
    )


def _first_said(text: str) -> str:
    """Of "9.8 ft (3 m)" what stands before the brackets: a drawing has room for one."""
    return text.partition(" (")[0]


def _measured(meter: str) -> str:
    """One straight wire, and a meter whose leads reach both its ends: the arrow beneath is as long as the wire."""
    return (
        "<path d='M219 22H22V90M341 22H538V90' class='wc-lead'/><path d='M22 90H538'/>"
        "<rect x='219' y='2' width='122' height='40' rx='6'/>"
        f"<text x='280' y='27'>{html.escape(meter)}</text>"
    )


def _box(x: int, words: str) -> str:
    name, _, rest = words.partition(", ")
    more = f"<text x='{x + 61}' y='84' class='wc-small'>{html.escape(rest)}</text>" if rest else ""
    return (
        f"<rect x='{x}' y='36' width='122' height='60' rx='6'/>"
        f"<text x='{x + 61}' y='{64 if rest else 71}'>{html.escape(name)}</text>{more}"
    )


def _wires(kind: str, ways: int) -> str:
    """Out and back, or one with the body as its return; doubled where conductors lie side by side."""
    levels = {1: (66,), 2: (52, 80)}[ways]
    lines = "".join(f"<path d='M130 {y}H430'/>" for y in levels)
    if kind in ("parallel", "unlike"):
        lines += "".join(f"<path d='M130 {y}h12v-6h276v6h12' class='wc-beside'/>" for y in levels)
    if kind == "fuse":
        lines += "<rect x='196' y='56' width='56' height='20' rx='10' class='wc-fused'/><text x='224' y='48'>?</text>"
    return lines


def _gaps(lengths: Sequence[str]) -> list[tuple[str, int]]:
    """What stands under either half of a lead, and its middle."""
    return [(lengths[0], 176), (lengths[-1], 387)] if lengths else [("", 176), ("", 387)]


def _labels(size: str, length: str, middle: int, half: int = 40, high: int = 34) -> str:
    over = f"<text x='{middle}' y='{high}'>{html.escape(size)}</text>" if size else ""
    if not length:
        return over
    left, right = middle - half, middle + half
    arrows = f"M{left} 108H{right}M{left + 8} 103l-8 5 8 5M{right - 8} 103l8 5-8 5"
    return f"{over}<path d='{arrows}' class='wc-lead'/><text x='{middle}' y='126'>{html.escape(length)}</text>"


def _across(text: str) -> str:
    """A wire cut across: how many strands, and how thick each is, as the text has it."""
    count, across = re.search(r"\d+(?= strands)", text), re.search(r"\d+(?:\.\d+)?(?= mm)", text)
    told = f"{count[0] if count else ''} strands, {across[0] if across else ''} mm across each"
    circles = _packed(int(count[0])) if count else ""
    return (
        f"<svg class='wc-drawn' viewBox='0 0 560 130' role='img' aria-label='{html.escape(told)}'>"
        f"<circle cx='280' cy='56' r='50'/>{circles}<text x='280' y='126'>{html.escape(told)}</text></svg>"
    )


def _packed(count: int) -> str:
    """So many strands, as close as they lie: the places of a lattice that are nearest to the middle."""
    rows = range(-math.isqrt(count) - 1, math.isqrt(count) + 2)
    places = sorted(
        ((a + b / 2, b * math.sqrt(0.75)) for a in rows for b in rows), key=lambda at: round(math.hypot(*at), 6)
    )
    across = 46 / (math.hypot(*places[count - 1]) + 0.5)  # of one strand, so that all are inside
    dots = "".join(f"M{280 + across * x:.1f} {56 + across * y:.1f}h0" for x, y in places[:count])
    outer, inner = across * 0.98, across * 0.78
    return "".join(
        f"<path d='{dots}' class='{kind}' style='stroke-width:{width:.2f}'/>"
        for kind, width in (("wc-strand-edge", outer), ("wc-strand", inner))
    )
