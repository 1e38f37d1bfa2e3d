"""The circuit of a practice problem, drawn: what feeds, the wire with the size and length of the text, what is fed."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence

from wirecalc.practice.problem import Problem

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
_RING = ((0, 0), (22, 0), (11, 19), (-11, 19), (-22, 0), (-11, -19), (11, -19))
_SIZE, _METRIC = re.compile(r"\d+(?:/0)? AWG"), re.compile(r"[\d.]+ mm²(?= \(\d+(?:/0)? AWG)")
_LENGTH = re.compile(r"\d+(?:\.\d+)? (?:ft|m)\b(?! in each)")
_LOADS = re.compile(r"(\d+(?:\.\d+)?) Ω (?:speaker|subwoofer)")


def drawing(problem: Problem, *, feet: bool = False, mm2: bool = False) -> str:
    """As HTML: a drawing that is read out as one sentence.

    Parameters
    ----------
    problem : Problem
        Whose numbers stand on it.
    feet, mm2 : bool
        As its text is shown.
    """
    text = problem.asked(feet=feet, metric_sizes=mm2)
    first, fed, ways = _ENDS[problem.kind.key]
    if "subwoofer" in text and fed == ("Speaker",):
        fed = ("Subwoofer",)
    load = _LOADS.search(text)
    written_sizes = (_METRIC if mm2 else _SIZE).findall(text)
    sizes = list(dict.fromkeys(written_sizes)) if problem.kind.key not in ("smallest", "plot") else []
    size = " and ".join(sizes[:2])
    lengths = _LENGTH.findall(text)
    of_strip = lengths.pop(0) if problem.kind.key == "strip" else ""  # its own, the first in the text
    length = lengths[0] if lengths else ""
    if not first:
        return _across(text)
    named = [f"{device}, {load[1]} Ω" if load and device in ("Speaker", "Subwoofer") else device for device in fed]
    read_out = f"{first} to {' and '.join(named)}" if named else f"{first} across a wire"
    read_out += "".join(
        f", {word}" for word in (size, " and ".join(lengths[:2]) if len(named) == 2 else length) if word
    )
    read_out += f", strip {of_strip}" if of_strip else ""
    parts = [_box(8, first), _wires(problem.kind.key, ways, bool(fed))]
    if len(named) == 2:  # along one lead
        parts += [_box(222, named[0]), _box(430, named[1]), *(_labels(size, under, at) for under, at in _gaps(lengths))]
    else:
        parts += [_labels(size, length, 280, 144), *(_box(430, name) for name in named)]
        parts += [_labels("", of_strip, 491, 56)] if of_strip else []
    return (
        f"<svg class='wc-drawn' viewBox='0 0 560 130' role='img' aria-label='{html.escape(read_out)}'>"
        f"{''.join(parts)}</svg>"
    )


def _box(x: int, words: str) -> str:
    name, _, rest = words.partition(", ")
    more = f"<text x='{x + 61}' y='84' class='wc-small'>{html.escape(rest)}</text>" if rest else ""
    return (
        f"<rect x='{x}' y='36' width='122' height='60' rx='6'/>"
        f"<text x='{x + 61}' y='{64 if rest else 71}'>{html.escape(name)}</text>{more}"
    )


def _wires(kind: str, ways: int, ends: bool) -> str:
    """Out and back, or one with the body as its return; doubled where conductors lie side by side."""
    levels = {1: (66,), 2: (52, 80)}[ways]
    lines = "".join(f"<path d='M130 {y}H430'/>" for y in levels)
    if kind in ("parallel", "unlike"):
        lines += "".join(f"<path d='M130 {y}h12v-6h276v6h12' class='wc-beside'/>" for y in levels)
    if kind == "fuse":
        lines += "<rect x='196' y='56' width='56' height='20' rx='10' class='wc-fused'/><text x='224' y='48'>?</text>"
    if not ends:  # a meter holds both ends of one wire
        return "<path d='M130 52H480c28 0 28 28 0 28H130'/>"
    return lines


def _gaps(lengths: Sequence[str]) -> list[tuple[str, int]]:
    """What stands under either half of a lead, and its middle."""
    return [(lengths[0], 176), (lengths[-1], 387)] if lengths else [("", 176), ("", 387)]


def _labels(size: str, length: str, middle: int, half: int = 40) -> str:
    over = f"<text x='{middle}' y='34'>{html.escape(size)}</text>" if size else ""
    if not length:
        return over
    left, right = middle - half, middle + half
    arrows = f"M{left} 108H{right}M{left + 8} 103l-8 5 8 5M{right - 8} 103l8 5-8 5"
    return f"{over}<path d='{arrows}' class='wc-lead'/><text x='{middle}' y='126'>{html.escape(length)}</text>"


def _across(text: str) -> str:
    """A wire cut across: how many strands, and how thick each is, as the text has it."""
    count, across = re.search(r"\d+(?= strands)", text), re.search(r"\d+(?:\.\d+)?(?= mm)", text)
    told = f"{count[0] if count else ''} strands, {across[0] if across else ''} mm across each"
    strands = "".join(f"<circle cx='{280 + x}' cy='{62 + y}' r='10' class='wc-strand'/>" for x, y in _RING)
    return (
        f"<svg class='wc-drawn' viewBox='0 0 560 130' role='img' aria-label='{html.escape(told)}'>"
        f"<circle cx='280' cy='62' r='46'/>{strands}<text x='280' y='126'>{html.escape(told)}</text></svg>"
    )
