"""Pages on a network: only for who has the token; two servers behind one address."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.support.paths import ROOT
from tests.support.server import KERNEL, Opener, apart, held, moved, status
from tests.support.site import READY, free_port, serving
from tests.support.viewer import Viewer

pytestmark = pytest.mark.browser

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
            ends[end.enter_context(serving(folder, WIRECALC_TOKEN=TOKEN, WIRECALC_BALANCER="127.0.0.1"))] = end
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
                assert status(f"http://127.0.0.1:{port}/health") == 200
                break
            except OSError:
                assert time.monotonic() < until
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}", ends


def let_in(site: str) -> Viewer:
    return Viewer(site, headers={"Authorization": f"token {TOKEN}"})


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
    assert held(site, viewer.kernel_id, TOKEN)
    socket_address = f"{site}/api/kernels/{viewer.kernel_id}/channels"
    upgrade = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13"}
    assert status(socket_address, **upgrade, **{"Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}) == 403
    assert status(f"{site}/api/kernels/{viewer.kernel_id}") == 403
    shut = urllib.request.Request(f"{site}/voila/api/shutdown/{viewer.kernel_id}", b"", method="POST")
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(shut, timeout=20)
    assert held(site, viewer.kernel_id, TOKEN)
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
        where = [[held(end, viewer.kernel_id, TOKEN) for end in ends] for viewer in viewers]
        for viewer in viewers:
            await viewer.leave()
        return where

    where = apart(use())
    assert [sum(counts) for counts in where] == [1] * len(viewers)
    assert [sum(of_one) for of_one in zip(*where, strict=True)] == [2, 2]

    page = opened(f"{site}/voila/render/one_run.ipynb?token={TOKEN}")
    moved(page)
    number = page.evaluate(KERNEL)
    its = next(end for end in ends if held(end, number, TOKEN))
    ends[its].close()
    notice = page.locator(".wc-notice")
    expect(notice).to_be_visible(timeout=15_000)
    notice.get_by_role("button", name="Load the page again").click()  # who was let in there is let in here
    page.wait_for_selector(f"{READY}:not(:has(.wc-notice))", state="attached", timeout=60_000)
    moved(page)
    other = next(end for end in ends if end != its)
    assert held(other, page.evaluate(KERNEL), TOKEN)

    # one who has never been here, and one whom the balancer knows from the stopped server
    known = next(viewer for viewer, of in zip(viewers, where, strict=True) if of[list(ends).index(its)])

    async def come() -> None:
        for viewer in (let_in(site), Viewer(site, headers=known.headers)):
            await viewer.open()
            await viewer.models()
            assert held(other, viewer.kernel_id, TOKEN)
            await viewer.close()

    apart(come())
