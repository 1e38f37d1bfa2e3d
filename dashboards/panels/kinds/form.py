"""What a page asks for one kind of circuit, and the run that the answers make: what every kind's form has."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar

from dashboards.panels.acts.choices import Choice
from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import LengthEntry, PerLengthEntry
from dashboards.panels.controls.sizes import Size
from wirecalc import runs
from wirecalc.wire.cable import FOOT_M

if TYPE_CHECKING:
    from wirecalc.advice.house_rules import HouseRules
    from wirecalc.vehicle.model import Device

Kind = TypeVar("Kind", bound=runs.Run)
SUPPLY_STOPS = (10.5, 11.0, 11.5, 12.0, 12.6, 13.0, 13.5, 13.8, 14.4)


def awg(*numbers: float) -> tuple[Size, ...]:
    """Sizes by gauge number."""
    return tuple(("AWG", float(number)) for number in numbers)


def written(number: float | None, unit: str = "") -> str:
    """A number as it is typed, with more digits than the page shows."""
    assert number is not None, "a vehicle without fault gives it"
    return f"{number:.8g} {unit}".rstrip()


def written_length(length_m: float, *, feet: bool) -> str:
    """A length as it is typed, in the page's unit."""
    return written(length_m / FOOT_M, "ft") if feet else written(length_m, "m")


class Form(ABC, Generic[Kind]):
    """Entries of one kind of circuit.

    `asked` stand on the page, `more` behind the button; `start` is the first length (m), size and sizes drawn.
    """

    title: ClassVar[str]
    key: ClassVar[str]
    """In a page's address."""
    of_kind: type[Kind]
    """The class of its runs."""
    start: ClassVar[tuple[float, Size, tuple[Size, ...]]]
    tiles: ClassVar[tuple[tuple[str, str], ...]]
    """Measure and what is said beneath it."""

    def __init__(self) -> None:
        self.changed: Callable[[], None] = lambda: None
        self.asked: list[Entry[Any] | Choice] = []
        self.more: list[Entry[Any] | Choice] = []
        self._rules: HouseRules | None = None
        self._ruled: dict[str, float] = {}

    def by_rules(self, rules: HouseRules) -> dict[str, float]:
        """What house rules say for entries that nobody changed, by the entries' names; of most kinds nothing."""
        return {}

    def follow(self, rules: HouseRules) -> None:
        """Take other house rules: entries that stand where the last rules put them move along."""
        if rules is not self._rules:
            self._rules = rules
            self._move(self.by_rules(rules))

    def _move(self, ruled: dict[str, float]) -> None:
        """Put entries that stand where the rules put them last to what they say now."""
        for name, number in ruled.items():
            entry: Entry[float] = getattr(self, name)
            if entry.value == self._ruled.get(name, entry.value) and entry.value != number:
                entry.set(number)
        self._ruled = ruled

    def listen(self) -> None:
        """Pass on every change of an entry; called when all are made."""
        for entry in (*self.asked, *self.more):
            if isinstance(entry, Entry):
                entry.changed = lambda: self.changed()
            else:
                entry.observe(lambda _change: self.changed(), "value")

    def use_feet(self, feet: bool) -> None:
        """Lengths of its own in feet or in metres."""
        for entry in (*self.asked, *self.more):
            if isinstance(entry, (LengthEntry, PerLengthEntry)):
                entry.use_feet(feet)

    @property
    def fields(self) -> Fields:
        """Entries by their keys in a page's address: the names of their attributes here."""
        return named(**{key: entry for key, entry in vars(self).items() if isinstance(entry, (Entry, Choice))})

    @abstractmethod
    def run(self) -> Kind:
        """The run that the last good values make; `InputError` where they do not go together."""

    @classmethod
    @abstractmethod
    def linked(cls, run: Kind, start: Device, end: Device, channels: int) -> dict[str, str]:
        """A run of a plan as entries of this form.

        Parameters
        ----------
        run : Kind
        start, end : wirecalc.vehicle.model.Device
            What the wire joins.
        channels : int
            Of `start`, whose output feeds it.

        Returns
        -------
        dict of str to str
            By their keys in a page's address, as a person would type them.
        """

    def cautions(self) -> tuple[str, ...]:
        """What is wrong with the load that the entries describe, whatever the wire."""
        return self.run().load_cautions()
