"""What the server decides about kernels and visitors, without a server: how many, how soon again, whose."""

from __future__ import annotations

import asyncio
import os
from collections import deque
from pathlib import Path
from types import SimpleNamespace

import pytest
from tornado.httputil import HTTPHeaders

from dashboards.server import door, insides, kernels
from dashboards.server.kernels import PageKernels, memory_bytes


def test_memory_is_the_machines_or_what_a_container_may_have(tmp_path: Path) -> None:
    machine = memory_bytes(tmp_path / "none")
    limit = tmp_path / "memory.max"
    for text, expected in (("max\n", machine), ("500000000\n", 5e8), ("9" * 20, machine)):
        limit.write_text(text)
        assert memory_bytes(limit) == expected


@pytest.mark.parametrize(("gigabytes", "most", "of_one"), [(1, 8, 6), (4, 31, 21), (8, 73, 49), (512, 400, 267)])
def test_the_most_kernels_follow_the_memory(
    monkeypatch: pytest.MonkeyPatch, gigabytes: float, most: int, of_one: int
) -> None:
    """95 MB each and 1 GB for the rest, as measured; never so few that a page of each kind cannot be kept warm."""
    monkeypatch.setattr(kernels, "memory_bytes", lambda: gigabytes * 1e9)
    made = PageKernels.__new__(PageKernels)
    assert (made.most, made.most_of_one) == (most, of_one)


@pytest.mark.skipif(os.name == "nt", reason="these sockets are not files there")
def test_kernels_are_reached_by_files_where_a_name_fits(tmp_path: Path) -> None:
    """Where it does not, by ports as before: on macOS a temporary folder's name is long by itself."""
    for folder, transport in ((f"/{'t' * 51}", "ipc"), (f"/{'t' * 52}", "tcp"), (str(tmp_path / ("t" * 50)), "tcp")):
        made = PageKernels(connection_dir=folder)
        where = {"connection_file": f"{folder}/kernel.json", "kernel_name": "python3"}
        kernel = made.kernel_manager_factory(parent=made, **where)
        assert kernel.transport == transport


@pytest.fixture
def manager(monkeypatch: pytest.MonkeyPatch) -> PageKernels:
    """One with a clock of its own, `now`, and what it wants to do later, `due`."""
    made = PageKernels.__new__(PageKernels)
    made.failures, made._again_at, made._tried, made._disk_full, made._ended = 0, 0.0, False, False, deque()
    made.now, made.due = 0.0, []
    monkeypatch.setattr(kernels, "time", SimpleNamespace(monotonic=lambda: made.now))
    loop = SimpleNamespace(call_later=lambda wait, act: made.due.append(wait))
    monkeypatch.setattr(kernels, "asyncio", SimpleNamespace(get_running_loop=lambda: loop))
    monkeypatch.setattr(PageKernels, "_fill", lambda self: self.due.append("fill"))
    return made


def test_pauses_grow_to_a_bound_and_end_with_the_first_page(manager: PageKernels) -> None:
    for _ in range(9):
        manager.failed("no")
        manager.failed("five pages wait at the same time: that is one failure")
        manager.now += 1000
    assert manager.due == [5, 10, 20, 40, 80, 160, 300, 300, 300]
    manager.worked()
    assert manager.failures == manager.pause() == 0
    assert manager.due[-1] == "fill"
    manager.failed("no")
    assert manager.due[-1] == 5


def test_after_a_pause_one_is_tried_before_all(manager: PageKernels) -> None:
    manager.failed("no")

    def refused() -> int:
        with pytest.raises(door.Later) as told:
            asyncio.run(manager.start_kernel())
        return int(told.value.seconds)

    assert refused() == 7  # 5 s, and no sooner than after them
    manager.now = 6
    manager._tried = True  # one has been started
    assert refused() == 2
    manager._ended.append("left")
    manager.failed("its viewer had left", "left")
    assert manager.failures == 1


def request(address: str, **headers: str) -> SimpleNamespace:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return SimpleNamespace(remote_ip=address, headers=HTTPHeaders(named))


def test_whose_a_request_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door, "BALANCERS", frozenset({"10.0.0.9"}))
    assert door.client(request("10.0.0.1")) == "10.0.0.1"
    assert door.client(request("10.0.0.1", X_Forwarded_For="10.0.0.2")) == "10.0.0.1"  # anybody can write that
    assert door.client(request("10.0.0.9", X_Forwarded_For="6.6.6.6, 10.0.0.2")) == "10.0.0.2"
    assert door.client(request("10.0.0.9")) == "10.0.0.9"
    first, other = (door.client(request(f"2001:db8::{end}:1")) for end in ("1", "2"))
    assert first == other == "2001:db8::/64"  # whoever has one such address has all of the network
    assert door.client(request("10.0.0.9", X_Forwarded_For="nonsense")) == "nonsense"


def test_what_is_replaced_has_to_be_there() -> None:
    class Theirs:
        def send(self) -> None: ...

    insides.replace(Theirs, "send", lambda self: 1)
    assert Theirs().send() == 1
    with pytest.raises(AttributeError, match=r"Theirs\.write is gone"):
        insides.replace(Theirs, "write", lambda self: 1)


def test_a_kernel_that_is_being_ended_leaves_nothing_open(manager: PageKernels) -> None:
    """Its page's socket may close while it ends: what was open towards it was kept for a page that never comes back."""

    class Stream:
        open = True

        def closed(self) -> bool:
            return not self.open

        def on_recv(self, act: object) -> None:
            assert act is None

        def close(self) -> None:
            self.open = False

    channels = {"shell": Stream(), "iopub": Stream()}
    channels["iopub"].close()
    manager._ended.append("a")
    manager.start_buffering("a", "a:session", channels)
    assert not any(stream.open for stream in channels.values())
