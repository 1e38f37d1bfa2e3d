"""A key press to the last chart painted, against the same charts drawn by plotly.js in a page without a kernel."""

from __future__ import annotations

import json
import statistics
from collections.abc import Callable
from pathlib import Path

import plotly
from playwright.sync_api import Browser, Page

ROUNDS, PRESSES = 3, 12

# from the key press until the frame with the last chart's last drawing is painted, which is before the next message
# after it; quiet for 120 ms means that it was the last
WATCH = """() => {
window.spent = [];
const charts = window.charts = [...document.querySelectorAll('.js-plotly-plot')].filter(c => c.offsetParent);
let pressed = 0, painted = 0, drawn = new Set(), timer;
const after = new MessageChannel();
after.port1.onmessage = () => { painted = performance.now(); };
const frame = () => requestAnimationFrame(() => after.port2.postMessage(0));
charts.forEach((chart, i) => chart.on('plotly_afterplot', () => {
  drawn.add(i); frame(); clearTimeout(timer);
  timer = setTimeout(() => {
    if (drawn.size === charts.length && pressed) { window.spent.push(painted - pressed); pressed = 0; }
  }, 120);
}));
window.start = () => { pressed = performance.now(); drawn = new Set(); };
}"""


def against_plain(
    browser: Browser, page: Page, act: Callable[[int], None], tmp_path: Path, visible: int
) -> tuple[float, str]:
    """Ratio and words. `act(i)` presses one key that changes all visible charts: there for even i, back for odd."""
    page.evaluate(WATCH)
    assert page.evaluate("window.charts.length") == visible
    page.evaluate("document.addEventListener('keydown', () => window.start(), true)")

    def press(i: int) -> float:
        return painted(page, lambda: act(i))

    states = [_state(page)]
    for i in range(4):  # warm
        press(i)
        if i == 0:
            states.append(_state(page))
    plain = _without_kernel(browser, states, tmp_path)

    def redraw(i: int) -> float:
        return painted(plain, lambda: plain.keyboard.press("ArrowRight" if i % 2 == 0 else "ArrowLeft"))

    for i in range(4):
        redraw(i)
    rounds = []
    for _ in range(ROUNDS):  # the best counts: five processes take part, so a busy machine slows ours most
        ours, floor = [], []
        for i in range(PRESSES):  # turn about, so that whatever else the machine does falls on both
            page.bring_to_front()
            ours.append(press(i))
            plain.bring_to_front()
            floor.append(redraw(i))
        rounds.append((statistics.median(ours) / statistics.median(floor), ours, floor))
    page.goto("about:blank")
    page.close()
    plain.close()
    ratio, ours, floor = min(rounds)
    return ratio, (
        f"key press to paint {statistics.median(ours):.0f} ms, plotly.js alone {statistics.median(floor):.0f} ms: "
        f"{ratio:.2f} x"
    )


def painted(page: Page, act: Callable[[], object]) -> float:
    """From an act until its last chart is painted; milliseconds."""
    before = page.evaluate("window.spent.length")
    act()
    page.wait_for_function("n => window.spent.length > n", arg=before, timeout=10_000)
    return float(page.evaluate("window.spent.at(-1)"))


def _state(page: Page) -> list[dict[str, object]]:
    """Each chart as plain JSON, arrays written out."""
    text = page.evaluate(
        "JSON.stringify(window.charts.map(c => ({"
        "data: c.data, layout: c.layout, width: c.clientWidth, height: c.clientHeight})),"
        "(_, v) => ArrayBuffer.isView(v) ? Array.from(v) : v)"
    )
    return json.loads(text)


def _without_kernel(browser: Browser, states: list[list[dict[str, object]]], tmp_path: Path) -> Page:
    script = Path(plotly.__file__).parent / "package_data" / "plotly.min.js"
    boxes = "".join(f"<div style='width:{c['width']}px;height:{c['height']}px'></div>" for c in states[0])
    target = tmp_path / "plain.html"
    target.write_text(
        f"<!DOCTYPE html><meta charset='utf-8'><body style='display:flex'>{boxes}"
        f"<script src='{script.as_uri()}'></script><script>const states = {json.dumps(states)};</script>",
        encoding="utf-8",
    )
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(target.as_uri())
    page.evaluate(
        "Promise.all([...document.querySelectorAll('div')].map((box, i) =>"
        " Plotly.newPlot(box, states[0][i].data, states[0][i].layout, {displayModeBar: false})))"
    )
    page.evaluate(WATCH)
    page.evaluate(
        "() => document.addEventListener('keydown', pressed => { window.start(); charts.forEach((chart, i) => {"
        " const to = structuredClone(states[pressed.key === 'ArrowRight' ? 1 : 0][i]);"
        " Plotly.react(chart, to.data, to.layout); }); })"
    )
    return page
