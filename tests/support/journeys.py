"""Random journeys over a page, as an impatient person makes them, and what the page says at their end.

The kernel is held still and released between steps. At the end the page is loaded again: what its boxes, heading,
tables and pictures say then is worked out from its address alone, in a kernel that knows nothing of the journey, and
has to be what they said before.
"""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import psutil
from playwright.sync_api import Error as BrowserError
from playwright.sync_api import Locator, Page, TimeoutError

READY = {
    "one_run": "body:has(.js-plotly-plot .scatterlayer .trace):has(.wc-entry input[type=range])",
    "bench": "body:has(.js-plotly-plot .barlayer .trace):has(.wc-keypad-toggle):has(.wc-entry input)",
    "show_and_hear": "body:has(.wc-watts):has(.wc-play):has(.wc-entry input[type=range])",
    "practice": "body:has(.wc-answering input)",
    "whole_vehicle?open=demo": "body:has(:is(.wc-vehicle svg, .wc-job input, .wc-start .wc-card))",  # or a new job
    "house_rules": "body:has(.wc-value input)",
}
SIZES = ("10 AWG", "12", "14 AWG", "16 AWG", "18 AWG", "1.5 mm2", "2.5 mm²", "4 mm2")
WAIT_MS = 60_000
WAITS = """() => [...wirecalcActs.waiting(),
  ...[...document.querySelectorAll('.wc-busy, .wc-notice')].map(e => e.innerText)].join('; ')"""
IDLE = "() => wirecalcActs.idle() && !document.querySelector('progress, .wc-notice, .wc-waits')"

# What the page says: of every entry its text and its slider's, of every list its choice, what is pressed and ticked;
# headings, sentences and tables in sight; the numbers of every chart in sight.
SAID = """() => {
const text = e => e.innerText.replace(/\\s+/g, ' ').trim();
const seen = e => e.checkVisibility() && !e.closest('.wc-shut');
const all = (what, among = document) => [...among.querySelectorAll(what)];
const boxes = {};
for (const entry of all('.wc-entry')) {
  const box = entry.querySelector('input[type=text]'), slider = entry.querySelector('input[type=range]');
  const fault = entry.querySelector('[role=alert]');
  (boxes[box.labels[0].textContent] ||= []).push(
    fault ? 'fault' : [box.value, slider && slider.getAttribute('aria-valuetext'), slider && slider.value].join('|'));
}
for (const list of all('.wc-choice select')) {
  (boxes[list.labels[0].textContent] ||= []).push(list.selectedOptions[0]?.textContent);
}
for (const value of all('.wc-value')) {
  const box = value.querySelector('input, select'), fault = value.querySelector('[role=alert]');
  (boxes[box.getAttribute('aria-label')] ||= []).push(
    fault ? 'fault' : box.value + '|' + value.querySelector('.wc-value-changed span').textContent);
}
for (const box of all('.wc-chip input')) (boxes[box.closest('label').textContent] ||= []).push(String(box.checked));
const grids = all('.wc-grid').map(grid => all('input', grid).map(e => e.value).join('|'));
const pressed = all('.wc-bar .mod-active, .wc-units .mod-active').filter(seen).map(text);
const words = all('.wc-tiles, .wc-told, .wc-table, .wc-problem, .wc-plan .wc-top p').filter(seen).map(text);
const pictures = all('.js-plotly-plot').filter(seen).map(chart => JSON.stringify(chart.data.map(trace =>
  [trace.name, ...['x', 'y'].map(axis => Array.from(trace[axis] ?? []).map(
    v => typeof v === 'number' ? Number(v.toPrecision(9)) : v))])));
return { boxes, grids, pressed, words, pictures, address: location.search + location.hash };
}"""

# A chart out of sight is drawn when it comes into sight: each is looked at once, as a person scrolls down the page.
LOOKED_AT = """async () => {
const [left, top] = [scrollX, scrollY];
for (const chart of document.querySelectorAll('.js-plotly-plot')) {
  if (!chart.checkVisibility() || chart.closest('.wc-shut')) continue;
  chart.scrollIntoView({ block: 'center' });
  for (let frame = 0; frame < 3; frame++) await new Promise(requestAnimationFrame);
}
scrollTo(left, top);
}"""

Said = dict[str, Any]


def said(page: Page) -> Said:
    """What the page says once it has come to rest."""
    try:
        page.wait_for_function(IDLE, timeout=WAIT_MS)
    except TimeoutError:
        raise AssertionError(f"the page goes on waiting: {page.evaluate(WAITS)}") from None
    before: Said = {}
    page.evaluate(LOOKED_AT)
    for _ in range(400):  # a plan is solved twice after each change, which a busy machine takes long for
        now: Said = page.evaluate(SAID)
        if now == before and page.evaluate(IDLE):
            return now
        before = now
        page.wait_for_timeout(250)
        page.evaluate(LOOKED_AT)
    changes = differences(before, page.evaluate(SAID))
    raise AssertionError(f"the page does not come to rest: {changes}; {page.evaluate(WAITS)}")


def differences(before: Said, after: Said) -> list[str]:
    """In what two states of a page differ; an entry that one of them has not drawn counts for nothing."""
    differing = [
        f"{label}: {before['boxes'][label]} then {after['boxes'][label]}"
        for label in before["boxes"].keys() & after["boxes"].keys()
        if before["boxes"][label] != after["boxes"][label] and "fault" not in before["boxes"][label]
    ]
    for part in ("pressed", "words", "pictures", "address"):
        if before[part] != after[part]:
            at = next(
                (pair for pair in zip(before[part], after[part], strict=False) if pair[0] != pair[1]),
                (len(before[part]), len(after[part])),
            )
            differing.append(f"{part}: {str(at[0])[:300]} then {str(at[1])[:300]}")
    return differing


@contextmanager
def hogs(count: int) -> Iterator[None]:
    """So many processes that want a core each."""
    import subprocess
    import sys

    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(count)]
    try:
        yield
    finally:
        for process in busy:
            process.kill()
            process.wait()


@dataclass
class Journey:
    """One, over a page that is open.

    Parameters
    ----------
    page : Page
    rng : random.Random
    kernel : psutil.Process
        The page's, to be held.
    """

    page: Page
    rng: random.Random
    kernel: psutil.Process
    held: bool = False
    steps: list[str] = field(default_factory=list)
    typed: dict[str, str] = field(default_factory=dict)
    """The last text of each box that nothing later may have changed."""

    def go(self, count: int) -> None:
        """So many steps."""
        ways: list[tuple[Callable[[], None], int]] = [
            (self.type, 5), (self.slide, 3), (self.choose, 3), (self.press, 2), (self.tick, 1), (self.cell, 2),
            (self.rule, 4),
        ]  # fmt: skip
        try:
            while len(self.steps) < count:
                if self.rng.random() < 0.45:
                    self.hold(not self.held)
                way = self.rng.choices([way for way, _ in ways], [often for _, often in ways])[0]
                made = len(self.steps)
                try:
                    way()
                except BrowserError as fault:  # what was to be touched has just gone
                    self.steps.append(f"({way.__name__}: {str(fault).splitlines()[0][:60]})")
                if len(self.steps) == made:  # there is none of its kind
                    continue
                if self.rng.random() < 0.4:
                    time.sleep(self.rng.choice((0.02, 0.1, 0.25)))
        finally:
            self.hold(False)

    def hold(self, still: bool) -> None:
        """Let the kernel stand still, or go on."""
        if still != self.held:
            (self.kernel.suspend if still else self.kernel.resume)()
            self.held = still
            self.steps.append("hold" if still else "release")

    def _one(self, selector: str) -> Locator | None:
        every = self.page.locator(f"#rendered_cells {selector}")
        seen = every.evaluate_all("all => all.flatMap((e, i) => e.checkVisibility() ? [i] : [])")
        return every.nth(self.rng.choice(seen)) if seen else None

    def _label(self, control: Locator) -> str:
        return str(control.evaluate("e => e.getAttribute('aria-label') || e.labels?.[0]?.textContent || e.textContent"))

    def type(self) -> None:
        """A text near the one that stands there."""
        box = self._one(".wc-entry input[type=text]")
        if box is None:
            return
        label, text = self._label(box), box.input_value()
        number = re.match(r"\d+(?:\.\d+)?", text)
        if re.search("size", label, re.IGNORECASE) and "shelf" not in label:
            new = self.rng.choice(SIZES)
        elif number and "." not in text and float(number[0]) < 30:
            new = str(max(int(number[0]) + self.rng.choice((-1, 1, 2)), 1)) + text[number.end() :]
        elif number:
            new = f"{float(number[0]) * self.rng.choice((0.83, 0.9, 1.1, 1.27)):.4g}" + text[number.end() :]
        else:
            return
        box.fill(new, timeout=2000)
        done = self.rng.choice(("Enter", "Tab", "blur"))
        if done == "blur":
            box.blur(timeout=2000)
        else:
            self.page.keyboard.press(done)
        self.steps.append(f"{label} = {new}, {done}")
        self.typed[label] = new

    def slide(self) -> None:
        """Some steps of a slider."""
        slider = self._one("input[type=range]")
        if slider is None:
            return
        label = self._label(slider)
        slider.focus(timeout=2000)
        keys = self.rng.choices(("ArrowLeft", "ArrowRight"), k=self.rng.randint(1, 4))
        for key in keys:
            self.page.keyboard.press(key)
        self.steps.append(f"{label} {keys}")
        self.typed.pop(label.removesuffix(", slider"), None)

    def choose(self) -> None:
        """Another option of a list."""
        box = self._one(".wc-choice select")
        if box is None:
            return
        label, options = self._label(box), box.locator("option").all_text_contents()
        if label == "Add a column":
            return
        option = self.rng.choice(options)
        box.select_option(option, timeout=2000)
        self.steps.append(f"{label}: {option}")
        self.typed.clear()

    def press(self) -> None:
        """A button of a bar, or one that stays on."""
        button = self._one(":is(.wc-bar, .wc-units, .wc-around) > :is(div > button, .widget-toggle-button)")
        if button is None:
            return
        label = self._label(button)
        button.click(timeout=2000)
        self.steps.append(f"press {label}")
        if label in ("Feet", "Metres", "Undo", "Redo", "All back to the defaults"):
            self.typed.clear()

    def tick(self) -> None:
        """A box."""
        box = self._one(".wc-chip input")
        if box is None:
            return
        label = str(box.evaluate("e => e.closest('label').textContent"))
        box.click(timeout=2000)
        self.steps.append(f"tick {label}")

    def cell(self) -> None:
        """A cell of a list, with what stands in another of its column."""
        box = self._one(".wc-grid td:nth-child(-n+12) input")
        if box is None:
            return
        label = self._label(box)
        column = label.rpartition(", row")[0]
        if column not in ("Length", "Remark", "Size"):
            return
        new = {"Length": f"{self.rng.randint(2, 9)} m", "Size": self.rng.choice(SIZES), "Remark": "seen"}[column]
        box.fill(new, timeout=2000)
        box.blur(timeout=2000)
        self.steps.append(f"{label} = {new}")
        self.typed[label] = new

    def rule(self) -> None:
        """A house rule: another value, another option, its default, or another sort of rule in sight."""
        self.rng.choice((self._rule_value, self._rule_value, self._rule_option, self._rule_back, self._rule_sort))()

    def _rule_value(self) -> None:
        box = self._one(".wc-value input")
        text = box.input_value() if box else ""
        if box is None or not (number := re.match(r"\d+(?:\.\d+)?", text)):
            return
        label, new = self._label(box), self.rng.choice(("4", "10", "16", "20", number[0])) + text[number.end() :]
        box.fill(new, timeout=2000)
        box.blur(timeout=2000)
        self.steps.append(f"{label} = {new}")
        self.typed[label] = new

    def _rule_option(self) -> None:
        box = self._one(".wc-value select")
        if box is None:
            return
        label, option = self._label(box), self.rng.choice(box.locator("option").all_text_contents())
        box.select_option(option, timeout=2000)
        self.steps.append(f"{label}: {option}")

    def _rule_back(self) -> None:
        button = self._one(".wc-value-changed:not([hidden]) button")
        if button is None:
            return
        label = self._label(button)
        button.click(timeout=2000)
        self.steps.append(f"press {label}")
        for typed in [key for key in self.typed if key.startswith(label.removeprefix("Put back: "))]:
            self.typed.pop(typed)

    def _rule_sort(self) -> None:
        summary = self._one(".wc-values:not([hidden]) > summary")
        if summary is None:
            return
        summary.click(timeout=2000)
        self.steps.append(f"open or close {self._label(summary)[:30]}")


def lost(journey: Journey) -> list[str]:
    """Texts that were typed last into boxes that are in sight, and are not there any more."""
    missing = []
    for label, text in journey.typed.items():
        boxes = [box for box in journey.page.get_by_label(label, exact=True).all() if box.is_visible()]
        if boxes and text not in [box.input_value() for box in boxes]:
            missing.append(f"{label}: typed {text!r}, there is {boxes[0].input_value()!r}")
    return missing


def agreed(journey: Journey, ready: str, *, before: Said | None = None) -> list[str]:
    """What does not agree at a journey's end, and after the page was loaded again."""
    page = journey.page
    before = before or said(page)
    disagreements = lost(journey)
    for label in [name for name, text in before["boxes"].items() if "fault" in text]:
        journey.typed.pop(label, None)  # the address has the last good value
    page.reload()
    page.wait_for_selector(ready, state="attached", timeout=WAIT_MS)
    return [*disagreements, *differences(before, said(page))]
