"""Who may start kernels, and what answers tell a browser not to do: asked by programs and by a browser."""

from __future__ import annotations

import asyncio
import functools
import http.server
import os
import re
import sys
import threading
import time
from collections.abc import Iterator
from email.message import Message
from pathlib import Path

import psutil
import pytest
from playwright.sync_api import Browser, BrowserContext, expect

from tests import tried
from tests.support.pages.notebooks import NOTEBOOKS, metadata
from tests.support.paths import ROOT
from tests.support.server import apart, ask, held, kernels, notebook
from tests.support.site import serving
from tests.support.viewer import Viewer

pytestmark = pytest.mark.browser

TOKEN = "open-sesame-open-sesame"
OPENINGS = int(os.environ.get("WIRECALC_OPENINGS", tried(40)))
PAGES = {path.stem: about.get("charts", False) for path, about in zip(NOTEBOOKS, metadata(), strict=True)}


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """A small server on a network, behind a balancer; its address and its log."""
    folder = tmp_path_factory.mktemp("door")
    notebook(folder, "page", "import ipywidgets as w\nw.IntSlider()")
    flags = ["--VoilaConfiguration.preheat_kernel=False", "--PageKernels.most=3", "--PageKernels.most_of_one=2"]
    with serving(folder, *flags, WIRECALC_TOKEN=TOKEN, WIRECALC_BALANCER="127.0.0.1") as address:
        yield address, next(folder.glob("*.log"))


def let_in(site: str, whose: str) -> Viewer:
    return Viewer(site, "page", headers={"Authorization": f"token {TOKEN}", "X-Forwarded-For": f"6.6.6.6, {whose}"})


# --- kernels ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("headers", "expected"),
    [
        ({}, 200),  # a program, or an old browser
        ({"Sec_Fetch_Site": "none", "Sec_Fetch_Mode": "navigate", "Sec_Fetch_Dest": "document"}, 200),
        ({"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "navigate", "Sec_Fetch_Dest": "document"}, 200),  # a link
        ({"Sec_Fetch_Site": "same-origin", "Sec_Fetch_Mode": "cors", "Sec_Fetch_Dest": "empty"}, 200),
        ({"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "no-cors", "Sec_Fetch_Dest": "image"}, 403),
        ({"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "no-cors", "Sec_Fetch_Dest": "script"}, 403),
        ({"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "cors", "Sec_Fetch_Dest": "empty"}, 403),
        ({"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "navigate", "Sec_Fetch_Dest": "iframe"}, 403),
        ({"Sec_Fetch_Site": "same-site", "Sec_Fetch_Mode": "no-cors", "Sec_Fetch_Dest": "image"}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"Sec_Purpose": "prefetch;prerender"}, 403),
        ({"Purpose": "prefetch"}, 403),
    ],
)
def test_only_visits_are_served(site: str, headers: dict[str, str], expected: int) -> None:
    # the list of pages, which passes the same door and starts no kernel
    assert ask(f"{site}/", **headers)[0] == expected
    assert ask(f"{site}/", "HEAD", **headers)[0] in (expected, 405)


def test_a_page_of_another_site_starts_no_kernel_and_a_link_on_it_leads_here(
    browser: Browser, site: str, tmp_path: Path
) -> None:
    page_here = f"{site}/voila/render/bench.ipynb"
    pictures = "".join(f"<img src='{page_here}?{i}'><iframe src='{page_here}?{i}'></iframe>" for i in range(4))
    tries = f"<script>for (let i = 0; i < 4; i++) fetch('{page_here}?' + i, {{mode: 'no-cors'}})</script>"
    (tmp_path / "index.html").write_text(f"{pictures}{tries}<a href='{page_here}'>Bench</a>")
    serve = functools.partial(http.server.SimpleHTTPRequestHandler, directory=str(tmp_path))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), serve) as other:
        threading.Thread(target=other.serve_forever, daemon=True).start()
        page = browser.new_context().new_page()
        answers: list[int] = []
        page.on("response", lambda response: answers.append(response.status) if response.url.startswith(site) else None)
        page.goto(f"http://localhost:{other.server_address[1]}/")  # another site than 127.0.0.1
        until = time.monotonic() + 30
        while len(answers) < 4 and time.monotonic() < until:
            page.wait_for_timeout(100)
        page.wait_for_load_state("networkidle")
        assert set(answers) == {403}
        page.get_by_role("link", name="Bench").click()
        page.wait_for_selector("#rendered_cells .jupyter-widgets", state="attached", timeout=60_000)
        page.goto("about:blank")
        page.context.close()
        other.shutdown()


def test_one_client_leaves_room_for_others_and_the_machine_holds_no_more(door: tuple[str, Path]) -> None:
    site, address = door[0], f"{door[0]}/voila/render/page.ipynb"
    viewers = [let_in(site, whose) for whose in ("10.0.0.1", "10.0.0.1", "10.0.0.2")]

    def come(whose: str) -> tuple[int, Message, str]:
        return ask(address, Authorization=f"token {TOKEN}", X_Forwarded_For=whose)

    async def use() -> None:
        for viewer in viewers[:2]:
            await viewer.open()
        status, headers, words = come("10.0.0.1")
        assert (status, headers["Retry-After"]) == (429, "30")
        assert "as many pages are open as one may have" in words
        await viewers[2].open()
        status, headers, words = come("10.0.0.2")
        assert (status, headers["Retry-After"]) == (503, "30")
        assert "As many pages are open here as this machine holds" in words
        assert ask(f"{site}/health")[0] == 200  # its pages go on: a balancer must not cut them off
        for viewer in viewers:
            await viewer.close()

    apart(use())
    assert come("10.0.0.1")[0] == 200


@pytest.mark.parametrize(("clients", "most", "refused"), [(12, 3, 503), (1, 2, 429)])
def test_many_at_once_start_no_more_kernels_than_there_is_room_for(
    door: tuple[str, Path], clients: int, most: int, refused: int
) -> None:
    """Each is counted before it is there: sixty requests in one second must not all see room."""
    address = f"{door[0]}/voila/render/page.ipynb"
    before = set(kernels())
    statuses: list[int] = []

    def come(number: int) -> None:
        statuses.append(ask(address, Authorization=f"token {TOKEN}", X_Forwarded_For=f"10.0.1.{number % clients}")[0])

    threads = [threading.Thread(target=come, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(set(kernels()) - before) <= most
    assert statuses.count(refused) >= 12 - most
    for process in [kernel for number, kernel in kernels().items() if number not in before]:
        process.kill()  # nobody opened their pages' sockets
        process.wait(10)


# --- what browsers are told -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["", "login", "logout", "voila/render/none.ipynb", "voila/tree/panels"])
def test_no_answer_lets_a_script_run_or_the_address_out(site: str, path: str) -> None:
    _, headers, _ = ask(f"{site}/{path}")
    rules = dict(rule.strip().partition(" ")[::2] for rule in headers["Content-Security-Policy"].split(";"))
    assert rules["default-src"] == "'none'"
    assert "script-src" not in rules
    assert rules["frame-ancestors"] == rules["base-uri"] == "'none'"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["X-Content-Type-Options"] == "nosniff"
    for cookie in headers.get_all("Set-Cookie") or []:
        assert "SameSite=Lax" in cookie or "SameSite=Strict" in cookie or '=""' in cookie  # the last takes one away


WATCH = """
window.refused = [];
document.addEventListener('securitypolicyviolation', told => refused.push(told.effectiveDirective + told.blockedURI));
"""
FETCHED = """performance.getEntriesByType('resource').filter(one => one.name.includes('plotly'))
  .map(one => one.transferSize)"""


@pytest.fixture(scope="module")
def strict(browser: Browser) -> Iterator[tuple[BrowserContext, list[str], list[int]]]:
    """A visitor whose browser holds the pages to their policy; that of other tests' `visitor` is told not to.

    With it, the leaves of the pages that it has opened, and how many bytes each fetched plotly.js with.
    """
    context = browser.new_context()
    yield context, [], []
    context.close()


@pytest.mark.parametrize("name", PAGES)
def test_a_page_needs_no_more_than_it_may_and_runs_nothing_put_in(
    strict: tuple[BrowserContext, list[str], list[int]], site: str, name: str
) -> None:
    """No two have the same leave, and the first that has charts fetches plotly.js for all."""
    context, leaves, fetched = strict
    page = context.new_page()
    page.add_init_script(WATCH)
    answer = page.goto(f"{site}/voila/render/{name}.ipynb")
    assert answer is not None
    scripts = answer.headers["content-security-policy"].partition("script-src ")[2].partition(";")[0]
    assert "unsafe" not in scripts
    assert "*" not in scripts
    assert "nonce-" in scripts
    assert scripts not in leaves
    leaves.append(scripts)
    page.wait_for_selector("#rendered_cells .jupyter-widgets", state="attached", timeout=60_000)
    page.wait_for_function("document.querySelectorAll('#wc-outline').length === 0")
    page.wait_for_timeout(1000)
    assert page.evaluate("refused") == []
    took = page.evaluate(FETCHED)
    assert len(took) == PAGES[name]
    fetched += took
    assert [bytes_ > 0 for bytes_ in fetched] == [number == 0 for number in range(len(fetched))]
    # as a fault of ours would let it in: in a text, by a script, by what stands in an address
    page.evaluate(
        """() => {
          const put = document.body.appendChild(document.createElement('div'));
          put.innerHTML = '<img src="data:," onerror="window.ran = 1"><a href="javascript:window.ran = 2">x</a>';
          const script = document.createElement('script');
          script.textContent = 'window.ran = 3';
          put.append(script);
          put.querySelector('a').click();
          const far = document.createElement('script');
          far.src = 'https://elsewhere.invalid/x.js';
          put.append(far);
          fetch('https://elsewhere.invalid/').catch(() => {});
        }"""
    )
    page.wait_for_function("refused.length >= 4")
    assert page.evaluate("window.ran") is None
    page.goto("about:blank")
    page.close()


# --- the token --------------------------------------------------------------------------------------------------------


def test_the_token_leaves_the_address_and_a_wrong_one_is_logged_unnamed(
    door: tuple[str, Path], browser: Browser
) -> None:
    site, log = door
    context: BrowserContext = browser.new_context()
    page = context.new_page()
    page.goto(f"{site}/voila/render/page.ipynb?length=5+m&token={TOKEN}&note=#kept")
    page.wait_for_selector(".noUi-handle", state="attached", timeout=60_000)
    assert page.url == f"{site}/voila/render/page.ipynb?length=5+m&note=#kept"
    page.goto(f"{site}/?token={TOKEN}")
    assert page.url == f"{site}/"
    cookies = {cookie["name"].partition("-")[0]: cookie for cookie in context.cookies()}
    assert cookies["username"]["sameSite"] == "Lax"
    assert cookies["username"]["httpOnly"]
    assert cookies["_xsrf"]["sameSite"] == "Strict"
    page.goto(f"{site}/logout")
    expect(page.locator("main")).to_contain_text("has been logged out")
    page.goto(f"{site}/voila/render/page.ipynb?token=wrong-in-the-address&length=5+m")
    assert "/login?next=" in page.url
    assert "wrong" not in page.url
    assert "length" in page.url
    page.get_by_label("Token").fill("wrong-in-the-box")
    page.get_by_role("button", name="Open").click()
    expect(page.get_by_role("alert")).to_contain_text("does not fit")
    page.get_by_label("Token").fill(TOKEN)
    page.get_by_role("button", name="Open").click()
    page.wait_for_selector(".noUi-handle", state="attached", timeout=60_000)
    assert page.url == f"{site}/voila/render/page.ipynb?length=5+m"
    page.goto("about:blank")
    context.close()
    assert ask(f"{site}/api/kernels/none?token={TOKEN}")[0] >= 400
    log_text = log.read_text()
    assert log_text.count("Login refused: a wrong token from 127.0.0.1") == 2
    assert "wrong-in" not in log_text
    assert TOKEN not in log_text


def test_nobody_sets_another_password(door: tuple[str, Path], browser: Browser) -> None:
    """The Jupyter server's own form does that for whoever has the token."""
    site, _ = door
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{site}/login")
    form = {"password": TOKEN, "new_password": "mine", "_xsrf": page.locator("[name=_xsrf]").input_value()}
    assert page.request.post(f"{site}/login", form=form).status == 200
    form = {"password": "mine", "_xsrf": page.locator("[name=_xsrf]").input_value()}
    context.clear_cookies(name="username")
    assert page.request.post(f"{site}/login", form=form).status == 401
    context.close()
    assert not (ROOT / "jupyter_server_config.json").exists()


def test_logging_out_where_nobody_logs_in_is_said(site: str) -> None:
    status, _, words = ask(f"{site}/logout")
    assert status == 200
    assert "nothing to log out of" in words


# --- open files -------------------------------------------------------------------------------------------------------


def server_of(site: str) -> psutil.Process:
    port = f"--port={site.rpartition(':')[2]}"
    return next(process for process in psutil.Process().children(recursive=True) if port in process.cmdline())


def test_pages_opened_and_closed_leave_no_file_open(door: tuple[str, Path]) -> None:
    """Closed with a goodbye, or their kernel killed."""
    site, _ = door

    async def visit(number: int) -> None:
        viewer = let_in(site, "10.0.0.3")
        await viewer.open()
        await viewer.models()
        if number % 5:
            await viewer.close()
        else:
            kernels()[viewer.kernel_id].kill()
            while held(site, viewer.kernel_id, TOKEN):
                await asyncio.sleep(0.05)
            await viewer.leave()

    def settled() -> int:
        """Open files, once they are as many for a second."""
        counts = [server_of(site).num_fds()]
        while len(counts) < 10 or len(set(counts[-10:])) > 1:
            time.sleep(0.1)
            counts.append(server_of(site).num_fds())
        return counts[-1]

    for number in range(5):
        apart(visit(number))
    before = settled()
    for number in range(OPENINGS):
        apart(visit(number))
    assert settled() <= before + 2


def test_browsers_keep_scripts_whose_names_change_with_them(door: tuple[str, Path]) -> None:
    shared = Path(sys.prefix, "share", "jupyter", "labextensions")
    kinds = ("anywidget", "@jupyter-widgets/jupyterlab-manager")
    hashed = [file for kind in kinds for file in shared.glob(f"{kind}/static/*.js") if file.name != "style.js"]
    assert len(hashed) > 10
    assert all(re.search(r"\.[0-9a-f]{8,}\.js$", file.name) for file in hashed)  # no page loads style.js
    for file in (hashed[0], hashed[-1]):
        kept = ask(f"{door[0]}/voila/labextensions/{file.relative_to(shared).as_posix()}")[1]["Cache-Control"]
        assert "immutable" in kept
    assert "immutable" not in (ask(f"{door[0]}/voila/static/voila.js")[1]["Cache-Control"] or "")


def test_health_is_told_to_whoever_asks(door: tuple[str, Path]) -> None:
    assert ask(f"{door[0]}/health")[::2] == (200, "ok\n")
