"""A small drawing for each kind of circuit, to be pressed: what is fed at the right, what feeds it at the left.

Drawn with the ink of the button, so that it follows light, dark and what is chosen.
"""

from __future__ import annotations

_AMPLIFIER = "<rect x='{x}' y='12' width='20' height='16' rx='2'/><path d='M{a} 8v4M{b} 8v4M{c} 8v4'/>"
_HEAD = "<rect x='2' y='12' width='24' height='16' rx='2'/><circle cx='8' cy='20' r='3'/><path d='M15 17h7M15 23h7'/>"
_BATTERY = (
    "<rect x='2' y='13' width='20' height='16' rx='1'/><path d='M5 13v-4h4v4M15 13v-4h4v4M5 19h4M15 19h4M17 17v4'/>"
)
_PAIR = "<path d='M{x} 16H{end}M{x} 24H{end}'/>"
_CONE = "<path d='M50 15h5l7-7v24l-7-7h-5z'/>"


def _amplifier(x: int) -> str:
    return _AMPLIFIER.format(x=x, a=x + 4, b=x + 10, c=x + 16)


def _pair(x: int, end: int) -> str:
    return _PAIR.format(x=x, end=end)


def _lamp(x: int) -> str:
    return f"<circle cx='{x}' cy='26' r='2'/><path d='M{x} 17v-6M{x - 3} 18l-3-5M{x + 3} 18l3-5'/>"


_DRAWN = {
    "speaker": _amplifier(2) + _pair(22, 50) + _CONE,
    "subwoofer": _amplifier(2)
    + _pair(22, 42)
    + "<rect x='42' y='6' width='28' height='28' rx='2'/>"
    "<circle cx='56' cy='20' r='10'/><circle cx='56' cy='20' r='4'/>",
    "line": _HEAD + "<path d='M26 20h6M40 20h10M32 17v6h5v-6z'/><circle cx='39' cy='20' r='2'/>" + _amplifier(50),
    "factory": _HEAD
    + "<path d='M26 17h2c3 0 3 6 6 6s3-6 6-6 3 6 6 6h2M26 23h2c3 0 3-6 6-6s3 6 6 6 3-6 6-6h2'/>"
    + "<rect x='48' y='8' width='22' height='24' rx='2'/><path d='M53 26v-12M59 26v-7M65 26v-10'/>",
    "turn-on": _HEAD + "<path d='M26 20h22' stroke-dasharray='4 3'/>"
    "<circle cx='58' cy='21' r='9'/><path d='M58 8v11'/>",
    "relay": "<path d='M2 27h14M30 27h10'/><rect x='16' y='20' width='14' height='14'/><path d='M16 34l14-14'/>"
    "<path d='M23 17v-6' stroke-dasharray='2 2'/><path d='M2 9h14l14-5M34 9h36'/><circle cx='32' cy='9' r='2'/>",
    "lamp": _BATTERY
    + "<path d='M22 24h8M22 28h8'/><rect x='30' y='22' width='40' height='8' rx='2'/>"
    + "".join(map(_lamp, (37, 50, 63))),
    "feed": _BATTERY + "<path d='M22 20h6M42 20h8'/><rect x='28' y='16' width='14' height='8' rx='4'/>"
    "<path d='M31 20h8'/>" + _amplifier(50),
    "device": _BATTERY + "<path d='M22 20h24'/><rect x='46' y='8' width='24' height='24' rx='3'/>"
    "<path d='M60 11l-6 10h7l-5 9'/>",
}  # fmt: skip


def picture(key: str) -> str:
    """The drawing of one kind, as SVG without words: the button's name says what it is.

    Parameters
    ----------
    key : str
        Of its form, see `Form.key`.
    """
    return (
        "<svg viewBox='0 0 72 40' aria-hidden='true' focusable='false' fill='none' stroke='currentColor'"
        f" stroke-width='2' stroke-linejoin='round' stroke-linecap='round'>{_DRAWN[key]}</svg>"
    )
