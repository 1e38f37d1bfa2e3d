"""The server of the pages: how long a kernel lives, what a viewer may do, what the page says when something breaks."""

from __future__ import annotations

import asyncio
import importlib.util
import json
import os
import random
import re
import shutil
import socket
import subprocess
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import nbformat
import psutil
import pytest
from playwright.sync_api import Browser, Page, expect

from dashboards.panels.controls.files import MOST_BYTES
from tests.support.bad_files import bad_files
from tests.support.paths import ROOT
from tests.support.site import READY, free_port, serving
from tests.support.viewer import Viewer, packed

pytestmark = pytest.mark.browser

KERNEL = "JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
CODE = """
import asyncio, threading
import ipywidgets as w

def fail(*_):
    raise ZeroDivisionError("only for the log: " + "of " * 3 + where.value)

where = w.Text("a button", description="Where")
button, slider = w.Button(description="Press"), w.IntSlider(description="Slide")
timer, thread, count = w.Button(description="Timer"), w.Button(description="Thread"), w.Button(description="Count")
button.on_click(fail)
slider.observe(fail, "value")
timer.on_click(lambda _button: asyncio.get_running_loop().call_later(0.01, fail))
thread.on_click(lambda _button: threading.Thread(target=fail).start())
counted = w.Label("0")
count.on_click(lambda _button: setattr(counted, "value", str(int(counted.value) + 1)))
w.VBox([where, button, slider, timer, thread, count, counted])
"""


def apart(work: Coroutine[Any, Any, Any]) -> Any:
    """What `work` comes to, in a thread of its own: Playwright has this one's event loop."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result(120)


def kernels(server: psutil.Process | None = None) -> dict[str, psutil.Process]:
    """The processes of the kernels of every server that these tests started, by the kernels' numbers."""
    found = {}
    for process in (server or psutil.Process()).children(recursive=True):
        try:
            match = re.search(r"kernel-([\w-]{36})\.json", " ".join(process.cmdline()))
        except psutil.NoSuchProcess:
            continue
        if match:
            found[match[1]] = process
    return found


def kernel(page: Page) -> psutil.Process:
    return kernels()[page.evaluate(KERNEL)]


def moved(page: Page) -> None:
    """The page answers: a step of a slider changes what is worked out."""
    told = page.locator(".wc-tiles")
    before = told.inner_text()
    page.get_by_role("slider", name="Load impedance, slider").focus()
    page.keyboard.press("ArrowRight")
    expect(told).not_to_have_text(before, timeout=10_000)


def status(address: str, **headers: str) -> int:
    try:
        with urllib.request.urlopen(urllib.request.Request(address, headers=headers), timeout=20) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as refused:
        return refused.code


def notebook(folder: Path, name: str, *cells: str) -> None:
    book = nbformat.v4.new_notebook(
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}, "title": "A trial"}
    )
    book.cells = [nbformat.v4.new_code_cell(cell) for cell in cells]
    nbformat.write(book, folder / f"{name}.ipynb")


Opener = Callable[..., Page]


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """A server of pages that fail, which forgets viewers soon; its address and its log."""
    folder = tmp_path_factory.mktemp("faulty")
    notebook(folder, "callbacks", CODE)
    notebook(folder, "cell", "import ipywidgets as w\nw.Label('first')", "1 / 0  # only for the log", "w.Label('last')")
    late = (
        "import sys, time, ipywidgets as w\n"
        "sys.stdout.flush_timeout = sys.stderr.flush_timeout = 0.1\n"  # the cell's reply does not wait for its output
        "get_ipython().kernel.iopub_thread.schedule(lambda: time.sleep(6))\n"
        "w.IntSlider()"
    )
    notebook(folder, "late", late)
    flags = ["--MappingKernelManager.cull_idle_timeout=2", "--MappingKernelManager.cull_interval=1"]
    flags += ["--VoilaConfiguration.preheat_kernel=False", "--PageKernels.most=3"]
    with serving(folder, *flags) as address:
        yield address, next(folder.glob("*.log"))


# --- how long a kernel lives -------------------------------------------------------------------------------


def test_a_closed_page_takes_its_kernel_along(opened: Opener) -> None:
    page = opened()
    process = kernel(page)
    page.goto("about:blank")
    process.wait(10)


def test_an_abandoned_page_loses_its_kernel_and_an_open_one_does_not(opened: Opener, faulty: tuple[str, Path]) -> None:
    address = f"{faulty[0]}/voila/render/callbacks.ipynb"
    kept, left = opened(address, ".noUi-handle"), opened(address, ".noUi-handle")
    process = kernel(left)
    left.context.close()  # at once, as a browser that dies: without a goodbye
    process.wait(15)
    kept.get_by_role("button", name="Count").click()
    expect(kept.locator("body")).to_contain_text("1")


def test_what_a_slow_kernel_shows_late_is_waited_for(opened: Opener, faulty: tuple[str, Path]) -> None:
    opened(f"{faulty[0]}/voila/render/late.ipynb", ".noUi-handle")


def test_a_killed_kernel_is_said_and_a_reload_keeps_the_address(opened: Opener, site: str) -> None:
    address = f"{site}/voila/render/one_run.ipynb?kept=18+ft"
    page = opened(address)
    began = time.monotonic()
    kernel(page).kill()
    notice = page.locator(".wc-notice")
    expect(notice).to_contain_text("has stopped", timeout=10_000)
    assert time.monotonic() - began < 5
    expect(notice).to_have_attribute("role", "alert")
    assert "Traceback" not in page.content()
    notice.get_by_role("button", name="Load the page again").click()
    page.wait_for_selector(f"{READY}:not(:has(.wc-notice))", state="attached", timeout=30_000)
    assert page.url == address
    moved(page)


def test_a_departure_that_was_announced_and_not_made_is_said(opened: Opener) -> None:
    """As by a link that starts another program: Voilà ends the kernel at the announcement."""
    page = opened()
    page.evaluate("window.dispatchEvent(new Event('beforeunload'))")
    expect(page.locator(".wc-notice")).to_contain_text("has stopped", timeout=15_000)


def test_a_waiting_kernel_that_died_is_replaced(opened: Opener) -> None:
    for process in kernels().values():
        process.kill()
    moved(opened())


def test_more_pages_than_the_machine_holds_are_refused_in_words(faulty: tuple[str, Path]) -> None:
    viewers = [Viewer(faulty[0], "callbacks") for _ in range(3)]
    address = f"{faulty[0]}/voila/render/callbacks.ipynb"

    async def come() -> str:
        for viewer in viewers:
            await viewer.open()
        with pytest.raises(urllib.error.HTTPError, match="503") as refused:
            urllib.request.urlopen(address, timeout=20)
        for viewer in viewers:
            await viewer.close()
        return refused.value.read().decode()

    assert "As many pages are open here as this machine holds" in apart(come())
    assert status(address) == 200


def test_nobody_waits_for_a_kernel_that_has_yet_to_be_started() -> None:
    """Voilà counts those too, and would have the second viewer wait for the delay before the pool is filled again."""
    spec = importlib.util.spec_from_file_location("kernels", ROOT / "dashboards" / "server" / "kernels.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    class Pools(module.PageKernels):  # type: ignore[name-defined]
        def get_pool_size(self, name: str) -> int:
            return len(self._pools[name])

    ready, dead, failed, due = (Future[Any]() for _ in range(4))
    ready.set_result({"kernel_id": "ready"})
    dead.set_result({"kernel_id": "dead"})
    failed.set_exception(OSError())
    pools = Pools.__new__(Pools)
    ended = {"ready": None, "dead": -9}
    pools._kernels = {
        name: SimpleNamespace(provisioner=SimpleNamespace(process=SimpleNamespace(poll=lambda code=code: code)))
        for name, code in ended.items()
    }
    for pool, count in (([ready, due], 2), ([ready], 1), ([due, ready], 0), ([failed], 0), ([dead, ready], 0), ([], 0)):
        pools._pools = {"page": pool}
        assert pools.get_pool_size("page") == count
    assert pools.get_pool_size("other") == 0


class Line:
    """A connection to the server that can be cut and mended."""

    def __init__(self, to: int) -> None:
        self.to, self.port, self.whole = to, free_port(), True
        self.ends: list[socket.socket] = []
        self.door = socket.create_server(("127.0.0.1", self.port))
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        while True:
            try:
                near, _ = self.door.accept()
            except OSError:
                return
            if not self.whole:
                near.close()
                continue
            far = socket.create_connection(("127.0.0.1", self.to))
            self.ends += [near, far]
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=self._carry, args=(one, other), daemon=True).start()

    @staticmethod
    def _carry(one: socket.socket, other: socket.socket) -> None:
        try:
            while piece := one.recv(65536):
                other.sendall(piece)
        except OSError:
            pass
        for end in (one, other):
            end.close()

    def cut(self) -> None:
        self.whole = False
        for end in self.ends:
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                continue


def test_a_connection_dropped_for_ten_seconds(opened: Opener, site: str) -> None:
    line = Line(int(site.rpartition(":")[2]))
    page = opened(f"http://127.0.0.1:{line.port}/voila/render/one_run.ipynb")
    entry = page.get_by_role("textbox", name="Run length, one way", exact=True)
    entry.fill("7 m")
    entry.press("Enter")
    expect(page.locator(".wc-tiles h2")).to_contain_text("7 m one way")
    line.cut()
    expect(page.locator(".wc-notice")).to_contain_text("No connection", timeout=5_000)
    entry.fill("8 m")  # while there is none
    entry.press("Enter")
    time.sleep(10)
    line.whole = True
    expect(page.locator(".wc-notice")).to_have_count(0, timeout=15_000)
    expect(page.locator(".wc-tiles h2")).to_contain_text("8 m one way", timeout=10_000)
    moved(page)
    page.goto("about:blank")
    line.door.close()


SEEN = """
const what = { outline: '#wc-outline:has(h1:not(:empty)) progress', widgets: '#rendered_cells .jupyter-widgets' };
window.seen = {};
new MutationObserver(() => {
  for (const [name, selector] of Object.entries(what)) {
    const found = document.querySelector(selector);
    if (found) window.seen[name] ??= [performance.now(), document.querySelector('#wc-outline h1')?.textContent];
  }
}).observe(document, { subtree: true, childList: true });
"""


def test_title_outline_and_progress_come_before_the_kernel(browser: Browser, faulty: tuple[str, Path]) -> None:
    """This server keeps no kernel warm."""
    page = browser.new_context().new_page()
    page.add_init_script(SEEN)
    page.goto(f"{faulty[0]}/voila/render/callbacks.ipynb")
    page.wait_for_selector(".noUi-handle", state="attached", timeout=60_000)
    expect(page.locator("#wc-outline")).to_have_count(0)
    seen = page.evaluate("window.seen")
    painted = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    assert seen["outline"][1] == "A trial"
    assert max(painted, seen["outline"][0]) < seen["widgets"][0]
    page.goto("about:blank")
    page.context.close()


def test_the_chart_script_is_fetched_once_and_kept(browser: Browser, site: str) -> None:
    context = browser.new_context()
    for visit in range(2):
        page = context.new_page()
        page.goto(f"{site}/voila/render/one_run.ipynb")
        page.wait_for_selector(READY, state="attached", timeout=60_000)
        took = page.evaluate(
            "performance.getEntriesByType('resource').filter(one => one.name.includes('plotly'))"
            ".map(one => one.transferSize)"
        )
        assert len(took) == 1
        assert (took[0] == 0) == (visit == 1)
        page.goto("about:blank")
    context.close()


# --- what a viewer may do ----------------------------------------------------------------------------------


def test_viewers_do_not_see_one_another(opened: Opener, site: str) -> None:
    one, other = opened(f"{site}/voila/render/one_run.ipynb?mine=sesame"), opened()
    assert kernel(one).pid != kernel(other).pid
    before = other.locator(".wc-tiles").inner_text()
    moved(one)
    assert other.locator(".wc-tiles").inner_text() == before
    moved(other)
    others = [process for process in kernels().values() if process.pid != kernel(one).pid]
    assert others
    assert not [process for process in others if "sesame" in str(process.environ())]


@pytest.mark.parametrize(
    "path",
    [
        "voila/files/panels/controls/error_messages.py",
        "voila/files/one_run.ipynb",
        "voila/files/pictures/one_run.png",
        "voila/files/server/voila.py",
        "voila/files/../data/metals.csv",
        "voila/files/%2e%2e/data/metals.csv",
        "voila/files/..%2f..%2f..%2fetc/passwd",
        "voila/render/panels/controls/error_messages.py",
        "voila/render/../README.md",
        "voila/render/%2e%2e/README.md",
        "voila/render/",
        "voila/render/panels",
        "voila/tree/panels",
        "voila/tree/",
        "voila/tree/one_run.ipynb",
        "?classic-tree=false",
        "voila/api/contents",
        "voila/api/contents/",
        "voila/api/contents/panels",
        "voila/api/contents/one_run.ipynb",
        "voila/files/panels/controls/grid.js",
        "voila/templates/wirecalc/page.js",
        "voila/templates/wirecalc/static/../page.js",
        "voila/static/../conf.json",
        "voila/labextensions/../../../../../etc/passwd",
        "voila/labextensions/%2e%2e/__init__.py",
        "api/kernels",
        "api/contents",
        "files/panels/controls/error_messages.py",
        "notebooks/one_run.ipynb",
        "api/kernels/00000000-0000-0000-0000-000000000000",
    ],
)
def test_nothing_but_the_pages_is_served(site: str, path: str) -> None:
    # http.client sends the path as it is, dots and all
    if path == "voila/tree/":
        assert status(f"{site}/{path}") == 200  # the list of pages again
    else:
        assert status(f"{site}/{path}") >= 400


def test_the_list_names_pages_only(site: str) -> None:
    with urllib.request.urlopen(site) as answer:
        listed = re.findall(r'<li><a href="([^"]*)"', answer.read().decode())
    pages = sorted(path.name for path in (ROOT / "dashboards").glob("*.ipynb"))
    assert sorted(address.rpartition("/")[2] for address in listed) == pages


def test_a_name_that_is_not_this_machines_gets_nothing(site: str) -> None:
    """A page elsewhere that has its own name point here, to read what only this machine should."""
    assert status(site, Host="elsewhere.invalid") == 403
    assert status(site, Host="localhost") == 200


ASKED = [
    ("execute_request", "shell"),
    ("execute_request", "control"),
    ("comm_msg", "control"),
    ("comm_msg", "iopub"),
    ("debug_request", "control"),
    ("input_reply", "stdin"),
    ("inspect_request", "shell"),
    ("complete_request", "shell"),
    ("history_request", "shell"),
    ("create_subshell_request", "control"),
    ("shutdown_request", "control"),
    ("interrupt_request", "control"),
]


def test_a_viewer_runs_no_code(site: str, tmp_path: Path) -> None:
    async def attempt() -> set[str]:
        viewer = Viewer(site)
        await viewer.open()
        code = f"open({str(tmp_path / 'ran')!r}, 'w').close()"
        content = {"code": code, "silent": False, "store_history": True, "user_expressions": {"a": code}}
        content |= {"allow_stdin": True, "stop_on_error": False, "comm_id": "x", "data": {}}
        content |= {"command": "evaluate", "arguments": {"expression": code}, "type": "request", "seq": 1}
        numbers = {await viewer.send(kind, content, channel) for kind, channel in ASKED}
        registered = {"comm_id": "mine", "target_name": "jupyter.widget", "data": {"state": {}}, "metadata": {}}
        numbers.add(await viewer.send("comm_open", registered))
        last = await viewer.send("kernel_info_request", {})
        answered = set()
        while last not in answered:
            _, answer_to, _ = await viewer.receive()
            answered.add(answer_to)
        sliders = [name for name, one in (await viewer.models()).items() if one["_model_name"] == "IntSliderModel"]
        await viewer.change(sliders[0], value=3)  # and the kernel still works
        await viewer.close()
        return answered & numbers

    assert apart(attempt()) == set()
    assert not (tmp_path / "ran").exists()


def malformed(count: int) -> list[str | list[int]]:
    """Messages that no page sends: text as it is, bytes as numbers."""
    rng = random.Random(7)
    header = {"msg_id": "1", "msg_type": "comm_msg", "session": "s", "username": "", "version": "5.3", "date": ""}

    def message(content: Any, channel: str = "shell", **changed: Any) -> bytes:
        parts = [json.dumps(part).encode() for part in (header | changed, {}, {}, content)]
        return packed(channel, *parts)

    good = message({"comm_id": "none", "data": {}})
    made: list[Callable[[], str | bytes]] = [
        lambda: "{not json",
        lambda: "",
        lambda: json.dumps({"channel": "shell", "header": header | {"msg_type": "execute_request"}, "content": {}}),
        lambda: rng.randbytes(rng.randrange(200)),
        lambda: b"\xff" * 8,  # so many parts that a list of them fills the memory
        lambda: (1 << 40).to_bytes(8, "little") + good[8:],
        lambda: good[: rng.randrange(len(good))],
        lambda: good[:8] + bytes(reversed(good[8:72])) + good[72:],
        lambda: bytes(byte ^ (rng.random() < 0.05) for byte in good),
        lambda: packed("shell", b"{", b"", b"[]", b"nothing"),
        lambda: packed("shell", b"[]", b"[]", b"[]", b"[]"),
        lambda: packed("\u2603", *[b"{}"] * 4),
        lambda: message({"code": "1"}, msg_type="execute_request"),
        lambda: message({"code": "1"}, rng.choice(["control", "stdin", "iopub", "none"]), msg_type="execute_request"),
        lambda: message({}, msg_type=["comm_msg"]),
        lambda: message([]),
        lambda: message({"comm_id": 7, "data": {}}),
        lambda: message({"comm_id": "none", "data": "text"}),
        lambda: message({"comm_id": "none", "data": {"method": "update", "state": [1]}}),
        lambda: message({"comm_id": "x", "target_name": "no such", "data": {}}, msg_type="comm_open"),
    ]
    raw = [made[i % len(made)]() for i in range(count)]
    return [one if isinstance(one, str) else list(one) for one in raw]


def test_two_hundred_malformed_messages_leave_a_working_page(opened: Opener) -> None:
    page = opened()
    process = kernel(page)
    page.evaluate(
        "all => { const socket = window.jupyterapp.widgetManager.kernel._ws;"
        " all.forEach(one => socket.send(typeof one === 'string' ? one : new Uint8Array(one))); }",
        malformed(200),
    )
    moved(page)
    assert process.is_running()
    expect(page.locator(".wc-notice")).to_have_count(0)
    assert "Traceback" not in page.content()


def test_a_message_too_large_is_said_and_one_sent_all_the_same_ends_no_page(opened: Opener) -> None:
    page = opened()
    kernel_socket = "window.jupyterapp.widgetManager.kernel._ws"
    send = f"size => {kernel_socket}.send(new Uint8Array(size))"
    page.evaluate(send, 2 * MOST_BYTES - 1000)  # refused, but carried: a file of the largest size passes
    moved(page)
    page.evaluate(send, 2 * MOST_BYTES + 1000)
    expect(page.get_by_role("alert")).to_contain_text("too large")
    page.get_by_role("alert").get_by_role("button", name="Close").click()
    moved(page)
    page.evaluate(
        f"size => {{ const socket = {kernel_socket}; window.cutOff = new Promise(done =>"
        " socket.addEventListener('close', () => done(true)));"
        " Object.getPrototypeOf(WebSocket.prototype).send.call(socket, new Uint8Array(size)); }",
        2 * MOST_BYTES + 1000,
    )
    assert page.evaluate("window.cutOff")
    moved(page)


def test_forty_bad_files_end_in_words_and_a_working_page(opened: Opener, site: str) -> None:
    page = opened(f"{site}/voila/render/practice.ipynb", ".wc-bar")
    page.get_by_role("button", name="My progress").click()
    chosen = page.locator("label.wc-file:has-text('Read my progress') input")
    said = page.locator("label.wc-file:has-text('Read my progress') + div")
    files = bad_files(".json")
    assert len(files) >= 40
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save my progress").click()
    good = Path(saving.value.path()).read_bytes()
    for name, content in files:
        chosen.set_input_files({"name": "good.json", "mimeType": "", "buffer": good})
        expect(said).to_have_text("good.json was read.")  # the page works, and what was said of the last one is gone
        chosen.set_input_files({"name": name, "mimeType": "", "buffer": content})
        expect(said.get_by_role("alert")).to_be_visible()
        assert "fault of the page" not in said.inner_text(), name
        assert "Traceback" not in said.inner_text()
        assert said.locator("b, img").count() == 0
    expect(page.locator(".wc-notice")).to_have_count(0)


# --- faults are seen, and only by who should ---------------------------------------------------------------


@pytest.mark.parametrize("act", ["a button", "a slider", "a timer", "a thread"])
def test_a_fault_in_a_callback_is_said_and_logged(opened: Opener, faulty: tuple[str, Path], act: str) -> None:
    address, log = faulty
    page = opened(f"{address}/voila/render/callbacks.ipynb", ".noUi-handle")
    page.evaluate(
        "() => { window.heard = []; window.jupyterapp.widgetManager.kernel._ws.addEventListener('message',"
        " event => window.heard.push(new TextDecoder().decode(event.data))); }"
    )
    where = page.get_by_role("textbox", name="Where")
    where.fill(act)
    where.press("Tab")
    if act == "a slider":
        page.get_by_role("slider").focus()
        page.keyboard.press("ArrowRight")
    else:
        page.get_by_role("button", name={"a button": "Press", "a timer": "Timer", "a thread": "Thread"}[act]).click()
    notice = page.get_by_role("alert")
    expect(notice).to_contain_text("a fault of the page, not of your entry")
    seen = page.content() + "".join(page.evaluate("window.heard"))
    assert "only for the log" not in seen
    assert "Traceback" not in seen
    said = log.read_text()
    assert f"ZeroDivisionError: only for the log: of of of {act}" in said
    assert "Traceback" in said
    page.get_by_role("button", name="Count").click()
    expect(page.locator("body")).to_contain_text("1")  # the page goes on
    notice.get_by_role("button", name="Close").click()
    expect(notice).to_have_count(0)


def test_a_fault_in_a_cell_is_said_without_a_traceback(opened: Opener, faulty: tuple[str, Path]) -> None:
    address, log = faulty
    page = opened(f"{address}/voila/render/cell.ipynb", ".jp-RenderedText")
    expect(page.locator("body")).to_contain_text("a fault of the page, not of yours")
    expect(page.locator("body")).to_contain_text("first")
    assert "Traceback" not in page.content()
    assert "ZeroDivision" not in page.content()
    assert "ZeroDivisionError" in log.read_text()


# --- on a network ------------------------------------------------------------------------------------------

TOKEN = "open-sesame-open-sesame"
BALANCED = ROOT / "dashboards" / "server" / "haproxy.cfg"


@pytest.mark.parametrize("flag", ["--Voila.ip=0.0.0.0", "--Voila.ip="])
def test_nobody_is_served_on_a_network_without_a_token(tmp_path: Path, flag: str) -> None:
    with pytest.raises(AssertionError, match="Voilà ended with 1"), serving(tmp_path, flag):
        pass
    assert "not served on a network without a token" in next(tmp_path.glob("*.log")).read_text()


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, dict[str, ExitStack]]]:
    """Two servers with a token behind one address; that address, and by a server's own address what ends it."""
    program = shutil.which("haproxy", path=os.pathsep.join([os.environ.get("PATH", ""), "/usr/sbin"]))
    assert program, "haproxy is not on the PATH; this check needs it: install the package “haproxy”"
    folder = tmp_path_factory.mktemp("two")
    shutil.copy(ROOT / "dashboards" / "one_run.ipynb", folder)
    ends: dict[str, ExitStack] = {}
    with ExitStack() as stack:
        for _ in "ab":
            end = stack.enter_context(ExitStack())
            ends[end.enter_context(serving(folder, WIRECALC_TOKEN=TOKEN))] = end
        port = free_port()
        places = {f"WIRECALC_{name}": address.removeprefix("http://") for name, address in zip("AB", ends, strict=True)}
        checked = subprocess.run([program, "-c", "-f", str(BALANCED)], env=os.environ | places | {"WIRECALC_AT": ":1"})
        assert checked.returncode == 0
        balancer = subprocess.Popen(
            [program, "-db", "-f", str(BALANCED)], env=os.environ | places | {"WIRECALC_AT": f"127.0.0.1:{port}"}
        )
        stack.callback(lambda: (balancer.terminate(), balancer.wait(10)))
        until = time.monotonic() + 20
        while True:
            try:
                assert status(f"http://127.0.0.1:{port}/login") == 200
                break
            except OSError:
                assert time.monotonic() < until
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}", ends


def let_in(site: str) -> Viewer:
    return Viewer(site, headers={"Authorization": f"token {TOKEN}"})


def held(site: str, number: str) -> bool:
    """Whether a server has the kernel of that number."""
    return status(f"{site}/api/kernels/{number}", Authorization=f"token {TOKEN}") == 200


def test_on_a_network_only_who_has_the_token(two: tuple[str, dict[str, ExitStack]], browser: Browser) -> None:
    site = next(iter(two[1]))
    for path in ("", "voila/render/one_run.ipynb", "voila/render/one_run.ipynb?token=wrong"):
        with urllib.request.urlopen(f"{site}/{path}", timeout=20) as answer:
            assert "/login?next=" in answer.url
            assert "kernelId" not in answer.read().decode()
    viewer = let_in(site)

    async def come() -> None:
        await viewer.open()
        await viewer.leave()

    apart(come())
    assert held(site, viewer.kernel_id)
    socket_address = f"{site}/api/kernels/{viewer.kernel_id}/channels"
    upgrade = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13"}
    assert status(socket_address, **upgrade, **{"Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}) == 403
    assert status(f"{site}/api/kernels/{viewer.kernel_id}") == 403
    shut = urllib.request.Request(f"{site}/voila/api/shutdown/{viewer.kernel_id}", b"", method="POST")
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(shut, timeout=20)
    assert held(site, viewer.kernel_id)
    page = browser.new_context().new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{site}/")
    page.get_by_label("Token").fill("wrong")
    page.get_by_role("button", name="Open").click()
    expect(page.get_by_role("alert")).to_contain_text("does not fit")
    page.get_by_label("Token").fill(TOKEN)
    page.get_by_role("button", name="Open").click()
    page.get_by_role("link", name="One run").click()
    page.wait_for_selector(READY, state="attached", timeout=60_000)
    moved(page)
    assert all(address.startswith((site, "data:", "blob:")) for address in asked)
    page.goto("about:blank")
    page.context.close()


def test_two_servers_behind_one_address(two: tuple[str, dict[str, ExitStack]], opened: Opener) -> None:
    site, ends = two
    viewers = [let_in(site) for _ in range(4)]

    async def use() -> list[list[bool]]:
        for viewer in viewers:
            await viewer.open()  # the page, then its socket: refused by a server that has not its kernel
            await viewer.models()
        where = [[held(one, viewer.kernel_id) for one in ends] for viewer in viewers]
        for viewer in viewers:
            await viewer.leave()
        return where

    where = apart(use())
    assert [sum(one) for one in where] == [1] * len(viewers)
    assert [sum(of_one) for of_one in zip(*where, strict=True)] == [2, 2]

    page = opened(f"{site}/voila/render/one_run.ipynb?token={TOKEN}")
    moved(page)
    number = page.evaluate(KERNEL)
    its = next(one for one in ends if held(one, number))
    ends[its].close()
    notice = page.locator(".wc-notice")
    expect(notice).to_be_visible(timeout=15_000)
    notice.get_by_role("button", name="Load the page again").click()  # who was let in there is let in here
    page.wait_for_selector(f"{READY}:not(:has(.wc-notice))", state="attached", timeout=60_000)
    moved(page)
    other = next(one for one in ends if one != its)
    assert held(other, page.evaluate(KERNEL))

    # one who has never been here, and one whom the balancer knows from the stopped server
    known = next(viewer for viewer, of in zip(viewers, where, strict=True) if of[list(ends).index(its)])

    async def come() -> None:
        for viewer in (let_in(site), Viewer(site, headers=known.headers)):
            await viewer.open()
            await viewer.models()
            assert held(other, viewer.kernel_id)
            await viewer.close()

    apart(come())
