"""Pages that a test has left, put back to how they open, for the next test: opening one takes three core-seconds.

A page goes on only if it then says, and has in its address, to the letter what it did when it had opened. Whatever
else a test has done to it, a kernel that died or a blind test that was begun, the next one opens it anew.
"""

from __future__ import annotations

import functools
import importlib
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

from playwright.sync_api import Error, Page

from dashboards.panels.controls.address import text
from tests.support.journeys import IDLE, SAID

PANELS = {
    "one_run": "OneRunPanel",
    "bench": "BenchPanel",
    "show_and_hear": "ShowAndHearPanel",
}
# beside what journeys compare: all that is in sight; what is open, at fault or going on; how many tabs were made; the
# address, which has what changed among entries that came later
STATE = f"""() => [({SAID})(), document.querySelector('#rendered_cells').innerText,
  document.querySelectorAll('dialog[open], :popover-open, [role=alert], .wc-notice, ' +
    '.wc-play[aria-pressed=true]').length, document.querySelectorAll('#rendered_cells [class*=wc-]').length,
  location.pathname + location.search + location.hash, JSON.stringify({{ ...localStorage }}), ({IDLE})()]"""
OPENED = ":is(.wc-keypad-toggle[aria-pressed=true], .wc-around > .widget-toggle-button.mod-active):visible"
# the Tab key begins there, too
TOP = """() => {
  const first = document.createElement('button');
  document.body.prepend(first);
  first.focus();
  first.remove();
  scrollTo(0, 0);
  localStorage.clear();
}"""
# as the address of a load comes to the kernel, see address.js and acts.js
COME = """async query => {
  for (const coming of Object.values(jupyterapp.widgetManager._models)) {
    const model = await coming;
    if (model.get('servers_own')) wirecalcActs.of(model, document.createElement('i')).act({ came: query, hash: '' });
  }
}"""


@functools.cache
def plain(name: str, kind: str = "") -> dict[str, str]:
    """Every entry that a page can have, each as it opens; or as a kind of circuit has it when it is first chosen."""
    module = importlib.import_module(f"dashboards.panels.{name}.page")
    panel = getattr(module, PANELS[name])()
    if kind:
        panel.address.take({"came": f"circuit={kind}"})
        return {key: text(entry) for key, entry in panel.fields().items()}
    own = {key: text(entry) for key, entry in panel.fields().items()}
    bar: Any = getattr(panel, "bar", None)
    for option in bar.options if bar else ():
        bar.value = option[1] if isinstance(option, tuple) else option
    return {key: text(entry) for key, entry in panel.fields().items()} | own


@dataclass
class Left:
    """A page that is open, and how it was when it had opened; what it asked for and complained of is the fixture's."""

    page: Page
    name: str
    state: list[Any]
    asked: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    kinds: set[str] = field(default_factory=set)
    """Of circuit that were chosen: each keeps its entries for when it is chosen again."""

    def went(self, address: str) -> None:
        """Listen to its addresses."""
        self.kinds.update(parse_qs(urlsplit(address).query).get("circuit", []))

    def back(self) -> bool:
        """Put it back to how it opened; whether it is."""
        with suppress(Error):
            self.page.emulate_media(media="null", color_scheme="null")
            self.page.set_viewport_size({"width": 1280, "height": 900})
            self.page.keyboard.press("Escape")
            now = self.page.evaluate("[location.pathname.split('/').at(-1), location.search, location.hash]")
            if now[0] != f"{self.name}.ipynb" or now[2]:
                return False
            inner = {key for key in parse_qs(now[1][1:]) if "." in key}
            query = {key: value for key, value in plain(self.name).items() if "." not in key or key in inner}
            for pressed in self.page.locator(OPENED).all():
                pressed.click(timeout=2000)
            self.page.evaluate(TOP)
            for kind in sorted(self.kinds):
                self.page.evaluate(COME, urlencode(plain(self.name, kind)))
            self.kinds.clear()
            self.page.evaluate(COME, urlencode(query))
            return self.same(2000)
        return False

    def same(self, wait_ms: int = 0) -> bool:
        """Whether it is as it was when it had opened, or becomes so soon."""
        with suppress(Error):
            for _ in range(wait_ms // 100 + 1):
                now = self.page.evaluate(STATE)
                for label, first in self.state[0]["boxes"].items():
                    if label in now[0]["boxes"]:
                        now[0]["boxes"][label] = now[0]["boxes"][label][: len(first)]
                now[0]["boxes"] = {label: now[0]["boxes"].get(label) for label in self.state[0]["boxes"]}
                if now == self.state:
                    return True
                if wait_ms:
                    self.page.wait_for_timeout(100)
        return False


def state(page: Page) -> list[Any]:
    """How a page is that has come to rest."""
    page.wait_for_function(IDLE)
    page.evaluate("localStorage.clear()")
    before: list[Any] = []
    while before != (now := page.evaluate(STATE)):
        before = now
        page.wait_for_timeout(100)
    return before
