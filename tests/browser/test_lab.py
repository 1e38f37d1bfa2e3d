"""The notebooks in JupyterLab and under plain Voilà look right, compute, and leave what is around them alone."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from dashboards.panels.acts import guest
from dashboards.panels.controls.colours import tokens
from tests.support.pages.lab import checkout, lab, plain_voila

pytestmark = pytest.mark.browser

AROUND = (
    "body", "#jp-top-panel", "#jp-left-stack", ".jp-Notebook", ".jp-Toolbar", ".jp-InputArea-editor",
    ".jp-RenderedMarkdown h1", ".jp-Toolbar jp-button", ".lm-MenuBar-item", ".lm-TabBar-tab",
)  # fmt: skip
"""Parts of Lab's own interface."""
LOOK = """names => names.map(name => {
  const one = document.querySelector(name), style = one && getComputedStyle(one);
  return [name, style && ['backgroundColor', 'color', 'font', 'colorScheme', 'margin', 'padding', 'overflow',
    'position'].map(key => style[key])];
})"""
CONNECTED = """path => {
  const { context, sessionContext } = window.jupyterapp.shell.currentWidget ?? {};
  const there = context?.path === path && sessionContext.isReady;
  return there && sessionContext.session?.kernel?.connectionStatus === 'connected';
}"""
DRAWN = ".wc-page .js-plotly-plot .trace"


def watched(page: Page, address: str) -> list[str]:
    """What is said on the console, and what is asked of others, as it comes."""
    events: list[str] = []
    page.on("pageerror", lambda error: events.append(f"error: {error}"))

    def asked(request: Any) -> None:
        if not request.url.startswith((address, address.replace("http", "ws"), "data:", "blob:")):
            events.append(request.url)

    page.on("request", asked)
    page.on("websocket", asked)
    return events


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.set_default_timeout(60_000)
    yield page
    context.close()


def started(page: Page) -> None:
    """Lab is there, with all that was open before."""
    page.wait_for_function("window.jupyterapp?.commands?.hasCommand('docmanager:open')")
    page.evaluate("window.jupyterapp.restored.then(() => null)")


def command(page: Page, name: str, **how: Any) -> None:
    """One of Lab's own, begun."""
    page.evaluate("([name, how]) => { window.jupyterapp.commands.execute(name, how); }", [name, how])


def opened(page: Page, name: str, drawn: str) -> Any:
    """A notebook with all its cells run; its panel."""
    command(page, "docmanager:open", path=f"dashboards/{name}.ipynb", factory="Notebook")
    here = page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)")
    expect(here.locator(".jp-CodeCell")).to_have_count(2, timeout=90_000)
    page.wait_for_function(CONNECTED, arg=f"dashboards/{name}.ipynb")
    command(page, "notebook:run-all-cells")
    here.locator(drawn).first.wait_for(state="attached")
    return here.locator(".wc-page")


def answers_a_length(panel: Any, text: str, page: Page) -> None:
    """What is typed is computed."""
    headline = panel.locator(".wc-tiles h2")
    box = panel.get_by_role("textbox", name="Run length, one way", exact=True)
    before = headline.inner_text()
    assert text not in before
    box.fill(text)
    box.press("Enter")
    expect(headline).to_contain_text(text, timeout=30_000)
    assert headline.inner_text() != before


def test_lab(page: Page, tmp_path: Path) -> None:
    """One Lab, three notebooks beside one another, light and dark, a reload in the middle."""
    work = checkout(tmp_path)
    kept = work / "dashboards" / "one_run.ipynb"
    with lab(work) as address:
        events = watched(page, address)
        page.goto(f"{address}/lab?reset")
        started(page)
        command(page, "docmanager:open", path="dashboards/one_run.ipynb", factory="Notebook")
        page.locator(".jp-RenderedMarkdown h1").wait_for()
        look = page.evaluate(LOOK, AROUND)
        assert all(style for _, style in look)
        panel = opened(page, "one_run", DRAWN)
        answers_a_length(panel, "12.5 m", page)
        page.screenshot(path=tmp_path / "one_run.png")
        command(page, "docmanager:save")
        while "widget-view" not in kept.read_text("utf-8"):
            page.wait_for_timeout(50)
        page.reload()  # the kernel lives on, and so do its numbers of what was done
        started(page)
        panel = page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .wc-page")
        page.locator(DRAWN).first.wait_for(state="attached")
        answers_a_length(panel, "3.2 m", page)
        assert page.evaluate(LOOK, AROUND) == look
        opened(page, "show_and_hear", ".wc-watts svg")
        page.screenshot(path=tmp_path / "show_and_hear.png")
        vehicle = opened(page, "whole_vehicle", ".wc-cards button")
        page.screenshot(path=tmp_path / "whole_vehicle.png")
        paper = "e => getComputedStyle(e).backgroundColor"
        light = vehicle.evaluate(paper)
        command(page, "apputils:change-theme", theme="JupyterLab Dark")
        page.locator("body[data-jp-theme-light=false]").wait_for(state="attached")
        page.locator("#jupyterlab-splash").wait_for(state="detached")
        dark = vehicle.evaluate(paper)
        page.screenshot(path=tmp_path / "dark.png")
        assert (light, dark) == (rgb(tokens(guest.styles())["paper"]), rgb(dark_tokens()["paper"]))
        assert not set(page.evaluate("location.search")) & set("&=")  # no entries in Lab's address
    assert events == []
    assert kept.stat().st_size < 20_000
    assert "widgets" not in json.loads(kept.read_text("utf-8"))["metadata"]


def dark_tokens() -> dict[str, str]:
    return tokens(guest.styles().partition("[data-jp-theme-light=false]")[2])


def rgb(colour: str) -> str:
    return f"rgb({', '.join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))})"


def test_plain_voila(page: Page, tmp_path: Path) -> None:
    """The browser does not send for the two sheets that Voilà’s own template names: voila.json forbids it."""
    with plain_voila(checkout(tmp_path), "dashboards/one_run.ipynb") as address:
        wanted = watched(page, address)
        stopped: list[str] = []
        page.on("requestfailed", lambda request: stopped.append(request.url) if request.failure == "csp" else None)
        page.goto(address)
        page.locator(DRAWN).first.wait_for(state="attached")
        answers_a_length(page.locator(".wc-page"), "12.5 m", page)
        page.screenshot(path=tmp_path / "plain_voila.png")
    assert wanted == stopped
    assert len(stopped) == 2  # else voila.json is for nothing
