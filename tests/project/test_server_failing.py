"""Kernels that do not start: tried again with growing pauses, and the viewer is told; a full disk; a cut connection."""

from __future__ import annotations

import asyncio
import os
import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.support.server import Opener, apart, ask, held, kernels, notebook
from tests.support.site import serving
from tests.support.viewer import Viewer

pytestmark = pytest.mark.browser

# read by every Python at its start: kernels count themselves, and end while there is a file that says how
STARTING = """
import errno, os, pathlib, sys
here = pathlib.Path(os.environ["WIRECALC_TRIAL"])
if any("ipykernel" in word for word in sys.orig_argv):
    with (here / "started").open("a") as out: out.write("x")
    if (here / "dies").exists(): os._exit(1)
elif (here / "full").exists():
    import jupyter_client.connect, jupyter_client.manager
    def full(*_what, **_how): raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    jupyter_client.connect.write_connection_file = full
"""


@contextmanager
def failing(folder: Path, how: str, *flags: str) -> Iterator[str]:
    """A server whose kernels fail in a way; its address. `folder / how` away, they start."""
    notebook(folder, "page", "import ipywidgets as w\nw.IntSlider()")
    (folder / "trial").mkdir()
    (folder / "trial" / "sitecustomize.py").write_text(STARTING)
    (folder / "trial" / how).touch()
    path = os.pathsep.join(filter(None, [str(folder / "trial"), os.environ.get("PYTHONPATH")]))
    short = ["--PageKernels.first_pause=2", "--VoilaKernelManager.fill_delay=0.2", *flags]
    with serving(folder, *short, PYTHONPATH=path, WIRECALC_TRIAL=str(folder / "trial")) as site:
        yield site


def test_kernels_that_die_are_tried_again_ever_more_seldom_and_the_viewer_is_told(
    tmp_path: Path, opened: Opener
) -> None:
    started = tmp_path / "trial" / "started"
    with failing(tmp_path, "dies") as site:
        address = f"{site}/voila/render/page.ipynb"
        until = time.monotonic() + 60
        while ask(f"{site}/health")[0] == 200:
            assert time.monotonic() < until
            time.sleep(0.1)
        status, headers, words = ask(address)
        assert status == 503
        assert "does not start on the machine" in words
        assert "Traceback" not in words
        assert 1 <= int(headers["Retry-After"]) <= 60
        for _ in range(20):  # visits are no tries
            ask(address)
        time.sleep(15)
        # at 0, 2, 6 and 14 s, each by a kernel of the pool or of a visit
        assert 2 <= len(started.read_text()) <= 5
        page = opened(
            f"{address}?length=5+m#a-plan", "main.wc-list"
        )  # who waits there gets the page, without a press, when it can be had
        expect(page.locator("main")).to_contain_text("This page asks again by itself")
        (tmp_path / "trial" / "dies").unlink()
        page.wait_for_selector(".noUi-handle", state="attached", timeout=60_000)
        assert page.url == f"{address}?length=5+m#a-plan"
        assert ask(f"{site}/health")[0] == 200


def test_a_page_whose_own_kernel_dies_while_it_is_drawn_says_so_and_tries_again(tmp_path: Path, opened: Opener) -> None:
    with failing(tmp_path, "dies", "--VoilaConfiguration.preheat_kernel=False") as site:
        page = opened(f"{site}/voila/render/page.ipynb", ".wc-notice")
        expect(page.get_by_role("alert")).to_contain_text("did not start. This page tries again in")
        assert page.locator("#wc-outline").count() == 0  # no longer “Starting”
        (tmp_path / "trial" / "dies").unlink()
        page.wait_for_selector(".noUi-handle", state="attached", timeout=60_000)


def test_a_full_disk_is_said(tmp_path: Path) -> None:
    with failing(tmp_path, "full", "--VoilaConfiguration.preheat_kernel=False") as site:
        for _ in range(2):  # the second while no kernel is tried
            status, headers, words = ask(f"{site}/voila/render/page.ipynb")
            assert status == 503
            assert "The disk of the machine that serves these pages is full" in words
            assert headers["Retry-After"]


def test_who_leaves_before_the_page_is_there_is_no_failure(tmp_path: Path) -> None:
    notebook(tmp_path, "slow", "import time, ipywidgets as w\ntime.sleep(3)\nw.IntSlider()")
    with serving(tmp_path, "--VoilaConfiguration.preheat_kernel=False") as site:
        before = set(kernels())

        async def come_and_go() -> None:
            reader, writer = await asyncio.open_connection("127.0.0.1", int(site.rpartition(":")[2]))
            writer.write(b"GET /voila/render/slow.ipynb HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
            sent = b""
            while not (match := re.search(rb'"kernelId": *"([\w-]+)"', sent)):
                sent += await reader.read(65536)
            assert ask(f"{site}/voila/api/shutdown/{match[1].decode()}", "POST")[0] == 204
            writer.close()

        apart(come_and_go())
        time.sleep(2)
        assert ask(f"{site}/health")[0] == 200
        assert set(kernels()) <= before


def test_a_page_without_a_connection_keeps_its_kernel_counted_from_the_cut(tmp_path: Path) -> None:
    """Not from the last press, which was long before."""
    notebook(tmp_path, "page", "import ipywidgets as w\nw.IntSlider()")
    flags = ["--MappingKernelManager.cull_idle_timeout=8", "--MappingKernelManager.cull_interval=1"]
    with serving(tmp_path, *flags, "--VoilaConfiguration.preheat_kernel=False") as site:
        viewer = Viewer(site, "page")

        async def come() -> None:
            await viewer.open()
            await viewer.models()
            await asyncio.sleep(10)  # open, and nobody presses
            await viewer.leave()

        apart(come())
        cut = time.monotonic()
        time.sleep(4)
        assert held(site, viewer.kernel_id)
        while held(site, viewer.kernel_id):
            assert time.monotonic() - cut < 40
            time.sleep(0.2)
        assert time.monotonic() - cut > 7
