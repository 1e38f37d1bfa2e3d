"""The tab My cable: what a cable on the shelf is worth for this run, beside doubling it and pulling separate wire."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping

import ipywidgets as w

from dashboards.panels.controls.address import Fields, named
from dashboards.panels.controls.cable_picture import cable_picture
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.fields import choice, optional
from dashboards.panels.controls.numbers import Numbers, mark, opening, to_html
from dashboards.panels.controls.table import scrolled
from dashboards.panels.one_run.decision import SIGNS
from dashboards.panels.one_run.request import RunRequest
from dashboards.panels.settings.own_cables import OwnCables
from wirecalc import units
from wirecalc.advice.held import FINE
from wirecalc.advice.one_cable import (
    MOST_CIRCUITS,
    TWIST,
    Laying,
    OneCable,
    first_reason,
    one_cable,
    takes_words,
)
from wirecalc.tables import shown_source
from wirecalc.wire.cautions import cautions
from wirecalc.wire.cross_section import cross_section
from wirecalc.workings.one_cable import of_cable

PRICE_HELP = "left empty: no cost is shown; in your currency, for one metre"


class CableTab:
    """See `dashboards.panels.one_run.request.Tab`. `compute` is handed in so that a test can count calls."""

    title = "My cable"

    def __init__(self, compute: Callable[..., OneCable] = one_cable, own: OwnCables | None = None) -> None:
        self.compute = compute
        self.own = own or OwnCables()
        self.changed: Callable[[], None] = lambda: None
        self.cable = choice("Cable", self.own.options, "speaker_9")
        self.own.changed, self.own.used = self._offer, lambda: (self.cable.value,)
        self.circuits: Entry[int] = Entry(
            "Circuits like this one",
            lambda text: int(units.read(text, "Circuits", units.COUNT, low=1, high=MOST_CIRCUITS)),
            str,
            1,
            help="default 1; all in this cable, as long as this run: 4 for four doors",
        )
        self.cable_price = optional(
            "Price of the cable per metre", units.NUMBER, None, low=0, high=1e5, help=PRICE_HELP
        )
        self.wire_price = optional(
            "Price of separate wire per metre",
            units.NUMBER,
            None,
            low=0,
            high=1e5,
            help=f"{PRICE_HELP} of one conductor",
        )
        self.cable.observe(lambda _change: self.changed(), "value")
        for entry in (self.circuits, self.cable_price, self.wire_price):
            entry.changed = lambda: self.changed()
        self.told, self.ways, self.shown = Numbers(answer=self.work), Numbers(answer=self.work), w.HTML()
        self._shown: tuple[RunRequest, OneCable] | None = None
        entries = w.Box([self.cable, self.circuits.view, self.cable_price.view, self.wire_price.view])
        entries.add_class("wc-fields")
        self.view = w.VBox([entries, self.own.view, self.told, self.ways, self.shown])

    def _offer(self) -> None:
        """Other cables to choose from; the one that is chosen may be another by the same name."""
        self.cable.options = self.own.options
        self.changed()

    @property
    def fields(self) -> Fields:
        """See `dashboards.panels.one_run.request.Tab`."""
        return named(which=self.cable, circuits=self.circuits, cable_price=self.cable_price, wire_price=self.wire_price)

    def show(self, situation: RunRequest) -> None:
        """See `Tab`."""
        answer = self.compute(
            situation.own_job,
            self.own.shelf[self.cable.value],
            self.circuits.value,
            cable_price=self.cable_price.value,
            wire_price=self.wire_price.value,
        )
        minded = "".join(
            f"<p class='wc-caution' role='note'>{html.escape(text)}</p>"
            for text in cautions(situation.work(parallel=answer.best.parallel if answer.best else 1))
        )
        self._shown = situation, answer
        self.told.html = f"<p class='wc-told' role='status'>{opening(answer.words(mark=mark))}</p>"
        self.ways.html = options(answer)
        self.shown.value = picture(answer) + minded

    def work(self, key: str) -> str:
        """Where a number comes from, as HTML; the key is that of `wirecalc.workings.one_cable.of_cable`."""
        assert self._shown is not None
        situation, answer = self._shown
        prices = (self.cable_price.value, self.wire_price.value)
        return to_html(of_cable(key, answer, prices=prices, feet=situation.feet))


def options(answer: OneCable) -> str:
    """The ways side by side, each with its verdict, room, warmth and cost, as HTML. Every number opens."""
    needed = "conductor" if answer.one_way else "pair"
    cards = [
        _card(answer, answer.single, "As it is", f"one {needed} each", "single"),
        _card(answer, answer.double, "Doubled", f"two {needed}s side by side each", "double"),
        _separate(answer),
    ]
    if answer.twist and answer.separate.pull is not None:
        cards.append(_twist(answer))
    return f"<section class='wc-options' aria-label='Side by side'>{''.join(cards)}</section>"


def _card(answer: OneCable, laying: Laying | None, title: str, how: str, name: str) -> str:
    if laying is None:
        return _drawn(title, how, "wc-too-thin", "✗", "The cable has none.", {})
    if not laying.room:
        return _drawn(title, how, "wc-too-thin", "✗", "The cable has too few conductors.", {})
    pick = laying.pick
    sign, look = SIGNS[pick.state] if pick is not None else ("→", "wc-no-gauge")
    if pick is None:
        text = "No gauge is judged on a signal."
    elif pick.state == FINE:
        near = pick.nearest.words(pick.at, mark=lambda text, key: mark(text, f"{name}:{key}")) if pick.nearest else ""
        text = f"Fine: {near}." if near else "Fine."
    else:
        text = f"{pick.state.capitalize()}: {first_reason(pick, name, mark)}."
    facts = {"Conductor": laying.conductor.label, "One cable takes": takes_words(laying, name, mark)}
    if laying.does:
        facts["Cables for all"] = mark(str(laying.cables), f"{name}:cables")
        facts["Spare in each"] = ", ".join(laying.spare) or "none"
    if pick is not None:
        facts["Warmest, all loaded"] = _warm(pick.full_c, answer.cable.insulation.limit_c, name)
    if laying.price is not None:
        facts["Cost"] = mark(f"{laying.price:.2f}", f"{name}:price")
    return _drawn(title, how, look, sign, text, facts)


def _separate(answer: OneCable) -> str:
    advice, job = answer.separate, answer.job
    how = "loose wire beside one another"
    if advice.pull is None:
        return _drawn("Separate wire", how, "wc-no-gauge", "→", answer.separate_words(mark), {})
    sign, look = SIGNS[advice.pull.state]
    conductors = advice.pull.candidate.parallel * job.route.ways * answer.circuits
    facts = {
        "Conductor": advice.pull.label,
        "Lengths to pull": mark(str(conductors), "separate:lengths"),
        "Warmest, alone": _warm(advice.pull.full_c, job.route.insulation.limit_c, "separate"),
    }
    if answer.separate_price is not None:
        facts["Cost"] = mark(f"{answer.separate_price:.2f}", "separate:price")
    return _drawn("Separate wire", how, look, sign, f"Pull {advice.pull.label}.", facts)


def _twist(answer: OneCable) -> str:
    pull = answer.separate.pull
    assert pull is not None
    lengths = mark(str(2 * pull.candidate.parallel * answer.circuits), "twist:lengths")
    facts = {"Conductor": pull.label, "Lengths to pull": lengths}
    if answer.twisted_price is not None:
        facts["Cost"] = mark(f"{answer.twisted_price:.2f}", "twist:price")
    return _drawn("Twist your own pair", "where few conductors are used", *SIGNS[pull.state][::-1], TWIST, facts)


def _drawn(title: str, how: str, look: str, sign: str, text: str, facts: Mapping[str, str]) -> str:
    rows = "".join(f"<dt>{html.escape(name)}</dt><dd>{opening(value)}</dd>" for name, value in facts.items())
    return (
        f"<div class='wc-option {look}'><h3>{html.escape(title)}</h3><small>{html.escape(how)}</small>"
        f"<p><span class='wc-sign' aria-hidden='true'>{sign}</span> {opening(text)}</p><dl>{rows}</dl></div>"
    )


def _warm(hot_c: float, limit_c: float, name: str) -> str:
    limit = f"limit {mark(f'{limit_c:g}', f'{name}:bound temperature_c')}"
    warm = f"{hot_c:.0f} °C" if hot_c < 250 else "250 °C"
    return f"{'' if hot_c < 250 else 'over '}{mark(warm, f'{name}:temperature_c')}, {limit}"


def picture(answer: OneCable) -> str:
    """The cable, cut across, with what each conductor does in the best way, as HTML."""
    best, cable = answer.best, answer.cable
    uses = {}
    for number, names in enumerate(best.used if best is not None else (), 1):
        for at, name in enumerate(names):
            way = "" if answer.one_way else "+" if at % 2 == 0 else "−"
            uses[name] = f"circuit {number} {way}".strip()
    drawn = scrolled("The cable, cut across", cable_picture(cross_section(cable), uses, under=True))
    return f"{drawn}<p><small>{html.escape(shown_source(cable.source, cable.confidence))}</small></p>"
