"""start.py in a folder of its own, where pip, venv and the server are small programs that say what they did."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import time
from pathlib import Path
from types import ModuleType

import psutil

FILE = Path(__file__).parent.parent.parent / "start.py"
# `work(how)` is waited for where the real program would be busy, as long as there is a file `hold`
FAKE = """
import os, pathlib, subprocess, sys, time
def did(what):
    with open("did", "a") as out: out.write(what + "\\n")
def busy(what):
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    pathlib.Path(what + ".pids").write_text(f"{os.getpid()} {child.pid}")
    while pathlib.Path("hold").exists(): time.sleep(0.05)
    child.kill()
"""
VENV = (
    FAKE
    + """
did("venv")
folder = pathlib.Path(sys.argv[-1])
(folder / "bin").mkdir(parents=True, exist_ok=True)
for one in folder.glob("*"):
    if one.is_file(): one.unlink()
    elif one.name != "bin": one.rmdir()
python = folder / "bin" / "python"
if not python.exists(): python.symlink_to(sys.executable)
"""
)
PIP = (
    FAKE
    + """
print("Collecting a", flush=True)
busy("pip")
did("pip")
"""
)
CHECK = "import sys, pathlib\nif pathlib.Path('broken').exists(): sys.exit(print('a 1 is not installed') or 1)\n"
SERVER = """
import http.server, os, socketserver, sys
port = int(next(word for word in sys.argv if word.startswith("--port=")).partition("=")[2])
class Answer(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(200)
        self.send_header("Wirecalc-Start", os.environ["WIRECALC_START"])
        self.end_headers()
try:
    server = socketserver.TCPServer(("127.0.0.1", port), Answer)
except OSError:
    sys.exit(f"The port {port} is already in use, trying another port.")
server.serve_forever()
"""
DRIVER = """
import importlib.util, pathlib, signal, sys
for stop in (signal.SIGINT, signal.SIGTERM): signal.signal(stop, signal.default_int_handler)
spec = importlib.util.spec_from_file_location("start", sys.argv[1])
start = importlib.util.module_from_spec(spec)
spec.loader.exec_module(start)
here = pathlib.Path.cwd()
start.HERE, start.ENV, start.PYTHON = here, here / ".venv", here / ".venv" / "bin" / "python"
start.RUN_LOCK, start.TEST_LOCK, start.AUDIT = here / "run.lock", here / "test.lock", here / "check.py"
try:
    exec(sys.argv[2])
except KeyboardInterrupt:
    sys.exit(130)
"""


class Folder:
    """A project's folder for one test; `programs` are all that were started in it."""

    def __init__(self, path: Path) -> None:
        self.path, self.programs = path, list[subprocess.Popen[str]]()
        for name, text in {"venv": VENV, "pip": PIP, "check": CHECK, "voila": SERVER}.items():
            (path / f"{name}.py").write_text(text)
        (path / "run.lock").write_text("a==1\n")
        (path / "test.lock").write_text("a==1\nb==2\n")

    def start(self, code: str = "start.prepare(start.RUN_LOCK)") -> subprocess.Popen[str]:
        command = [sys.executable, "-c", DRIVER, str(FILE), code]
        how = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True, "cwd": self.path}
        self.programs.append(subprocess.Popen(command, **how))  # type: ignore[call-overload]
        return self.programs[-1]

    def wait(self, name: str) -> str:
        """What a file says, once it is there and not empty."""
        until = time.monotonic() + 20
        while not ((self.path / name).exists() and (self.path / name).read_text()):
            assert time.monotonic() < until, f"no {name}"
            time.sleep(0.02)
        return (self.path / name).read_text()

    @property
    def did(self) -> list[str]:
        """What venv and pip have done, in order."""
        return (self.path / "did").read_text().split() if (self.path / "did").exists() else []

    @property
    def complete(self) -> bool:
        return (self.path / ".venv" / "complete").exists()

    def end(self) -> None:
        for program in self.programs:
            if program.poll() is None:
                program.kill()
            program.communicate()


def said(program: subprocess.Popen[str]) -> str:
    """What a program printed until its end."""
    return program.communicate(timeout=30)[0]


def gone(numbers: str) -> bool:
    """Whether the processes of these numbers end within ten seconds."""
    there = [psutil.Process(int(number)) for number in numbers.split() if psutil.pid_exists(int(number))]
    return bool(psutil.wait_procs(there, timeout=10)[1] == [])


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("start", FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
