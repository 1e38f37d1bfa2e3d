"""Start the dashboards, or run the tests, in a private Python environment made on the first start.

    python3 start.py               serve the dashboards on this machine and open the browser
    python3 start.py --network     serve them to other devices of this network too, with a token in the address
    python3 start.py test          run every check; `test ARGUMENTS` hands the arguments to pytest instead

Nothing outside this folder is changed: the environment is .venv/, from the lock files, and deleting it undoes all.
Only `test`, run as root where there is apt-get, installs outside programs. Standard library only.
"""

import argparse
import hashlib
import importlib.util
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
import webbrowser
from pathlib import Path

HERE = Path(__file__).resolve().parent
ENV = HERE / ".venv"
PYTHON = ENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
RUN_LOCK, TEST_LOCK = HERE / "requirements.lock", HERE / "requirements-test.lock"  # the second holds the first
OLDEST = (3, 11)
PORT = 8173  # any other would do
PAGE = "voila/render/one_run.ipynb"
# program -> packages by that name in Debian's apt, which is also what we install where we may
PROGRAMS = {
    "chromium": ["chromium", "fonts-liberation"],
    "ngspice": ["ngspice"],
    "units": ["units"],
    "haproxy": ["haproxy"],
}
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
TOLD = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True, "errors": "replace"}
ON_A_NETWORK = """
Whoever has the address below, token included, can open the pages from any device on this network; nobody else can.
Give it only to them. It is sent unencrypted: this is for a shop's own network, not for the internet. Windows and
macOS may ask whether Python may be reached from the network. To make the address invalid, delete .venv/network-token
and start again.
"""
WAYS = {
    "Debian, Ubuntu or Windows' WSL": "sudo apt install {}",
    "Fedora": "sudo dnf install {}",
    "macOS": "brew install {} (GNU units is gnu-units there: put its libexec/gnubin first in PATH)",
}


def say(text):
    """Print at once, so that the order holds beside what other programs print."""
    print(text, flush=True)


def unfit(version, modules):
    """Why this Python cannot be used, and what to do; empty when it can."""
    if tuple(version[:2]) < OLDEST:
        return f"This needs Python {OLDEST[0]}.{OLDEST[1]} or newer, not {version[0]}.{version[1]}: see python.org."
    if not all(modules):
        return "This Python cannot make environments: sudo apt install python3-venv (Debian, Ubuntu) helps."
    return ""


def clean(environment):
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


def ask(*command):
    """Run a command and keep what it prints."""
    return subprocess.run(command, env=clean(os.environ), **TOLD)


def reason(text):
    """The line of a program's output that tells most: the last error, else the last line."""
    lines = [line.strip() for line in text.splitlines() if line.strip()] or ["no reason given"]
    return next((line for line in reversed(lines) if "error" in line.lower()), lines[-1])


def token(lock):
    """What the stamp holds once `lock` is installed: it changes with the lock and with the Python."""
    python = f"{sys.version_info[0]}.{sys.version_info[1]} {sys.base_prefix}\n"
    return hashlib.sha256(python.encode() + lock.read_bytes()).hexdigest()


def prepare(*locks):
    """Make the environment with the last of `locks`, each of which holds the one before, unless it is ready."""
    stamp, wanted = ENV / "complete", [token(lock) for lock in locks]
    have = stamp.read_text().split() if PYTHON.exists() and stamp.exists() else []
    if set(wanted) <= set(have):
        return
    if wanted[0] in have:
        say("Adding what the tests need to .venv ...")
        stamp.unlink()
    else:
        say(f"{'Remaking' if ENV.exists() else 'Making'} the private environment .venv (once) ...")
        made = ask(sys.executable, "-m", "venv", "--clear", str(ENV))
        if made.returncode:
            sys.exit(f"The environment could not be made: {reason(made.stdout)}")
    install(locks[-1])
    stamp.write_text("\n".join(wanted))


def install(lock):
    """Install exactly what `lock` names: no other version, no other file, nothing built here."""
    say("Fetching some hundred packages, a dot each ...")
    command = [str(PYTHON), "-m", "pip", "install", "--require-hashes", "--no-deps", "--only-binary", ":all:"]
    output = ""
    with subprocess.Popen([*command, "--progress-bar", "off", "-r", str(lock)], env=clean(os.environ), **TOLD) as pip:
        for line in pip.stdout:
            output += line
            if line.startswith(("Collecting", "Processing")):  # from the net, from a disk
                print(".", end="", flush=True)
            if line.startswith("Installing"):
                say("\nInstalling them (a minute or so) ...")
    if pip.returncode and "connection" in output.lower():
        sys.exit("The packages could not be fetched: is this machine online? Only the first start needs the net.")
    if pip.returncode:
        sys.exit(f"The packages could not be installed: {reason(output)}")


def free(port):
    """Whether a server of ours could listen on `port`."""
    with socket.socket() as probe:
        if os.name != "nt":  # as the server does: a connection just closed does not count
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except (OSError, OverflowError):
            return False
    return True


def choose_port(asked):
    """The port asked for, or else the first free one of ours."""
    port = next((port for port in ([asked] if asked else range(PORT, PORT + 100)) if free(port)), None)
    if port is None:
        sys.exit(f"Port {asked or PORT} is taken or not allowed: give a free one with --port.")
    if port not in (asked, PORT):
        say(f"Port {PORT} is taken (started already?): using {port}.")
    return port


def network_token():
    """What the address must hold on a network: the same at every start, so that bookmarks last."""
    kept = ENV / "network-token"
    if not kept.exists():
        kept.touch(0o600)
        kept.write_text(secrets.token_urlsafe(18))
    return kept.read_text()


def own_address():
    """This machine's address on its network; its own name for itself when there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for examples: nothing is sent, only the way is looked up
        except OSError:
            return "127.0.0.1"
        return probe.getsockname()[0]


def server_command(port, network=False):
    """The dashboards' server, to be run from the project's folder."""
    ip = "0.0.0.0" if network else "127.0.0.1"
    flags = ["--no-browser", f"--Voila.ip={ip}", f"--port={port}", "--Voila.port_retries=0"]
    return [str(PYTHON), "-m", "voila", "dashboards", *flags, "--Voila.config_file_paths=dashboards/server"]


def serve(port, browser, network=False):
    """Run the server until it is told to stop."""
    say("Starting the dashboards ...")
    log, address = ENV / f"server-{port}.log", f"http://127.0.0.1:{port}/"
    token = network_token() if network else ""
    environment = clean(os.environ) | {"WIRECALC_TOKEN": token}
    # Ctrl-C reaches every program of a terminal: the server is set apart, to be stopped by us
    apart = {"creationflags": 0x200} if os.name == "nt" else {"start_new_session": True}  # a new process group
    with log.open("w") as out:
        told = {"stdin": subprocess.DEVNULL, "stdout": out, "stderr": subprocess.STDOUT}
        server = subprocess.Popen(server_command(port, network), cwd=HERE, env=environment, **told, **apart)
    try:
        if answers(address, server):
            page = f"{address}{PAGE}" if not network else f"http://{own_address()}:{port}/{PAGE}?token={token}"
            if network:
                say(ON_A_NETWORK)
            say(f"Ready: {page}\nCtrl-C stops it. What it logs: {log}")
            if browser:
                webbrowser.open(page)
            while server.poll() is None:  # on Windows wait() would not see Ctrl-C
                time.sleep(0.2)
        sys.exit(f"The server ended: {reason(log.read_text(errors='replace'))} (its log: {log})")
    except KeyboardInterrupt:
        say("\nStopping ...")
    finally:
        server.terminate()
        try:
            server.wait(15)
        except (subprocess.TimeoutExpired, KeyboardInterrupt):
            server.kill()  # its kernels notice and end themselves


def answers(address, server):
    """Wait for the list of pages, which is cheap: a page would start a kernel. False if it never comes."""
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    until = time.monotonic() + 120
    while server.poll() is None and time.monotonic() < until:
        try:
            direct.open(address, timeout=5).close()
        except OSError:
            time.sleep(0.1)
        else:
            return True
    return False


def find_programs():
    """Where each outside program is; None when it is missing."""
    units = shutil.which("units")
    if units and "GNU" not in ask(units, "--version").stdout:
        units = None  # macOS and the BSDs have another one by that name
    browser = os.environ.get("WIRECALC_CHROMIUM") or next(filter(None, map(shutil.which, BROWSERS)), None)
    if not browser:
        own = "from playwright.sync_api import sync_playwright as s\nwith s() as p: print(p.chromium.executable_path)"
        path = ask(str(PYTHON), "-c", own).stdout.strip()
        browser = path if Path(path).is_file() else None
    path = os.pathsep.join([os.environ.get("PATH", os.defpath), "/usr/sbin"])  # not in everybody's path
    others = {name: shutil.which(name, path=path) for name in ("ngspice", "haproxy")}
    return {"chromium": browser, "units": units, **others}


def install_commands(missing, root_of_debian):
    """How the missing programs are installed without asking, as far as we may."""
    commands = []
    if missing and root_of_debian:
        packages = [package for program in missing for package in PROGRAMS[program]]
        commands = [["apt-get", "update", "-q"], ["apt-get", "install", "-qy", "--no-install-recommends", *packages]]
    elif "chromium" in missing:
        commands = [[str(PYTHON), "-m", "playwright", "install", "chromium"]]
    return commands


def advice(missing):
    """What a person types to install the missing programs, one line a system."""
    lines = [f"  {system}: {command.format(' '.join(missing))}" for system, command in WAYS.items()]
    return "\n".join([f"The tests need what is not found here: {', '.join(missing)}. To install:", *lines])


def get_programs():
    """The outside programs, installed where we may; ends with advice when one is missing all the same."""
    found = find_programs()
    missing = [name for name, place in found.items() if not place]
    root_of_debian = bool(shutil.which("apt-get")) and os.geteuid() == 0
    for command in install_commands(missing, root_of_debian):
        say(f"Installing: {' '.join(command)}")
        subprocess.run(command, env=clean(os.environ) | {"DEBIAN_FRONTEND": "noninteractive"})
    if missing:
        found = find_programs()
        missing = [name for name, place in found.items() if not place]
    if missing:
        sys.exit(advice(missing))
    return found


def steps(arguments):
    """Name -> command of what `test` runs, in order."""
    python = [str(PYTHON), "-m"]
    if arguments:
        return {"pytest": [*python, "pytest", *arguments]}
    two = ["-n2", "--dist=worksteal"]  # tests at a time
    return {
        "ruff check": [*python, "ruff", "check"],
        "ruff format": [*python, "ruff", "format", "--check"],
        "mypy": [*python, "mypy"],
        "pytest": [*python, "pytest", "-m", "not browser", "--cov", *two],
        "browser": [*python, "pytest", "-m", "browser", *two],
        "benchmarks": [*python, "pytest", "tests/benchmarks"],  # nothing beside what is timed
    }


def run_tests(arguments):
    """Run every step whatever the ones before said; 1 if any failed, one without any test included."""
    environment = clean(os.environ) | {"WIRECALC_CHROMIUM": get_programs()["chromium"]}
    codes, summary = [], []
    for name, command in steps(arguments).items():
        say(f"\n== {name}: {' '.join(command[1:])}")
        began = time.monotonic()
        codes.append(subprocess.run(command, cwd=HERE, env=environment).returncode)
        outcome = f"FAILED ({codes[-1]})" if codes[-1] else "passed"
        summary.append(f"{name:12} {outcome:10} {time.monotonic() - began:6.1f} s")
    say("\n" + "\n".join(summary))
    return int(any(codes))


def main(arguments):
    """Do what the command line asks; the exit code."""
    if arguments[:1] == ["test"]:
        prepare(RUN_LOCK, TEST_LOCK)
        return run_tests(arguments[1:])
    parser = argparse.ArgumentParser(description="Serve the dashboards. `start.py test` runs the tests instead.")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")
    parser.add_argument("--network", action="store_true", help="for other devices of this network too, with a token")
    parser.add_argument("--port", type=int, help=f"default: {PORT}, or the next free one")
    options = parser.parse_args(arguments)
    prepare(RUN_LOCK)
    serve(choose_port(options.port), not options.no_browser, options.network)
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
