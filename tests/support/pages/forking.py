"""Kernels for a server under test, forked from one process that has imported the pages.

To start Python and import all that a page needs takes a kernel one core-second, and the tests of the pages start more
than a hundred. What a page imports later, for a tab that is opened, each imports itself. The servers of
`tests/project/` that are about kernels start theirs as a person's server does.
"""

from __future__ import annotations

import ctypes
import gc
import importlib
import json
import os
import re
import signal
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.support.paths import ROOT

FAULTS = "dashboards.panels.controls.faults"  # an extension of every kernel
PARENT = os.getpid()
ROOM = 4000  # bytes more for a kernel's command and for its environment, which tests read from outside


class Forked:
    """What jupyter_client needs of a Popen."""

    stdin = stdout = stderr = None

    def __init__(self, door: socket.socket, command: list[str], environment: dict[str, str], folder: str) -> None:
        self._door, self.returncode = door, None
        self.pid: int = self._ask([command, environment, folder])

    def _ask(self, what: Any) -> Any:
        sent = json.dumps(what).encode()
        self._door.sendall(len(sent).to_bytes(4, "big") + sent)
        return json.loads(self._door.recv(100))

    def poll(self) -> int | None:
        if self.returncode is None:
            self.returncode = self._ask(self.pid)
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """Called when it has ended, see `LocalProvisioner.wait`."""
        code = self.poll()
        assert code is not None
        return code

    def send_signal(self, number: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


def put_in_place() -> None:
    """In the server's process, before it is one: from here on its kernels are forked."""
    from jupyter_client.provisioning import local_provisioner

    ours, its = socket.socketpair()
    command = [sys.executable, "-m", __name__, str(its.fileno()), "-" * ROOM]
    # what a served page is told, asked for when its modules are imported
    room = os.environ | {"ROOM": "-" * ROOM, "VOILA_BASE_URL": "/", "WIRECALC_SERVED": "1"}
    subprocess.Popen(command, cwd=ROOT, env=room, pass_fds=[its.fileno()], stdin=subprocess.DEVNULL)
    its.close()

    def launch(cmd: list[str], env: dict[str, str], cwd: str | None = None, **_other: Any) -> Forked:
        return Forked(ours, cmd, env, cwd or str(Path.cwd()))

    theirs = vars(local_provisioner)
    assert callable(theirs["launch_kernel"])  # else it is another version than this was written for
    theirs["launch_kernel"] = launch


def _as_if_imported_here() -> None:
    """What ipywidgets does when it is imported in a kernel is done when the kernel stands, before any page."""
    faults, ipywidgets = map(importlib.import_module, (FAULTS, "ipywidgets"))
    loaded = faults.load_ipython_extension

    def load(shell: Any) -> None:
        ipywidgets.register_comm_target()
        loaded(shell)

    vars(faults)["load_ipython_extension"] = load


def _say(command: list[str], environment: dict[str, str]) -> None:
    """Have the list of processes say this one's own command and environment, not those it was forked with."""
    fields = Path("/proc/self/stat").read_text().rpartition(")")[2].split()
    for place, lines in ((45, command), (47, [f"{name}={value}" for name, value in environment.items()])):
        start, end = int(fields[place]), int(fields[place + 1])
        text = "\0".join(lines).encode().ljust(end - start, b"\0")
        assert len(text) == end - start, "no room"
        ctypes.memmove(start, text, len(text))


def _kernel(command: list[str], environment: dict[str, str], folder: str) -> None:
    """Be one, to its end."""
    os.environ.clear()
    os.environ.update(environment)
    os.environ["JPY_PARENT_PID"] = str(PARENT)  # whose end is the kernel's, though it be before the kernel begins
    os.chdir(folder)
    _say(command, environment)
    sys.argv = command[2:]  # of python -m ipykernel_launcher ...
    from ipykernel import kernelapp

    _as_if_imported_here()
    kernelapp.launch_new_instance(command[3:])


def serve(door: socket.socket) -> None:
    """Fork kernels, and say when they have ended, for as long as the server is there."""
    while size := door.recv(4):
        asked = json.loads(door.recv(int.from_bytes(size, "big"), socket.MSG_WAITALL))
        if isinstance(asked, int):
            number, status = os.waitpid(asked, os.WNOHANG)
            answer = os.waitstatus_to_exitcode(status) if number else None
        else:
            answer = os.fork()
            os.setpgid(answer, answer)  # a signal to the kernel's group must not reach the server's
            if not answer:
                door.close()
                _kernel(*asked)
                os._exit(0)
        door.sendall(json.dumps(answer).encode())


if __name__ == "__main__":
    for name in ("ipykernel.kernelapp", "ipykernel.ipkernel", "ipykernel.zmqshell", "ipykernel.debugger", "ipywidgets"):
        importlib.import_module(name)
    importlib.import_module(FAULTS)
    for page in sorted((ROOT / "dashboards").glob("*.ipynb")):  # what its first cell imports
        for imported in re.findall(r"from (dashboards[\w.]+) import", page.read_text()):
            importlib.import_module(imported)
    gc.collect()
    gc.freeze()
    serve(socket.socket(fileno=int(sys.argv[1])))
