"""Start the dashboards, or run the tests, in a private Python environment made on the first start.

    python3 start.py               serve the dashboards on this machine and open the browser
    python3 start.py --network     serve them to other devices of this network too, with a token in the address
    python3 start.py --edit        for who changes the code: each load of a page is of the code as it then is
    python3 start.py --repair      make the private environment anew first
    python3 start.py audit         what is installed, whether it is what the lock names, and what is known against it
    python3 start.py test          run every check; `test ARGUMENTS` hands the arguments to pytest instead

Nothing outside this folder is changed: the environment is .venv/, from the lock files, and deleting it undoes all.
Only `test`, run as root where there is apt-get, installs outside programs. Standard library only.
"""

from __future__ import annotations

import argparse
import contextlib
import errno
import hashlib
import importlib.util
import os
import secrets
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
import webbrowser
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import IO, Any

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

HERE = Path(__file__).resolve().parent
ENV = HERE / ".venv"
PYTHON = ENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
RUN_LOCK, TEST_LOCK = HERE / "requirements.lock", HERE / "requirements-test.lock"  # the second holds the first
AUDIT = HERE / "audit.py"
OLDEST = (3, 11)
PORT = 8173  # any other would do
MOST_LOG = 5_000_000  # bytes; then it is begun anew and the older part kept beside it
PAGE = "voila/render/one_run.ipynb"
PACKAGES = {"chromium": ["chromium", "fonts-liberation"]}  # in Debian's apt; of other programs, one by their name
# the first has no windows at all, so a page takes a third of the processor's time: used, not asked for
BROWSERS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
TOLD: dict[str, Any] = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True, "errors": "replace"}
NO_IPV4 = """This machine has no address 127.0.0.1, by which its own programs reach each other; ::1 is not enough here.
On Linux: sudo ip address add 127.0.0.1/8 dev lo"""
REPAIR = "python3 start.py --repair makes it anew."
# Ctrl-C reaches every program of a terminal: ours are set apart, to be stopped by us
APART: dict[str, Any] = {"creationflags": 0x200} if os.name == "nt" else {"start_new_session": True}  # a group
# runs a module; without this package jsonschema does not make 38 unused grammars at each start, over a second's work
QUICK = """
import runpy, sys
sys.modules["rfc3987_syntax"] = None
del sys.argv[0]
runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)
"""
# and ends it when whoever started it is gone, in whatever way: then its input ends
WATCHED = f"""
import os, signal, sys, threading
def watch():
    os.read(0, 1)
    (os.kill if os.name == "nt" else os.killpg)(os.getpid(), signal.SIGTERM)
threading.Thread(target=watch, daemon=True).start()
{QUICK}
"""
ON_A_NETWORK = """
Whoever has the address below, token included, can open the pages from any device on this network; nobody else can.
Give it only to them. {}
Windows and macOS may ask whether Python may be reached from the network. To make the address invalid, delete
.venv/network-token and start again.
"""
PLAIN = "It is sent unencrypted: this is for a shop's own network, not for the internet."
ENCRYPTED = "It is encrypted; a browser is content when it is asked for by the name that stands in the certificate."
WAYS = {
    "Debian, Ubuntu or Windows' WSL": "sudo apt install {}",
    "Fedora": "sudo dnf install {}",
    "macOS": "brew install {} (GNU units is gnu-units there: put its libexec/gnubin first in PATH)",
}


def say(text: str) -> None:
    """Print at once, so that the order holds beside what other programs print."""
    print(text, flush=True)


def unfit(version: Sequence[Any], modules: Sequence[object]) -> str:
    """Why this Python cannot be used, and what to do; empty when it can."""
    if tuple(version[:2]) < OLDEST:
        return f"This needs Python {OLDEST[0]}.{OLDEST[1]} or newer, not {version[0]}.{version[1]}: see python.org."
    if not all(modules):
        return "This Python cannot make environments: sudo apt install python3-venv (Debian, Ubuntu) helps."
    return ""


def clean(environment: Mapping[str, str]) -> dict[str, str]:
    """The variables for our programs: nothing of the person's own Python, Jupyter or IPython gets in."""
    alien = ("JUPYTER", "VOILA", "IPYTHON", "PYTHON", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT")
    ours = {
        "IPYTHONDIR": str(ENV / "ipython"),
        "JUPYTER_CONFIG_DIR": str(ENV / "etc" / "jupyter"),
        "JUPYTER_DATA_DIR": str(ENV / "share" / "jupyter"),
        "JUPYTER_PREFER_ENV_PATH": "1",
        "PIP_DISABLE_PIP_VERSION_CHECK": "1",
        "PIP_USER": "0",
    }
    return {name: value for name, value in environment.items() if not name.upper().startswith(alien)} | ours


def ask(*command: str) -> subprocess.CompletedProcess[str]:
    """Run a command and keep what it prints."""
    return subprocess.run(command, env=clean(os.environ), **TOLD)


@contextlib.contextmanager
def running(python: str | Path, module: str, *arguments: str, **how: Any) -> Iterator[subprocess.Popen[str]]:
    """A module of Python's in a process of its own that does not outlive this: not after Ctrl-C, not after kill -9."""
    command = [str(python), "-c", WATCHED, module, *arguments]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, **{"env": clean(os.environ), **how, **APART})
    try:
        yield process
    finally:
        end(process)


def end(process: subprocess.Popen[str]) -> None:
    """Stop a program of ours and what it has started; if it does not, make it."""
    if process.poll() is None:
        process.terminate() if sys.platform == "win32" else os.killpg(process.pid, signal.SIGTERM)
        try:
            process.wait(15)
        except (subprocess.TimeoutExpired, KeyboardInterrupt):
            process.kill()  # its kernels notice and end themselves
    for pipe in filter(None, (process.stdin, process.stdout)):
        pipe.close()


def reason(text: str) -> str:
    """The line of a program's output that tells most: the last error, else the last line."""
    lines = [line.strip() for line in text.splitlines() if line.strip()] or ["no reason given"]
    return next((line for line in reversed(lines) if "error" in line.lower()), lines[-1])


def token(lock: Path) -> str:
    """What the stamp holds once `lock` is installed: it changes with the lock and with the Python."""
    python = f"{sys.version_info[0]}.{sys.version_info[1]} {sys.base_prefix}\n"
    return hashlib.sha256(python.encode() + lock.read_bytes()).hexdigest()


def hold(what: str, shared: bool = False) -> IO[str] | None:
    """A file, kept open to say that the environment is being "made" or "used"; None while another's forbids it."""
    file = (HERE / f".venv.{what}.lock").open("a+")  # the system lets go of it when the process ends, in whatever way
    try:
        if sys.platform != "win32":
            fcntl.flock(file, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
        elif not shared:  # there a program that runs cannot be deleted anyway
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    except OSError:
        file.close()
        return None
    return file


def prepare(*locks: Path, repair: bool = False) -> None:
    """Make the environment with the last of `locks`, each of which holds the one before, unless it is ready."""
    making = hold("made")
    if making is None:
        say("Another start is making the private environment: waiting for it ...")
        while making is None:
            time.sleep(0.3)
            making = hold("made")
    with making:
        wanted, have = [token(lock) for lock in locks], stamped()
        if repair or not set(wanted) <= set(have):
            make(locks[-1], wanted, add=wanted[0] in have and not repair)


def stamped() -> list[str]:
    """What the environment is complete with; nothing when it is not, or when that cannot be read."""
    try:
        return (ENV / "complete").read_text("utf-8", "replace").split() if PYTHON.exists() else []
    except OSError:
        return []


def make(lock: Path, wanted: Sequence[str], add: bool) -> None:
    """Install `lock` in a new environment, or add it to the one there is; stamp it once it has been looked through."""
    if add:
        say("Adding what the tests need to .venv ...")
        (ENV / "complete").unlink()
    else:
        using = hold("used")
        if using is None:
            sys.exit("The dashboards run from this folder and would lose their environment: stop them first.")
        with using:
            say(f"{'Remaking' if ENV.exists() else 'Making'} the private environment .venv (once) ...")
            new_environment()
    install(lock)
    look_through(lock)
    (ENV / "stamp").write_text("\n".join(wanted), "utf-8")
    (ENV / "stamp").replace(ENV / "complete")


def new_environment() -> None:
    """An empty one in place of whatever was there."""
    if ENV.is_file() or ENV.is_symlink():
        sys.exit(f"{ENV} is not a folder of ours: move it away, then start again.")
    with running(sys.executable, "venv", "--clear", str(ENV), **TOLD) as venv:
        output = venv.stdout.read() if venv.stdout else ""
    if venv.returncode:
        sys.exit(f"The environment could not be made: {reason(output)}")


def install(lock: Path) -> None:
    """Install exactly what `lock` names: no other version, no other file, nothing built here or compiled ahead."""
    say("Fetching some hundred packages, a dot each ...")
    arguments = ["install", "--require-hashes", "--no-deps", "--only-binary", ":all:", "--progress-bar", "off"]
    output = ""
    with running(PYTHON, "pip", *arguments, "--no-compile", "-r", str(lock), **TOLD) as pip:
        for line in pip.stdout or ():
            output += line
            if line.startswith(("Collecting", "Processing")):  # from the net, from a disk
                print(".", end="", flush=True)
            if line.startswith("Installing"):
                say("\nInstalling them (a minute or so) ...")
        pip.wait()
    if pip.returncode and "connection" in output.lower():
        sys.exit("The packages could not be fetched: is this machine online? Only the first start needs the net.")
    if pip.returncode:
        sys.exit(f"The packages could not be installed: {reason(output)}")


def look_through(lock: Path) -> None:
    """End if what is installed is not what `lock` names, whole."""
    audit = ask(str(PYTHON), str(AUDIT), "check", str(lock))
    if audit.returncode:
        sys.exit(f"The environment is not whole: {reason(audit.stdout)}\n{REPAIR}")


def free(port: int) -> bool:
    """Whether a server of ours could listen on `port`."""
    with socket.socket() as probe:
        if os.name != "nt":  # as the server does: a connection just closed does not count
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except (OSError, OverflowError) as why:
            if getattr(why, "errno", None) == errno.EADDRNOTAVAIL:
                sys.exit(NO_IPV4)
            return False
    return True


def choose_port(asked: int | None) -> int:
    """The port asked for, or else the first free one of ours."""
    port = next((port for port in ([asked] if asked else range(PORT, PORT + 100)) if free(port)), None)
    if port is None:
        sys.exit(f"Port {asked or PORT} is taken or not allowed: give a free one with --port.")
    if port not in (asked, PORT):
        say(f"Port {PORT} is taken (started already?): using {port}.")
    return port


def private(path: Path) -> IO[str]:
    """A file opened for writing at its end, for nobody but who runs this."""
    number = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    if sys.platform != "win32":
        os.fchmod(number, 0o600)
    return os.fdopen(number, "w")


def network_token() -> str:
    """What the address must hold on a network: the same at every start, so that bookmarks last."""
    kept = ENV / "network-token"
    try:
        secret = kept.read_text("ascii").strip()
    except (OSError, UnicodeDecodeError):
        secret = ""
    if len(secret) < 20:  # none, or what a full disk left of it
        kept.unlink(missing_ok=True)
        secret = secrets.token_urlsafe(18)
        with private(kept) as file:
            file.write(secret)
    return secret


def own_address() -> str:
    """This machine's address on its network; its own name for itself when there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for examples: nothing is sent, only the way is looked up
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def server_arguments(port: int) -> list[str]:
    """What the dashboards' server is told, to be run from the project's folder; where it listens its settings say."""
    flags = ["--no-browser", f"--port={port}", "--Voila.port_retries=0"]
    return ["dashboards", *flags, "--Voila.config_file_paths=dashboards/server"]


def serve(port: int, browser: bool, network: bool = False, certificate: str = "", key: str = "") -> None:
    """Run the server until it is told to stop."""
    say("Starting the dashboards ...")
    log, scheme = ENV / f"server-{port}.log", "https" if certificate else "http"
    token, mark = network_token() if network else "", secrets.token_hex(8)
    environment = clean(os.environ) | {"WIRECALC_TOKEN": token, "WIRECALC_START": mark}
    environment["TRAITLETS_APPLICATION_RAISE_CONFIG_FILE_ERROR"] = "1"  # else a fault in the settings is passed over
    if certificate:
        environment["WIRECALC_CERTIFICATE"] = str(Path(certificate).resolve())
        environment["WIRECALC_KEY"] = str(Path(key).resolve()) if key else ""
    if log.exists():
        log.replace(log.with_suffix(".last.log"))
    with hold("used", shared=True) or contextlib.nullcontext(), private(log) as out:
        how = {"stdout": out, "stderr": subprocess.STDOUT, "cwd": HERE, "env": environment}
        try:
            with running(PYTHON, "voila", *server_arguments(port), **how) as server:
                if answers(f"{scheme}://127.0.0.1:{port}/health", mark, server):
                    page = f"http://127.0.0.1:{port}/{PAGE}"
                    if network:
                        page = f"{scheme}://{own_address()}:{port}/{PAGE}?token={token}"
                        say(ON_A_NETWORK.format(ENCRYPTED if certificate else PLAIN))
                    say(f"Ready: {page}\nCtrl-C stops it. What it logs: {log}")
                    if browser:
                        webbrowser.open(page)
                    while server.poll() is None:  # on Windows wait() would not see Ctrl-C
                        time.sleep(0.2)
                        turn(log)
                sys.exit(f"The server ended: {why_ended(log.read_text(errors='replace'), port)}\nIts log: {log}")
        except KeyboardInterrupt:
            say("\nStopped.")


def turn(log: Path) -> None:
    """Begin a long log anew; its older part stays beside it. Programs that write to it go on at its new end."""
    if log.stat().st_size > MOST_LOG:
        older = log.with_suffix(".older.log")
        with private(older):
            shutil.copyfile(log, older)
        os.truncate(log, 0)


def why_ended(log: str, port: int) -> str:
    """What the server's log gives as the reason, and what to do."""
    if "already in use" in log:
        return f"another program took port {port} in this very moment. Start again, or give another with --port."
    if "ImportError" in log or "ModuleNotFoundError" in log:
        return f"{reason(log)}\nIf something is missing from the private environment: {REPAIR}"
    return reason(log)


def answers(address: str, mark: str, server: subprocess.Popen[str]) -> bool:
    """Wait for our server, no other that has the port: it shows `mark`. False if it never comes."""
    context = ssl.create_default_context()
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE  # the certificate has the shop's name
    how = [urllib.request.ProxyHandler({}), urllib.request.HTTPSHandler(context=context)]
    direct, until = urllib.request.build_opener(*how), time.monotonic() + 120
    while server.poll() is None and time.monotonic() < until:
        with contextlib.suppress(OSError), direct.open(address, timeout=5) as answer:
            if answer.headers["Wirecalc-Start"] == mark:
                return True
        time.sleep(0.1)
    return False


def find_programs() -> dict[str, str | None]:
    """Where each outside program is; None when it is missing."""
    units = shutil.which("units")
    if units and "GNU" not in ask(units, "--version").stdout:
        units = None  # macOS and the BSDs have another one by that name
    browser = os.environ.get("WIRECALC_CHROMIUM") or next(filter(None, map(shutil.which, BROWSERS)), None)
    if not browser and PYTHON.exists():
        own = "from playwright.sync_api import sync_playwright as s\nwith s() as p: print(p.chromium.executable_path)"
        path = ask(str(PYTHON), "-c", own).stdout.strip()
        browser = path if Path(path).is_file() else None
    path = os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/sbin"])  # not in everybody's path
    others = {name: shutil.which(name, path=path) for name in ("ngspice", "haproxy")}
    return {"chromium": browser, "units": units, **others}


def install_commands(missing: Sequence[str], root_of_debian: bool) -> list[list[str]]:
    """How the missing programs are installed without asking, as far as we may."""
    if not missing or not root_of_debian:
        return []
    install = ["apt-get", "install", "-qy", "--no-install-recommends"]  # one by one: not every system has all
    each = [[*install, *PACKAGES.get(program, [program])] for program in missing]
    return [["apt-get", "update", "-q"], *each]


def advice(missing: Sequence[str]) -> str:
    """What a person types to install the missing programs, one line a system."""
    lines = [f"  {system}: {command.format(' '.join(missing))}" for system, command in WAYS.items()]
    return "\n".join([f"The tests need what is not found here: {', '.join(missing)}. To install:", *lines])


def get_programs() -> dict[str, str]:
    """The outside programs, installed where we may; ends with advice when one is missing all the same."""
    programs = find_programs()
    missing = [name for name, place in programs.items() if not place]
    root_of_debian = bool(shutil.which("apt-get")) and os.geteuid() == 0
    light = [] if "WIRECALC_CHROMIUM" in os.environ or shutil.which(BROWSERS[0]) else [BROWSERS[0]]
    for command in install_commands([*missing, *light], root_of_debian):
        say(f"Installing: {' '.join(command)}")
        subprocess.run(command, env=clean(os.environ) | {"DEBIAN_FRONTEND": "noninteractive"})
    programs = find_programs() if missing or light else programs
    missing = [name for name, place in programs.items() if not place]
    if missing:
        sys.exit(advice(missing))
    return {name: place for name, place in programs.items() if place}


def steps(arguments: Sequence[str]) -> dict[str, list[str]]:
    """What `test` runs, about the longest first."""
    python, test = [str(PYTHON), "-m"], [str(PYTHON), "-m", "pytest"]
    pages, server = ({name: [*test, "-m", "browser", f"tests/{name}"]} for name in ("browser", "project"))
    rest, own, panels = [*test, "-m", "not browser"], ("tests/wirecalc", "wirecalc"), "tests/panels"
    tests = {"package": [*rest, *own, "--cov"], "panels": [*rest, panels]} | server
    tests |= {"others": [*rest, *(f"--ignore={folder}" for folder in (*own, panels))]}
    ruff = {f"ruff {how}": [*python, "ruff", *how.split()] for how in ("check", "format --check")}
    whole = pages | tests | {"mypy": [*python, "mypy"]} | ruff
    return {"pytest": [*test, *arguments]} if arguments else whole


def run_step(name: str, command: Sequence[str], how: Mapping[str, Any]) -> str:
    """Run one, whatever the others say; how it ended."""
    began = time.monotonic()
    done = subprocess.run(command, cwd=HERE, **how)
    outcome = f"FAILED ({done.returncode})" if done.returncode else "passed"
    ended = f"{name:19} {outcome:10} {time.monotonic() - began:6.1f} s"
    say(f"\n== {name}: {' '.join(command[1:])}\n{done.stdout or ''}\n== {ended}")
    return ended


def run_tests(arguments: Sequence[str]) -> int:
    """Run every step; 1 if any failed, one without any test included."""
    programs = get_programs()  # first: what a person has to install is said before anything is fetched
    prepare(RUN_LOCK, TEST_LOCK)
    how = {"env": clean(os.environ) | {"WIRECALC_CHROMIUM": programs["chromium"]}} | ({} if arguments else TOLD)
    with ThreadPoolExecutor(3) as pool:  # on two cores: steps with a browser or a server wait at times
        summary = list(pool.map(lambda step: run_step(step[0], step[1], how), steps(arguments).items()))
    say("\n" + "\n".join(summary))
    return int(any(" FAILED " in line for line in summary))


def main(arguments: Sequence[str]) -> int:
    """Do what the command line asks; the exit code."""
    if arguments[:1] == ["test"] and not {"-h", "--help"} & set(arguments):
        return run_tests(arguments[1:])
    if arguments[:1] == ["audit"]:
        if not PYTHON.exists():
            sys.exit("Nothing is installed yet: python3 start.py does that.")
        return subprocess.run([str(PYTHON), str(AUDIT), *arguments[1:]], env=clean(os.environ)).returncode
    parser = argparse.ArgumentParser(description="Serve the dashboards. `start.py test [words for pytest]` tests.")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")
    parser.add_argument("--network", action="store_true", help="for other devices of this network too, with a token")
    parser.add_argument("--certificate", default="", help="with --network: encrypt, with this certificate (PEM)")
    parser.add_argument("--key", default="", help="the certificate's private key, if it is not in the same file (PEM)")
    parser.add_argument("--port", type=int, help=f"default: {PORT}, or the next free one")
    parser.add_argument("--edit", action="store_true", help="no kernel is warmed up: a reload shows what was changed")
    parser.add_argument("--repair", action="store_true", help="make the private environment anew first")
    options = parser.parse_args(arguments)
    if (options.certificate and not options.network) or (options.key and not options.certificate):
        parser.error("--certificate goes with --network, and --key with --certificate")
    if options.certificate:
        try:
            context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
            context.load_cert_chain(options.certificate, options.key or None)
        except OSError as why:
            sys.exit(f"That certificate and key cannot be used: {why}")
    prepare(RUN_LOCK, repair=options.repair)
    os.environ["WIRECALC_EDIT"] = "1" if options.edit else ""
    serve(choose_port(options.port), not options.no_browser, options.network, options.certificate, options.key)
    return 0


if __name__ == "__main__":
    problem = unfit(sys.version_info, [importlib.util.find_spec(name) for name in ("venv", "ensurepip")])
    if problem:
        sys.exit(problem)
    stops = [signal.SIGINT, signal.SIGTERM]
    if hasattr(signal, "SIGHUP") and signal.getsignal(signal.SIGHUP) != signal.SIG_IGN:  # nohup ignores it
        stops.append(signal.SIGHUP)
    for stop in stops:  # in whatever way we are asked to stop, the server stops too
        signal.signal(stop, signal.default_int_handler)
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)  # what a shell reports for a program ended by Ctrl-C
    except OSError as problem:
        sys.exit(f"This did not work: {problem}")
