"""What a viewer may do: have a page of his own, and nothing beside it."""

from __future__ import annotations

import json
import random
import re
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from dashboards.panels.controls.files import MOST_BYTES
from tests import DEEP
from tests.support.bad_files import bad_files
from tests.support.paths import ROOT
from tests.support.server import Opener, apart, kernel, kernels, moved, status
from tests.support.viewer import Viewer, packed

pytestmark = pytest.mark.browser


def test_viewers_do_not_see_one_another(opened: Opener, site: str) -> None:
    first, other = opened(f"{site}/voila/render/one_run.ipynb?mine=sesame"), opened()
    assert kernel(first).pid != kernel(other).pid
    before = other.locator(".wc-tiles").inner_text()
    moved(first)
    assert other.locator(".wc-tiles").inner_text() == before
    moved(other)
    others = [process for process in kernels().values() if process.pid != kernel(first).pid]
    assert others
    assert not [process for process in others if "sesame" in str(process.environ())]


@pytest.mark.parametrize(
    "path",
    [
        "voila/files/panels/guard.py",
        "voila/files/one_run.ipynb",
        "voila/files/pictures/one_run.png",
        "voila/files/server/voila.py",
        "voila/files/../data/metals.csv",
        "voila/files/%2e%2e/data/metals.csv",
        "voila/files/..%2f..%2f..%2fetc/passwd",
        "voila/render/panels/guard.py",
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
        "voila/templates/wirecalc/page.js",
        "voila/templates/wirecalc/static/../page.js",
        "voila/static/../conf.json",
        "voila/labextensions/../../../../../etc/passwd",
        "voila/labextensions/%2e%2e/__init__.py",
        "api/kernels",
        "api/contents",
        "files/panels/guard.py",
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
        entries = {name: model for name, model in (await viewer.models()).items() if model.get("last", -1) > 4}
        name, state = next(iter(entries.items()))
        await viewer.slide(name, 3, state["stops"])  # and the kernel still works
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
    return [raw_message if isinstance(raw_message, str) else list(raw_message) for raw_message in raw]


def test_malformed_and_too_large_messages_leave_a_working_page_whose_kernel_goes_with_it(opened: Opener) -> None:
    """Two hundred that are malformed; one too large is said, and one sent all the same ends no page."""
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
    page.goto("about:blank")
    process.wait(10)


def test_forty_bad_files_end_in_words_and_a_working_page(opened: Opener, site: str) -> None:
    page = opened(f"{site}/voila/render/practice.ipynb", ".wc-bar")
    page.get_by_role("button", name="My progress").click()
    chosen = page.locator("label.wc-file:has-text('Read my progress') input")
    note = page.locator("label.wc-file:has-text('Read my progress') + div")
    files = bad_files(".json")
    assert len(files) >= 40
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save my progress").click()
    good = Path(saving.value.path()).read_bytes()
    for name, content in files if DEEP else files[::4]:  # without a browser all are tried, see test_uploads.py
        chosen.set_input_files({"name": "good.json", "mimeType": "", "buffer": good})
        expect(note).to_have_text("good.json was read.")  # the page works, and what was said of the last one is gone
        chosen.set_input_files({"name": name, "mimeType": "", "buffer": content})
        expect(note.get_by_role("alert")).to_be_visible()
        assert "fault of the page" not in note.inner_text(), name
        assert "Traceback" not in note.inner_text()
        assert note.locator("b, img").count() == 0
    expect(page.locator(".wc-notice")).to_have_count(0)
