"""The tab To buy: wire cut from spools with the least bought, ends and fuses, and what it costs if prices are given."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Mapping, Sequence

import ipywidgets as w
import pandas as pd

from dashboards.panels.controls.address import named
from dashboards.panels.controls.entry import Entry
from dashboards.panels.controls.error_messages import guarded
from dashboards.panels.controls.fields import LengthEntry, quantity
from dashboards.panels.controls.files import Download, Upload
from dashboards.panels.controls.packed import Packed
from dashboards.panels.whole_vehicle.cables import words
from wirecalc import csv_text, units
from wirecalc.cutting.pieces import LONGEST_M, Spool
from wirecalc.cutting.shop import OnShelf, read_shelf, sold, written_shelf
from wirecalc.errors import InputError
from wirecalc.vehicle import buy
from wirecalc.vehicle.plan import Plan
from wirecalc.vehicle.pulls import pulls
from wirecalc.wire.multicore import Allocation

MOST_SPOOLS = 20
CUT_FOR_S = 1.0
LOOP_FT = 0.5  # of the service loop, where lengths are in feet
METRES = re.compile(r"(\d[\d.]*) m\b")
MIND = (
    "Ends and fuse holders are the usual ones for each device (common practice, no source): hold them against the"
    " devices’ own terminals before you order. A bundle that runs longer than planned needs longer wire: measure first."
)


class BuyTab:
    """What to buy for a plan."""

    def __init__(
        self,
        feet: Callable[[], bool] = lambda: False,
        heads: Callable[[], Sequence[tuple[str, str]]] = lambda: (),
    ) -> None:
        self.feet, self.heads = feet, heads
        self.changed: Callable[[], None] = lambda: None
        self._plan: Plan | None = None
        self._cables: Mapping[str, Allocation] = {}
        self._prices: dict[str, float] = {}
        self._file = b""
        self._list: buy.BuyList | None = None
        self.alert = w.HTML()
        self.slack = quantity(
            "Slack", units.RATIO, buy.SLACK, "%", low=0, high=1, help="added to each way, for corners and mistakes"
        )
        self.loop = LengthEntry(
            "Service loop", buy.SERVICE_LOOP_M, start_ft=LOOP_FT, low=0, high=10,
            help="added at each end, so that a device can be lifted out",
        )  # fmt: skip
        self.spools: Entry[tuple[float, ...]] = Entry(
            "Spool lengths", lambda text: read_spools(text, feet=self.feet()),
            lambda lengths: "; ".join(units.show(length, units.LENGTH, feet=self.feet()) for length in lengths), (),
            placeholder="as usually sold",
            help="of your supplier, separated by semicolons; empty: as each kind is usually sold (common practice, no"
            " source)",
        )  # fmt: skip
        self.held: Entry[tuple[OnShelf, ...]] = Entry(
            "On your shelf", read_shelf, written_shelf, (),
            help="is used first: speaker wire 16 AWG = 12 m + 30 ft; ferrule 18 AWG = 20; empty for nothing",
        )  # fmt: skip
        self.fields = named(slack=self.slack, loop=self.loop, spools=self.spools, held=self.held)
        self.packed = Packed(
            what="This price list",
            instead="Keep its file.",
            write=lambda: self._file,
            take=lambda content: self._take_prices("", content),
            saved=lambda: True,
        )
        for entry in (self.slack, self.loop, self.spools, self.held):
            entry.changed = self._again
        self.save = Download("Price list to fill in (.csv)", self._price_list)
        self.open = Upload("Open prices (.csv)", ".csv", self._take_prices)
        self.shown = w.HTML()
        entries = w.Box([self.slack.view, self.loop.view, self.spools.view, self.held.view])
        entries.add_class("wc-fields")
        files = w.Box([self.save, self.open])
        files.add_class("wc-files")
        self.view = w.VBox([entries, files, self.alert, self.shown])

    def show(self, plan: Plan, cables: Mapping[str, Allocation]) -> None:
        """Draw for another plan, whose cables are decided."""
        self._plan, self._cables = plan, cables
        self.draw()

    def list_of(self, plan: Plan, cables: Mapping[str, Allocation]) -> buy.BuyList | None:
        """The list to buy for a plan, which need not be shown yet; None where it cannot be cut from these spools."""
        self._list = None
        self.show(plan, cables)
        return self._list

    def use_feet(self, feet: bool) -> None:
        """Go by feet or by metres."""
        self.loop.use_feet(feet)
        self.spools.rewrite()

    def _again(self) -> None:
        if self._plan is not None:
            self.draw()

    @guarded
    def draw(self) -> None:
        """Cut and list."""
        assert self._plan is not None
        shopping_list = buy.buy(
            pulls(self._plan, tuple(self._cables.items())),
            [Spool(length_m=length) for length in self.spools.value] or sold("feet" if self.feet() else "metres"),
            slack=self.slack.value,
            service_loop_m=self.loop.value,
            prices=self._prices or None,
            held=self.held.value,
            seconds=CUT_FOR_S,
        )
        feet = self.feet()
        uses = "".join(f"<li>{html.escape(_in_feet(word) if feet else word)}</li>" for word in shopping_list.in_words())
        cuts = words(_in_one(shopping_list.cut_list(), feet), "In the order of cutting")
        self.shown.value = (
            words(_in_one(shopping_list.items.drop(columns="kind"), feet), "To buy")
            + f"<p class='wc-caution'>{html.escape(MIND)}</p>"
            f"<details><summary>How well the spools are used</summary><ul>{uses}</ul></details>"
            f"<details><summary>What to cut from which spool</summary>{cuts}</details>"
        )
        self._list, self.alert.value = shopping_list, ""

    def _price_list(self) -> tuple[str, bytes, str]:
        if self._list is None:
            raise InputError("Price list", "no list yet", "a plan whose wires can be cut")
        return "prices.csv", buy.price_list(self._list, self.heads()), "text/csv"

    def _take_prices(self, _name: str, content: bytes) -> None:
        self._prices = buy.read_prices(csv_text.decoded(content))
        self._file = content
        self._again()
        self.changed()


def _in_one(table: pd.DataFrame, feet: bool) -> pd.DataFrame:
    """Lengths in metres or in feet, as text; those in the names of spools too."""
    shown = {
        name: ["" if metres != metres else units.show(metres, units.LENGTH, feet=feet) for metres in table[name]]
        for name in table.columns
        if name.endswith("_m")
    }
    if feet and "item" in table:
        table = table.assign(item=[_in_feet(item) for item in table["item"]])
    table = table.assign(**shown).rename(columns={name: name.removesuffix("_m") for name in shown})
    return table.rename(columns={"spool_name": "which"})


def _in_feet(text: str) -> str:
    """Every length in a text, which `wirecalc.vehicle.buy` says in metres, in feet."""
    return METRES.sub(lambda match: units.show(float(match[1]), units.LENGTH, feet=True), text)


def read_spools(text: str, *, feet: bool = False) -> tuple[float, ...]:
    """Lengths parted by semicolons or commas with a blank after them; a number alone is in the page's unit. None if
    empty."""
    parts = [part.strip() for part in text.replace(", ", ";").split(";") if part.strip()]
    if not text.strip():
        return ()
    if not 1 <= len(parts) <= MOST_SPOOLS:
        raise InputError("Spool lengths", text, f"1 to {MOST_SPOOLS} lengths, as in 10 m; 25 m")
    bare = "ft" if feet else "m"
    lengths = (
        units.read(part, "Spool length", units.LENGTH, low=0, high=LONGEST_M, above=True, bare=bare) for part in parts
    )
    return tuple(sorted(set(lengths)))
