"""How the volts fall along a branch of the tree: a bar from what its near end has to what is left, on one scale."""

from __future__ import annotations

from dataclasses import dataclass

WIDE, TALL = 100.0, 14.0  # [CSS px]


@dataclass(frozen=True)
class Scale:
    """The same for every branch of a tree, so that one bar begins where that of the branch before it ends."""

    low_v: float
    high_v: float

    def place(self, volts: float) -> float:
        """From the left of a bar. [CSS px]"""
        span = self.high_v - self.low_v
        return WIDE * (min(max((volts - self.low_v) / span, 0.0), 1.0) if span > 0 else 1.0)

    def words(self, what: str) -> str:
        """What the bars say, and their ends."""
        ends = f"from {self.low_v:.2f} V at the left to {self.high_v:.2f} V at the right"
        return f"Bars: {what}, {ends}; the thick part is lost."


def fall(near_v: float, far_v: float, scale: Scale, *, levels: int = 0, over: bool = False) -> str:
    """One bar, as SVG text; the branch's own words have its numbers.

    Parameters
    ----------
    near_v, far_v : float
        At both ends of the wire. [V]
    scale : Scale
    levels : int
        Of the tree that are deeper than the branch: so far from its words, all bars stand under one another.
    over : bool
        The wire is too thin.
    """
    least, most = sorted((scale.place(near_v), scale.place(far_v)))
    lost = max(most - least, 1.5)  # seen, however little it is
    return (
        f"<svg class='wc-fall' aria-hidden='true' width='{WIDE:g}' height='{TALL:g}' style='--levels: {levels}'>"
        f"<rect class='wc-room' y='4' width='{WIDE:g}' height='6' rx='3'/>"
        f"<rect class='wc-left' y='4' width='{least:.1f}' height='6' rx='3'/>"
        f"<rect class='wc-lost{' wc-over' if over else ''}' x='{min(least, WIDE - lost):.1f}' y='1'"
        f" width='{lost:.1f}' height='12'/></svg>"
    )
