"""What is chosen, ticked or pressed; a choice comes from the browser by its words: a press means what was on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable

_ESM = "export default { render: view => wirecalcChoice(view) };"


class _Control(Actable):
    _esm = _ESM
    kind = traitlets.Unicode().tag(sync=True)
    description = traitlets.Unicode().tag(sync=True)
    labels = traitlets.List(traitlets.Unicode()).tag(sync=True)
    chosen = traitlets.Int(-1).tag(sync=True)
    on = traitlets.Bool().tag(sync=True)
    ticked = traitlets.List(traitlets.Int()).tag(sync=True)
    disabled = traitlets.Bool().tag(sync=True)
    pictures = traitlets.List(traitlets.Unicode()).tag(sync=True)
    """SVG without words, over the words of each button of a bar; empty where there is none."""


class Choice(_Control):
    """One of several options.

    Parameters
    ----------
    options : sequence of (str, Any) or of str
        Words and values; of plain words each is its own value. May be set anew: a value that is still among them stays.
    value : Any
        The first option's if left out.
    description : str
        Its label.
    kind : str
        "list", or "bar" for buttons side by side.
    """

    options = traitlets.Any(())
    value = traitlets.Any()

    def __init__(self, options: Sequence[Any], value: Any = None, description: str = "", *, kind: str = "list") -> None:
        pairs = _pairs(options)
        if value is None and all(option is not None for _, option in pairs):
            value = pairs[0][1]
        super().__init__(options=options, value=value, description=description, kind=kind)
        self._write()
        self.observe(lambda _change: self._offer(), "options")
        self.observe(lambda _change: self._write(), "value")

    @property
    def pairs(self) -> list[tuple[str, Any]]:
        """Words and values."""
        return _pairs(self.options)

    @traitlets.validate("value")
    def _among(self, proposal: dict[str, Any]) -> Any:
        if not any(option == proposal["value"] for _, option in self.pairs):
            raise traitlets.TraitError(f"{proposal['value']!r} is not among {[words for words, _ in self.pairs]}")
        return proposal["value"]

    def _offer(self) -> None:
        if not any(option == self.value for _, option in self.pairs):
            self.value = self.pairs[0][1]
        self._write()

    def _write(self) -> None:
        with self.hold_sync():
            self.labels = [words for words, _ in self.pairs]
            self.chosen = next((i for i, (_, option) in enumerate(self.pairs) if option == self.value), -1)

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`; what is no longer offered is not taken."""
        words, at = what.get("label"), what.get("at")
        places = [i for i, label in enumerate(self.labels) if label == words]
        if places:
            self.value = self.pairs[at if at in places else places[0]][1]


def _pairs(options: Sequence[Any]) -> list[tuple[str, Any]]:
    return [option if isinstance(option, tuple) else (str(option), option) for option in options]


class Several(_Control):
    """Any number of several options: a box to tick for each.

    Parameters
    ----------
    options : sequence of (str, Any) or of str
        As of `Choice`.
    value : sequence of Any
        Those that are ticked; kept in the options' order.
    description : str
        Its label, for who does not see what stands around it.
    """

    value = traitlets.Tuple()

    def __init__(self, options: Sequence[Any], value: Sequence[Any] = (), description: str = "") -> None:
        self.pairs = _pairs(options)
        labels = [words for words, _ in self.pairs]
        super().__init__(labels=labels, value=tuple(value), description=description, kind="several")
        self._write()
        self.observe(lambda _change: self._write(), "value")

    @traitlets.validate("value")
    def _among(self, proposal: dict[str, Any]) -> tuple[Any, ...]:
        options = [option for _, option in self.pairs]
        if unknown := [option for option in proposal["value"] if option not in options]:
            raise traitlets.TraitError(f"{unknown} are not among {options}")
        return tuple(option for option in options if option in proposal["value"])

    def _write(self) -> None:
        self.ticked = [i for i, (_, option) in enumerate(self.pairs) if option in self.value]

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        option = dict(self.pairs).get(what.get("label", ""))
        if option is not None:
            others = [ticked for ticked in self.value if ticked != option]
            self.value = (*others, option) if what.get("on") else tuple(others)
            self._write()


class Switch(_Control):
    """A button that stays on."""

    value = traitlets.Bool()

    def __init__(self, description: str, value: bool = False) -> None:
        super().__init__(description=description, value=value, on=value, kind="switch")
        self.observe(lambda change: self.set_trait("on", change["new"]), "value")

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        self.value = bool(what.get("on"))


class Press(_Control):
    """A button.

    Parameters
    ----------
    description : str
        On it.
    act : callable of () -> None
        What a press does.
    """

    def __init__(self, description: str, act: Callable[[], object] = lambda: None) -> None:
        super().__init__(description=description, kind="press")
        self.act = act

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`; a press on words that the button has no longer does nothing."""
        if what.get("pressed") == self.description and not self.disabled:
            self.click()

    def click(self) -> None:
        """Do it."""
        self.act()
