"""What a job asks: a number with its unit, or one of a few words; each with a default and what that stands for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TypeAlias

from wirecalc import units
from wirecalc.errors import InputError, check
from wirecalc.units_taken import dataclass, takes_units

Answer: TypeAlias = float | str
"""A number in the unit of its question's kind, or the key of an option."""
ACROSS_M, ACROSS_FT = 5.5, "18 ft"
"""From the dash to the boot, along a sill: a default for lengths, which everybody measures."""


@dataclass(frozen=True, kw_only=True)
class Number:
    """A quantity that is typed."""

    key: str
    label: str
    kind: units.QuantityKind
    start: float
    """Default, in the unit of `kind`."""
    help: str
    """What it is, and what the default stands for."""
    bare: str = ""
    """Spelling of the unit that a number without one is in."""
    low: float = 0.0
    high: float
    feet: str = ""
    """Of a length: the default where lengths are in feet."""

    def read(self, given: object, *, feet: bool = False) -> float:
        """The answer as a float.

        Parameters
        ----------
        given : str or float
            As typed; a float is in the unit of `kind` already.
        feet : bool
            A length without a unit is in feet.

        Returns
        -------
        float
            [unit of `kind`]

        Raises
        ------
        InputError
            If it cannot be read or is out of range.
        """
        if isinstance(given, float):
            check(self.label, given, self.kind.unit, low=self.low, high=self.high)
            return given
        return units.read(given, self.label, self.kind, low=self.low, high=self.high, bare=self._bare(feet))

    def with_unit(self, typed: str, *, feet: bool = False) -> str:
        """What was typed, with its unit where that was left out.

        Parameters
        ----------
        typed : str
            A text that `read` takes.
        feet : bool
            See `read`.

        Returns
        -------
        str
        """
        plain = typed.strip()
        return f"{plain} {self._bare(feet)}".rstrip() if not plain.strip("0123456789.,+ ") else plain

    def _bare(self, feet: bool) -> str:
        return "ft" if feet and self.feet else self.bare


@dataclass(frozen=True, kw_only=True)
class Pick:
    """One of a few."""

    key: str
    label: str
    options: Mapping[str, str] = field(hash=False)
    """Key -> what a person reads."""
    start: str
    """Key of the default."""
    help: str = ""

    def read(self, given: object) -> str:
        """The answer's key.

        Parameters
        ----------
        given : str
            Key or words of an option.

        Returns
        -------
        str

        Raises
        ------
        InputError
            If there is no such option.
        """
        for key, words in self.options.items():
            if given in (key, words):
                return key
        raise InputError(self.label, given, ", ".join(self.options.values()))


Question: TypeAlias = Number | Pick


@takes_units
def length(key: str, label: str, start_m: float, feet: str, help: str, *, high: float = 30.0) -> Number:
    """A length, one way.

    Parameters
    ----------
    key, label : str
    start_m : float
        Default. [m]
    feet : str
        The default where lengths are in feet.
    help : str
    high : float
        The most. [m]

    Returns
    -------
    Number
    """
    return Number(
        key=key, label=label, kind=units.LENGTH, start=start_m, feet=feet, help=help, bare="m", low=0.1, high=high
    )


@takes_units
def power(key: str, label: str, start_w: float, help: str, *, low: float = 1.0, high: float) -> Number:
    """A power.

    Parameters
    ----------
    key, label : str
    start_w, low, high : float
        Default and range. [W]
    help : str

    Returns
    -------
    Number
    """
    return Number(key=key, label=label, kind=units.POWER, start=start_w, help=help, bare="W", low=low, high=high)


@takes_units
def amps(key: str, label: str, start_a: float, help: str, *, low: float = 0.05, high: float = 100.0) -> Number:
    """A current.

    Parameters
    ----------
    key, label : str
    start_a, low, high : float
        Default and range. [A]
    help : str

    Returns
    -------
    Number
    """
    return Number(key=key, label=label, kind=units.CURRENT, start=start_a, help=help, bare="A", low=low, high=high)


@takes_units
def ohms(key: str, label: str, start_ohm: float, help: str) -> Number:
    """A speaker's impedance.

    Parameters
    ----------
    key, label : str
    start_ohm : float
        Default. [ohm]
    help : str

    Returns
    -------
    Number
    """
    return Number(
        key=key, label=label, kind=units.RESISTANCE, start=start_ohm, help=help, bare="ohm", low=1.0, high=16.0
    )
