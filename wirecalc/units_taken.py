"""Functions and value objects whose parameters say their unit take quantities, and text, for them.

The end of a parameter's name is its unit: ``length_m``, ``rated_ohm``, ``ambient_c``. A quantity, or what a person
writes ("18 ft 6 in"), becomes a float of that unit before the function or the object sees it; physics stays plain.
"""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Callable, Mapping
from functools import cache, wraps
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np

from wirecalc import units
from wirecalc.errors import NotUnderstood
from wirecalc.quantities import PLAIN, WrongUnit, numbers_in
from wirecalc.units.kinds import WITH_UNIT

F = TypeVar("F", bound=Callable[..., Any])
_NUMBERS = {f"{number}{none}" for number in ("float", "int", "ArrayLike", "Array") for none in ("", " | None")}

ENDS = {
    "ohm_per_m_20c": "ohm/m",
    "ohm_per_m": "ohm/m",
    "farad_per_m": "F/m",
    "henry_per_m": "H/m",
    "amps_per_m": "A/m",
    "w_per_m_k": "W/(m*K)",
    "j_per_m3_k": "J/(m**3*K)",
    "j_per_m_k": "J/(m*K)",
    "kg_per_m3": "kg/m**3",
    "per_k_20c": "1/K",
    "per_k": "1/K",
    "price_per_m": "",
    "pair_per_m": "",
    "per_m": "",
    "ohm_m_20c": "ohm*m",
    "ohm_20c": "ohm",
    "ohm": "ohm",
    "volt": "V",
    "henry": "H",
    "farad": "F",
    "hz": "Hz",
    "ah": "A*h",
    "mm2": "mm**2",
    "m2": "m**2",
    "m3": "m**3",
    "mm": "mm",
    "kg": "kg",
    "db": "dB",
    "a": "A",
    "c": "degC",
    "h": "h",
    "m": "m",
    "s": "s",
    "v": "V",
    "w": "W",
}
"""End of a parameter's name -> its unit as pint writes it; the longest end counts. A price has none."""
_KINDS = {kind.unit.replace("^", "**"): kind for kind in WITH_UNIT if kind.unit}
"""Unit -> what may be written for it."""


@cache
def unit_of(name: str) -> str:
    """The unit that a parameter's name says, as pint writes it; empty where it says none.

    Examples
    --------
    >>> unit_of("rated_ohm"), unit_of("ohm_per_m_20c"), unit_of("parallel")
    ('ohm', 'ohm/m', '')
    """
    parts = name.split("_")
    if len(parts) == 1 and len(name) < 2:  # "a" and "m" are names of things
        return ""
    return next((ENDS[end] for at in range(len(parts)) if (end := "_".join(parts[at:])) in ENDS), "")


def without_unit(name: str, value: Any, unit: str | None = None) -> Any:
    """The value of a parameter as floats in the unit that its name says.

    Parameters
    ----------
    name : str
        Of the parameter.
    value : object
        A quantity, text, an array or list of them, or anything else, which comes back as it is.
    unit : str, optional
        Instead of the one that the name says.

    Returns
    -------
    object

    Raises
    ------
    InputError
        If the quantity is of another dimension, or the text cannot be read in one way only.
    """
    unit = unit_of(name) if unit is None else unit
    if isinstance(value, str):
        return _read(name, value, unit)
    if isinstance(value, list | tuple) and any(isinstance(each, str) for each in value):
        return [without_unit(name, each, unit) for each in value]
    try:
        return numbers_in(value, unit)
    except WrongUnit as why:
        allowed = f"a number or a quantity in {unit}" if unit else "a plain number"
        raise NotUnderstood(name, f"{value}", allowed, f"Its unit is {why}.") from None


def _read(name: str, text: str, unit: str) -> Any:
    """What a person writes, where that can be read; other text is for the function to refuse, or to take."""
    kind = _KINDS.get(unit)
    if kind is None:
        return text
    return units.read(text, name, kind, bare=kind.unit)


def takes_units(function: F) -> F:
    """A function that takes quantities where the name of a parameter says a unit.

    Parameters
    ----------
    function : callable
        What it is given is passed on as it is, unless a quantity is among it. One that passes every number through
        `wirecalc.errors.check` has no need of it.

    Returns
    -------
    callable
        Of the same signature. It is compiled, as dataclasses compile theirs: a loop over arguments takes too long.
    """
    signature = inspect.signature(function)
    space: dict[str, Any] = {"function": function, "plain": PLAIN, "array": np.ndarray, "without_unit": without_unit}
    head, passed, kind = [], [], None
    for name, parameter in signature.parameters.items():
        if parameter.kind is parameter.KEYWORD_ONLY and kind not in (parameter.KEYWORD_ONLY, parameter.VAR_POSITIONAL):
            head.append("*")
        kind = parameter.kind
        star = "*" if kind is parameter.VAR_POSITIONAL else "**" if kind is parameter.VAR_KEYWORD else ""
        space[f"_{name}"] = parameter.default
        head.append(f"{star}{name}" + ("" if parameter.default is parameter.empty else f"=_{name}"))
        passed.append(f"{name}={name}" if kind is parameter.KEYWORD_ONLY else f"{star}{name}")
    names = watched({name: parameter.annotation for name, parameter in signature.parameters.items()})
    tests = [_plain(name, signature.parameters[name].annotation) for name in names]
    lines = [f"def door({', '.join(head)}):", f"    if not ({' and '.join(tests)}):"]
    lines += [f"        {name} = without_unit({name!r}, {name})" for name in names]
    lines += [f"    return function({', '.join(passed)})"]
    exec(compile("\n".join(lines), "<takes_units>", "exec"), space)
    return cast(F, wraps(function)(space["door"]))


if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(**options: Any) -> Callable[[type], type]:
        """As `dataclasses.dataclass`; its fields take quantities where their name says a unit.

        Parameters
        ----------
        **options
            As there.

        Returns
        -------
        callable
            The decorator.
        """
        return lambda kind: dataclasses.dataclass(**options)(_taking(kind))


def watched(parameters: Mapping[str, Any]) -> list[str]:
    """The parameters that may be given a quantity: their name says a unit, or they are annotated as numbers.

    Parameters
    ----------
    parameters : mapping of str to annotation
        As text.

    Returns
    -------
    list of str
    """
    return [name for name, of in parameters.items() if unit_of(name) or name in ENDS or of in _NUMBERS]


def _plain(value: str, annotation: object) -> str:
    """Source of a test that costs next to nothing: whether `value` is plain by its class alone."""
    number, array = f"{value}.__class__ in plain", f"{value}.__class__ is array"
    if annotation == "Array":  # what was computed is an array of floats
        return f"({array} or {number})"
    return f"({number} or {array} and {value}.dtype.kind != 'O')"


def _taking(kind: Any) -> Any:
    """The class with a first step after its making: its fields without units."""
    names = watched(inspect.get_annotations(kind))
    if not names:
        return kind
    after = next((vars(each)["__post_init__"] for each in kind.__mro__ if "__post_init__" in vars(each)), None)
    space = {
        "plain": PLAIN, "array": np.ndarray, "without_unit": without_unit, "put": object.__setattr__, "after": after,
    }  # fmt: skip
    tests = [_plain(f"self.{name}", inspect.get_annotations(kind)[name]) for name in names]
    lines = ["def __post_init__(self):", f"    if not ({' and '.join(tests)}):"]
    lines += [f"        put(self, {name!r}, without_unit({name!r}, self.{name}))" for name in names]
    lines += ["    after(self)"] if after else []
    exec(compile("\n".join(lines), "<dataclass>", "exec"), space)
    kind.__post_init__ = space["__post_init__"]
    return kind
