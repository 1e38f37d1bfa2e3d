"""The terminals of each kind of device: what a person may write for one, what it does, and what it may be wired to."""

from __future__ import annotations

import re

from wirecalc.vehicle.fields import (
    ALTERNATOR,
    AMPLIFIER,
    BATTERY,
    BLOCK,
    BODY,
    HEAD,
    LAMPS,
    LOUDSPEAKER,
    OTHER,
    PROCESSOR,
    RELAY,
    SUBWOOFER,
)

# What a terminal does -> what it may be wired to, and the circuit that this makes (see `Vehicle.circuit`).
JOINS: dict[str, tuple[str, ...]] = {
    "plus": ("plus", "coil plus", "contact in"),
    "contact out": ("plus",),
    "minus": ("minus", "point"),
    "coil minus": ("minus", "point"),
    "remote out": ("remote in", "coil plus"),
    "remote in": ("remote in", "coil plus"),
    "line out": ("line in",),
    "speaker": ("coil", "line in"),
}
# By kind: what a person may write for a terminal -> what the terminal does. "N" is a number; several: 1+2.
_POWER = {"plus": "plus", "minus": "minus"}
TERMINALS: dict[str, dict[str, str]] = {
    BATTERY: _POWER,
    ALTERNATOR: _POWER,
    BLOCK: {**_POWER, "out N": "plus"},
    BODY: {"any name": "point"},
    HEAD: {**_POWER, "remote": "remote out", "line out N": "line out", "speaker N": "speaker"},
    PROCESSOR: {
        **_POWER, "remote in": "remote in", "remote out": "remote out", "line in N": "line in",
        "line out N": "line out",
    },
    AMPLIFIER: {
        **_POWER, "remote": "remote in", "line in N": "line in", "speaker N": "speaker", "speaker N+N": "speaker",
    },
    LOUDSPEAKER: {"coil": "coil"},
    SUBWOOFER: {"coil": "coil"},
    RELAY: {"86": "coil plus", "85": "coil minus", "30": "contact in", "87": "contact out"},
    LAMPS: _POWER,
    OTHER: _POWER,
}  # fmt: skip
Roles = tuple[tuple[str, tuple[int, ...]], tuple[str, tuple[int, ...]]]
"""What the terminals at both ends of a wire do, and the numbers in their names."""
_SAME = {"+": "plus", "-": "minus", "−": "minus", "positive": "plus", "negative": "minus", "ground": "minus"}


def role(kind: str, terminal: str) -> tuple[str, tuple[int, ...]] | None:
    """What a terminal of a device of this kind does, and the numbers in its name.

    Parameters
    ----------
    kind : str
        Of the device; key of `TERMINALS`.
    terminal : str
        As a person writes it.

    Returns
    -------
    (str, tuple of int) or None
        None if a device of this kind has no such terminal.

    Examples
    --------
    >>> role("amplifier", "Speaker 1+2"), role("battery", "-"), role("battery", "remote")
    (('speaker', (1, 2)), ('minus', ()), None)
    """
    words = " ".join(terminal.casefold().split())
    words = _SAME.get(words, words)
    known = TERMINALS[kind]
    if "any name" in known:
        return known["any name"], ()
    numbers = () if words in known else tuple(int(digits[:4]) for digits in re.findall(r"[0-9]+", words))
    pattern = words if words in known else re.sub(r"[0-9]+", "N", words).replace(" + ", "+")
    pattern = pattern if pattern in known else f"{pattern} N"  # "line out" of a device that has only one
    return (known[pattern], numbers) if pattern in known else None
