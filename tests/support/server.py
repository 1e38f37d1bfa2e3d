"""A server of pages under test: its kernels, what it answers, pages that fail, and a line that can be cut."""

from __future__ import annotations

import asyncio
import re
import socket
import threading
import urllib.error
import urllib.request
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from email.message import Message
from pathlib import Path
from typing import Any

import nbformat
import psutil
import pytest
from playwright.sync_api import Page, expect

from tests.support.site import free_port, serving

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
    by_number = {}
    for process in (server or psutil.Process()).children(recursive=True):
        try:
            match = re.search(r"kernel-([\w-]{36})\.json", " ".join(process.cmdline()))
        except psutil.NoSuchProcess:
            continue
        if match:
            by_number[match[1]] = process
    return by_number


def kernel(page: Page) -> psutil.Process:
    return kernels()[page.evaluate(KERNEL)]


def moved(page: Page) -> None:
    """The page answers: a step of a slider changes what is worked out."""
    told = page.locator(".wc-tiles")
    before = told.inner_text()
    page.get_by_role("slider", name="Speaker impedance, slider").focus()
    page.keyboard.press("ArrowRight")
    expect(told).not_to_have_text(before, timeout=10_000)


def status(address: str, **headers: str) -> int:
    try:
        with urllib.request.urlopen(urllib.request.Request(address, headers=headers), timeout=20) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as refused:
        return refused.code


def held(site: str, number: str, token: str = "") -> bool:
    """Whether a server has the kernel of that number."""
    return status(f"{site}/api/kernels/{number}", Authorization=f"token {token}") == 200


def notebook(folder: Path, name: str, *cells: str) -> None:
    book = nbformat.v4.new_notebook(  # type: ignore[no-untyped-call]
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}, "title": "A trial"}
    )
    book.cells = [nbformat.v4.new_code_cell(cell) for cell in cells]  # type: ignore[no-untyped-call]
    nbformat.write(book, folder / f"{name}.ipynb")  # type: ignore[no-untyped-call]


Opener = Callable[..., Page]


@pytest.fixture(scope="session")
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
    flags = ["--MappingKernelManager.cull_idle_timeout=9", "--MappingKernelManager.cull_interval=1"]
    flags += ["--VoilaConfiguration.preheat_kernel=False", "--PageKernels.most=3", "--PageKernels.most_of_one=4"]
    with serving(folder, *flags) as address:
        yield address, next(folder.glob("*.log"))


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
            try:
                far = socket.create_connection(("127.0.0.1", self.to))
            except OSError:  # the server has ended
                near.close()
                continue
            self.ends += [near, far]
            for source, other in ((near, far), (far, near)):
                threading.Thread(target=self._carry, args=(source, other), daemon=True).start()

    @staticmethod
    def _carry(source: socket.socket, other: socket.socket) -> None:
        try:
            while piece := source.recv(65536):
                other.sendall(piece)
        except OSError:
            pass
        for end in (source, other):  # closed alone it would stay open for as long as the other thread waits on it
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def cut(self) -> None:
        self.whole = False
        for end in self.ends:
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                continue


class _Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_what: object) -> None:
        return None


def ask(address: str, method: str = "GET", **headers: str) -> tuple[int, Message, str]:
    """Status, headers and text of an answer; a redirection is one."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    asked = urllib.request.Request(address, headers=named, method=method)
    try:
        with urllib.request.build_opener(_Stay).open(asked, timeout=60) as answer:
            return answer.status, answer.headers, answer.read().decode()
    except urllib.error.HTTPError as refused:
        return refused.code, refused.headers, refused.read().decode()
