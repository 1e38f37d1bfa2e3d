"""start.py started twice, stopped half way, killed, on a broken environment; small programs stand in for pip."""

from __future__ import annotations

import errno
import os
import signal
import socket
import stat
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from tests.support.site import free_port
from tests.support.starting import Folder, gone, load, said


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Folder]:
    made = Folder(tmp_path)
    yield made
    made.end()


@pytest.fixture
def start(tmp_path: Path) -> ModuleType:
    module = load()
    module.HERE, module.ENV = tmp_path, tmp_path / ".venv"
    module.PYTHON = module.ENV / "bin" / "python"
    module.ENV.mkdir()
    return module


def test_a_second_start_waits_for_the_first_install(folder: Folder) -> None:
    (folder.path / "hold").touch()
    first = folder.start()
    folder.wait("pip.pids")
    second = folder.start()
    assert second.stdout is not None
    assert "waiting for it" in second.stdout.readline()
    assert not folder.complete
    (folder.path / "hold").unlink()
    said(first)
    assert said(second) == ""
    assert (first.returncode, second.returncode) == (0, 0)
    assert folder.did == ["venv", "pip"]
    assert folder.complete


def test_one_who_was_killed_holds_nobody_up(folder: Folder) -> None:
    (folder.path / "hold").touch()
    first = folder.start()
    folder.wait("pip.pids")
    first.kill()
    (folder.path / "hold").unlink()
    second = folder.start()
    said(second)
    assert second.returncode == 0
    assert folder.complete


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=lambda how: how.name)
def test_whoever_stops_it_stops_the_install(folder: Folder, how: signal.Signals) -> None:
    """The signal goes to start.py alone, as from a program that watches it; not to the terminal's whole group."""
    (folder.path / "hold").touch()
    program = folder.start()
    numbers = folder.wait("pip.pids")
    program.send_signal(how)
    program.wait(20)
    assert gone(numbers)
    assert folder.did == ["venv"]
    assert not folder.complete


def test_what_is_not_whole_is_not_stamped_and_repair_mends_it(folder: Folder) -> None:
    (folder.path / "broken").touch()
    first = folder.start()
    words = said(first)
    assert first.returncode == 1
    assert "a 1 is not installed" in words
    assert "start.py --repair" in words
    assert not folder.complete
    (folder.path / "broken").unlink()
    again = folder.start("start.prepare(start.RUN_LOCK)")
    said(again)
    assert again.returncode == 0
    repaired = folder.start("start.prepare(start.RUN_LOCK, repair=True)")
    said(repaired)
    assert folder.did == ["venv", "pip"] * 3
    assert folder.complete


@pytest.mark.parametrize("damage", ["bytes", "empty", "folder", "half"])
def test_a_damaged_stamp_is_mended(folder: Folder, damage: str) -> None:
    said(folder.start())
    stamp = folder.path / ".venv" / "complete"
    whole = stamp.read_text()
    stamp.unlink()
    if damage == "folder":
        stamp.mkdir()
    else:
        stamp.write_bytes({"bytes": b"\xff\xfe\0", "empty": b"", "half": whole.encode()[:30]}[damage])
    again = folder.start(
        "import shutil; start.ENV.joinpath('complete').is_dir() and None; start.prepare(start.RUN_LOCK)"
    )
    words = said(again)
    assert "Traceback" not in words
    assert again.returncode == 0, words
    assert folder.did == ["venv", "pip"] * 2
    assert stamp.read_text() == whole


def test_a_running_server_keeps_its_environment(folder: Folder) -> None:
    said(folder.start())
    port = free_port()
    server = folder.start(f"start.serve({port}, False)")
    assert server.stdout is not None
    assert any(line.startswith("Ready") for line in server.stdout)
    (folder.path / "run.lock").write_text("a==2\n")  # as after an update
    second = folder.start()
    assert "stop them first" in said(second)
    assert second.returncode == 1
    assert folder.did == ["venv", "pip"]
    server.send_signal(signal.SIGINT)
    said(server)
    third = folder.start()
    said(third)
    assert third.returncode == 0
    assert folder.did == ["venv", "pip"] * 2


def test_of_two_starts_on_one_port_one_serves_and_the_other_says_so(folder: Folder) -> None:
    said(folder.start())
    port = free_port()
    first = folder.start(f"start.serve({port}, False)")
    assert first.stdout is not None
    assert any(line.startswith("Ready") for line in first.stdout)
    late = folder.start(f"start.serve({port}, False)")  # past the question whether the port is free
    words = said(late)
    assert late.returncode == 1
    assert "Ready" not in words
    assert f"took port {port}" in words
    asked = folder.start(f"start.serve(start.choose_port({port}), False)")
    assert f"Port {port} is taken" in said(asked)
    with socket.create_connection(("127.0.0.1", port), timeout=5):
        pass  # the first goes on
    first.send_signal(signal.SIGINT)
    assert "Stopped" in said(first)


def test_a_killed_start_takes_its_server_along(folder: Folder) -> None:
    said(folder.start())
    port = free_port()
    program = folder.start(f"start.serve({port}, False)")
    assert program.stdout is not None
    assert any(line.startswith("Ready") for line in program.stdout)
    program.kill()
    until = time.monotonic() + 10
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            return
        time.sleep(0.05)
    raise AssertionError("the server goes on")


# --- messages that are true ---------------------------------------------------------------------------------------


def test_a_machine_with_ipv6_only_is_told_so(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def bind(self: socket.socket, address: tuple[str, int]) -> None:
        raise OSError(errno.EADDRNOTAVAIL, os.strerror(errno.EADDRNOTAVAIL))

    monkeypatch.setattr(start.socket, "socket", type("Probe", (socket.socket,), {"bind": bind}))
    with pytest.raises(SystemExit, match=r"no address 127\.0\.0\.1") as ended:
        start.choose_port(None)
    assert "taken" not in str(ended.value)


@pytest.mark.parametrize("content", [b"", b"\n", b"\xff" * 30, b"short"])
def test_an_empty_or_damaged_token_is_made_anew(start: ModuleType, content: bytes) -> None:
    kept = start.ENV / "network-token"
    kept.write_bytes(content)
    kept.chmod(0o644)
    token = start.network_token()
    assert len(token) >= 24
    assert start.network_token() == token == kept.read_text()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_an_ordinary_user_is_told_the_programs_first_and_nothing_is_fetched(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[str, ...]] = []
    monkeypatch.delenv("WIRECALC_CHROMIUM", raising=False)
    monkeypatch.setattr(
        start.shutil, "which", lambda name, path=None: "/usr/bin/apt-get" if name == "apt-get" else None
    )
    monkeypatch.setattr(start.os, "geteuid", lambda: 1000)
    monkeypatch.setattr(start.subprocess, "run", lambda *command, **_how: asked.append(command))
    monkeypatch.setattr(start.subprocess, "Popen", lambda *command, **_how: asked.append(command))
    with pytest.raises(SystemExit, match="sudo apt install chromium units ngspice haproxy"):
        start.main(["test"])
    assert asked == []
    assert list(start.HERE.glob(".venv.*")) == []


# --- the log ------------------------------------------------------------------------------------------------------


def test_the_log_is_private_keeps_the_last_run_and_begins_anew_when_it_is_long(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = start.ENV / "server-1.log"
    log.write_text("of the last run")
    log.chmod(0o644)

    def end(*_what: object, env: dict[str, str], **_how: object) -> None:
        assert env["TRAITLETS_APPLICATION_RAISE_CONFIG_FILE_ERROR"] == "1"  # without it a settings file may fail
        raise KeyboardInterrupt

    monkeypatch.setattr(start, "running", end)
    start.serve(1, browser=False)
    assert (start.ENV / "server-1.last.log").read_text() == "of the last run"
    assert log.read_text() == ""
    assert stat.S_IMODE(log.stat().st_mode) == 0o600
    with start.private(log) as out:
        writer = subprocess.Popen(["cat"], stdin=subprocess.PIPE, stdout=out, text=True)
        assert writer.stdin is not None
        start.turn(log)
        writer.stdin.write("x" * 1000)
        writer.stdin.flush()
        while log.stat().st_size < 1000:
            time.sleep(0.01)
        monkeypatch.setattr(start, "MOST_LOG", 999)
        start.turn(log)
        assert log.stat().st_size == 0
        writer.stdin.write("after")
        writer.stdin.close()
        writer.wait(10)
    assert log.read_bytes() == b"after"  # at the beginning: no hole
    older = start.ENV / "server-1.older.log"
    assert older.read_text() == "x" * 1000
    assert stat.S_IMODE(older.stat().st_mode) == 0o600
