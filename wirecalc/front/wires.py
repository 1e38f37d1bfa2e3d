"""Wire by the words of the trade: a size, a metal, an insulation, a place; an unknown word is told what there is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from wirecalc.errors import NotUnderstood
from wirecalc.wire.bought import read_size
from wirecalc.wire.conductor import METALS, STRANDINGS, Conductor, conductor

T = TypeVar("T")
SizesGiven = str | Conductor | Sequence[str | Conductor] | None


def known(field: str, key: str | T, table: Mapping[str, T]) -> T:
    """What a table has by its key or its name.

    Parameters
    ----------
    field : str
        For the message.
    key : str or a value of the table
        What is a value of the table already comes back as it is.
    table : mapping of str to object
        Such as `wirecalc.wire.zones.ZONES`.

    Returns
    -------
    object

    Raises
    ------
    InputError
        If there is none; it lists what there is.
    """
    if not isinstance(key, str):
        return key
    if key in table:
        return table[key]
    named = {str(getattr(entry, "name", "")).casefold(): entry for entry in table.values()}
    if key.casefold() in named:
        return named[key.casefold()]
    raise NotUnderstood(field, key, f"one of {', '.join(table)}")


def wire(size: Any, metal: str = "copper", stranding: str = "stranded") -> Conductor:
    """A conductor by its size as it is said or printed.

    Parameters
    ----------
    size : str, pint.Quantity or int
        "18 AWG", "1/0", "1.5 mm2", "12 SAE TXL"; a quantity is an area; a whole number a gauge.
    metal, stranding : str
        Keys of `wirecalc.metals()` and `wirecalc.strandings()`.

    Returns
    -------
    wirecalc.wire.conductor.Conductor

    Raises
    ------
    InputError
        If it cannot be read, or there is no such size, metal or stranding; it lists what there is.

    Examples
    --------
    >>> import wirecalc
    >>> round(wirecalc.wire("18 AWG").ohm_per_m_20c, 5), wirecalc.wire("1.5 mm2", metal="cca_15").label
    (0.02137, '1.5 mm²')
    """
    if isinstance(size, Conductor):
        return size
    of, strands = known("metal", metal, METALS), known("stranding", stranding, STRANDINGS)
    return conductor(*read_size(size, "size"), of, strands)


def wires(sizes: Any, metal: str = "copper", stranding: str = "stranded") -> tuple[Conductor, ...]:
    """One conductor or several.

    Parameters
    ----------
    sizes : str, Conductor or a sequence of them
        As `wire` takes them.
    metal, stranding : str
        Of all of them.

    Returns
    -------
    tuple of Conductor
    """
    listed = sizes if isinstance(sizes, list | tuple) else [sizes]
    return tuple(wire(size, metal, stranding) for size in listed)
