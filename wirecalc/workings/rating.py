"""Where the ratings of a bridged pair come from: each is twice that of one channel."""

from __future__ import annotations

from wirecalc.workings.formula import Book, Given, Rule, Working, worked

TWICE = {"rating_ohm": ("impedance", "Ω"), "rating_w": ("power", "W")}
"""What is asked, as `wirecalc.circuits.rating.for_load` marks it: name and unit."""


def twice(what: str, value: float) -> Working:
    """A rating, or the least load, of two channels that are bridged.

    Parameters
    ----------
    what : str
        Key of `TWICE`.
    value : float
        Of the two together, as `wirecalc.circuits.rating.bridged` has it. [ohm] or [W]

    Returns
    -------
    Working
        Ends at the rating, or least load, of one channel. [ohm] or [W]
    """
    name, unit = TWICE[what]
    book: Book = {
        "x": Given(f"{name} of one channel", value / 2, unit),
        "y": Rule(f"{name.capitalize()} of two channels, bridged", "2*x", unit,
                  "Each channel sees half of the load: twice the power into twice the impedance. circuits.rating"),
    }  # fmt: skip
    return worked(what, book, "y", value)
