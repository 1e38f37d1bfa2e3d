"""start.py: what it decides, and once the whole of it with a real server."""

from __future__ import annotations

import ast
import re
import signal
import socket
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import psutil
import pytest

from tests.support.paths import ROOT
from tests.support.site import free_port
from tests.support.starting import FILE, load


@pytest.fixture
def start(tmp_path: Path) -> ModuleType:
    """The program with an empty folder in place of the project's."""
    module = load()
    module.HERE, module.ENV = tmp_path, tmp_path / ".venv"
    module.PYTHON = module.ENV / "bin" / "python"
    module.RUN_LOCK, module.TEST_LOCK = tmp_path / "run.lock", tmp_path / "test.lock"
    module.RUN_LOCK.write_text("a==1\n")
    module.TEST_LOCK.write_text("a==1\nb==2\n")
    return module


@pytest.fixture
def taken() -> Iterator[int]:
    """A port that somebody else listens on."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server.getsockname()[1]


def test_python_alone_is_enough() -> None:
    """It runs before anything is installed."""
    imports = list(ast.walk(ast.parse(FILE.read_text("utf-8"))))
    names = {alias.name for node in imports if isinstance(node, ast.Import) for alias in node.names}
    names |= {str(node.module) for node in imports if isinstance(node, ast.ImportFrom)}
    assert {each.partition(".")[0] for each in names} <= sys.stdlib_module_names
    command = [sys.executable, "-S", "-I", str(FILE), "--help"]  # no package of anybody's can be found
    assert "usage" in subprocess.run(command, capture_output=True, text=True, check=True).stdout.lower()


def test_help_of_the_tests_installs_nothing(start: ModuleType, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("get_programs", "prepare", "steps"):
        setattr(start, name, None)  # what is called fails
    for asked in ("--help", "-h"):
        with pytest.raises(SystemExit) as ended:
            start.main(["test", asked])
        assert ended.value.code == 0
        assert "start.py test [words for pytest]" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("version", "modules", "told"),
    [
        ((3, 11, 0), [1, 1], ""),
        ((3, 15, 0), [1, 1], ""),
        ((4, 0, 0), [1, 1], ""),
        ((3, 10, 9), [1, 1], "Python 3.11 or newer, not 3.10"),
        ((3, 10, 9), [1, None], "Python 3.11 or newer, not 3.10"),
        ((3, 12, 1), [1, None], "sudo apt install python3-venv"),
        ((3, 12, 1), [None, 1], "sudo apt install python3-venv"),
    ],
)
def test_unfit_python_is_told_in_one_line(
    start: ModuleType, version: tuple[int, ...], modules: list[object], told: str
) -> None:
    message = start.unfit(version, modules)
    assert told in message
    assert bool(message) == bool(told)
    assert "\n" not in message


def test_old_pythons_can_read_the_file_as_far_as_the_message() -> None:
    ast.parse(FILE.read_text("utf-8"), feature_version=(3, 7))


def test_nothing_of_the_persons_own_python_or_jupyter_reaches_ours(start: ModuleType) -> None:
    theirs = {"PYTHONPATH": "x", "PYTHONHOME": "x", "JUPYTER_PATH": "x", "VOILA_BASE_URL": "x", "Pip_Target": "x"}
    kept = {"PATH": "/bin", "PIP_INDEX_URL": "kept: a company's own", "HTTPS_PROXY": "kept"}
    cleaned = start.clean(theirs | kept | {"JUPYTER_DATA_DIR": "x", "IPYTHONDIR": "x", "PIP_USER": "1"})
    assert cleaned.items() >= kept.items()
    assert "x" not in cleaned.values()
    assert cleaned["PIP_USER"] == "0"
    for name in ("JUPYTER_DATA_DIR", "JUPYTER_CONFIG_DIR", "IPYTHONDIR"):
        assert Path(cleaned[name]).is_relative_to(start.ENV)


def finish(start: ModuleType, *locks: Path) -> None:
    """What a complete environment with `locks` looks like."""
    start.PYTHON.parent.mkdir(parents=True, exist_ok=True)
    start.PYTHON.touch()
    (start.ENV / "complete").write_text("\n".join(map(start.token, locks)))


@pytest.fixture
def done(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What `prepare` did, in order, with the real work taken out."""
    did: list[str] = []

    def new_environment() -> None:
        finish(start)
        did.append("made")

    monkeypatch.setattr(start, "new_environment", new_environment)
    monkeypatch.setattr(start, "install", lambda lock: did.append(lock.name))
    monkeypatch.setattr(start, "look_through", lambda lock: None)
    return did


def test_a_second_start_makes_nothing_again(start: ModuleType, done: list[str]) -> None:
    start.prepare(start.RUN_LOCK)
    start.prepare(start.RUN_LOCK)
    assert done == ["made", "run.lock"]
    start.prepare(start.RUN_LOCK, start.TEST_LOCK)  # adds to what is there
    start.prepare(start.RUN_LOCK, start.TEST_LOCK)
    start.prepare(start.RUN_LOCK)
    assert done == ["made", "run.lock", "test.lock"]


@pytest.mark.parametrize("what", ["stamp", "python", "run lock", "test lock", "other python"])
def test_what_is_half_made_or_outdated_is_made_again(
    start: ModuleType, done: list[str], monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    finish(start, start.RUN_LOCK, start.TEST_LOCK)
    if what == "stamp":
        (start.ENV / "complete").unlink()
    elif what == "python":
        start.PYTHON.unlink()
    elif what == "run lock":
        start.RUN_LOCK.write_text("a==2\n")
    elif what == "test lock":
        start.TEST_LOCK.write_text("a==1\nb==3\n")
    else:
        monkeypatch.setattr(sys, "version_info", (3, 99, 0))
    start.prepare(start.RUN_LOCK, start.TEST_LOCK)
    assert done == (["test.lock"] if what == "test lock" else ["made", "test.lock"])
    start.prepare(start.RUN_LOCK, start.TEST_LOCK)
    assert done[-1:] == ["test.lock"]
    assert len(done) <= 2


def test_an_interrupted_install_leaves_no_stamp(
    start: ModuleType, done: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    finish(start, start.RUN_LOCK)

    def interrupted(lock: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(start, "install", interrupted)
    with pytest.raises(KeyboardInterrupt):
        start.prepare(start.RUN_LOCK, start.TEST_LOCK)
    assert not (start.ENV / "complete").exists()


@pytest.mark.parametrize(
    ("output", "told"),
    [
        ("WARNING: Retrying after connection broken by 'NewConnectionError'\nERROR: no version\n", "online?"),
        ("Collecting a\nERROR: THESE PACKAGES DO NOT MATCH THE HASHES\n\nnotice: new pip\n", "DO NOT MATCH"),
        ("", "no reason given"),
    ],
)
def test_a_failed_install_says_why_in_one_line(start: ModuleType, tmp_path: Path, output: str, told: str) -> None:
    pip = tmp_path / "pip.py"
    pip.write_text(f"import sys\nsys.stdout.write({output!r})\nsys.exit(1)\n")
    start.PYTHON = Path(sys.executable)
    start.clean = lambda environment: {**environment, "PYTHONPATH": str(tmp_path)}
    with pytest.raises(SystemExit) as ended:
        start.install(start.RUN_LOCK)
    assert told in str(ended.value)
    assert "\n" not in str(ended.value)


def test_ports(start: ModuleType, taken: int, capsys: pytest.CaptureFixture[str]) -> None:
    other = free_port()
    assert start.choose_port(other) == other
    for port in (taken, 99999, -1, 10**12):
        with pytest.raises(SystemExit, match=f"Port {port} is taken or not allowed"):
            start.choose_port(port)
    start.PORT = taken
    assert taken < start.choose_port(None) < taken + 100
    assert f"Port {taken} is taken" in capsys.readouterr().out


def test_the_server_takes_the_port_that_was_chosen_and_opens_nothing(start: ModuleType) -> None:
    """Where it listens is for its settings to say: a flag would hold even where they fail."""
    arguments = start.server_arguments(1234)
    assert arguments[0] == "dashboards"
    assert {"--no-browser", "--port=1234", "--Voila.port_retries=0"} < set(arguments)
    assert not [argument for argument in arguments if "Voila.ip" in argument]


def test_a_networks_token_is_hard_to_guess_and_kept(start: ModuleType) -> None:
    start.ENV.mkdir()
    token = start.network_token()
    assert len(set(token)) > 10
    assert len(token) >= 24
    assert start.network_token() == token
    assert (start.ENV / "network-token").stat().st_mode & 0o077 == 0
    (start.ENV / "network-token").unlink()
    assert start.network_token() != token


@pytest.mark.parametrize(
    ("missing", "root_of_debian", "expected"),
    [
        ([], True, []),
        ([], False, []),
        (["ngspice", "units"], False, []),
        (["chromium", "units"], False, []),
        (["units"], True, ["update -q", "install -qy --no-install-recommends units"]),
        (
            ["chromium", "chromium-headless-shell"],
            True,
            [
                "update -q",
                "install -qy --no-install-recommends chromium fonts-liberation",
                "install -qy --no-install-recommends chromium-headless-shell",
            ],
        ),
    ],
)
def test_what_is_installed_where(
    start: ModuleType, missing: list[str], root_of_debian: bool, expected: list[str]
) -> None:
    commands = start.install_commands(missing, root_of_debian)
    assert [" ".join(command[1:]) for command in commands] == expected
    assert {command[0] for command in commands} <= {"apt-get"}


def test_the_lighter_browser_is_a_wish(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where it cannot be installed the tests go on with what there is; one that was named is left alone."""
    asked: list[list[str]] = []
    monkeypatch.delenv("WIRECALC_CHROMIUM", raising=False)
    monkeypatch.setattr(start, "find_programs", lambda: {"chromium": "/c"})
    monkeypatch.setattr(start, "install_commands", lambda missing, root: asked.append(missing) or [])
    monkeypatch.setattr(start.shutil, "which", lambda name, path=None: None)
    assert start.get_programs() == {"chromium": "/c"}
    monkeypatch.setenv("WIRECALC_CHROMIUM", "/c")
    assert start.get_programs() == {"chromium": "/c"}
    assert asked == [["chromium-headless-shell"], []]


def test_a_program_still_missing_stops_the_tests_with_advice(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "find_programs", lambda: {"chromium": "/c", "ngspice": None, "units": None})
    monkeypatch.setattr(start, "install_commands", lambda missing, root: [])
    with pytest.raises(SystemExit) as ended:
        start.run_tests([])
    for words in ("apt install ngspice units", "dnf install ngspice units", "brew install ngspice", "gnu-units"):
        assert words in str(ended.value)


def test_another_program_named_units_is_not_taken(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("WIRECALC_CHROMIUM", raising=False)
    monkeypatch.setattr(start.shutil, "which", lambda name, path=None: f"/bin/{name}")
    others = {name: f"/bin/{name}" for name in ("ngspice", "haproxy")} | {"chromium": "/bin/chromium-headless-shell"}
    for output, path in (("GNU Units version 2.22", "/bin/units"), ("units, FreeBSD version", None)):
        monkeypatch.setattr(
            start, "ask", lambda *command, output=output: subprocess.CompletedProcess(command, 0, output)
        )
        assert start.find_programs() == others | {"units": path}


def test_every_check_runs_though_one_fails_and_the_end_says_so(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "get_programs", lambda: {"chromium": "/the/browser"})
    monkeypatch.setattr(start, "prepare", lambda *locks: None)
    show = "import os, sys; print(os.environ['WIRECALC_CHROMIUM']); sys.exit(int(sys.argv[1]))"
    codes = {"one": "0", "two": "5", "three": "0"}  # 5 is pytest's for no tests at all
    monkeypatch.setattr(
        start, "steps", lambda arguments: {name: [sys.executable, "-c", show, code] for name, code in codes.items()}
    )
    assert start.run_tests([]) == 1
    output = capfd.readouterr().out
    assert output.count("/the/browser\n") == 3
    assert [line.split()[:2] for line in output.splitlines()[-3:]] == [
        ["one", "passed"],
        ["two", "FAILED"],
        ["three", "passed"],
    ]
    codes["two"] = "0"
    assert start.run_tests([]) == 0


def test_arguments_go_to_pytest_alone(start: ModuleType) -> None:
    python = [str(start.PYTHON), "-m"]
    assert start.steps(["tests/benchmarks", "-x"]) == {"pytest": [*python, "pytest", "tests/benchmarks", "-x"]}
    whole = start.steps([])
    assert list(whole) == [
        "browser", "package", "panels", "project", "others", "mypy", "ruff check", "ruff format --check"
    ]  # fmt: skip
    left_out = {word.removeprefix("--ignore=") for word in whole["others"] if word.startswith("--ignore=")}
    assert left_out == {"tests/wirecalc", "wirecalc", "tests/panels"} <= {*whole["package"], *whole["panels"]}
    assert whole["package"][-1] == "--cov"  # it would take the next word for what to cover
    folders = {word for word in [*whole["browser"], *whole["project"]] if word.startswith("tests/")}
    marked = [path for path in (ROOT / "tests").rglob("test_*.py") if "mark.browser" in path.read_text("utf-8")]
    there = {path.relative_to(ROOT).parent.as_posix() for path in marked} - {"tests/benchmarks"}
    assert there == folders == {"tests/browser", "tests/project"}  # no browser test is left out


CERTIFICATE = ROOT / "tests" / "support" / "certificate.pem"


@pytest.mark.parametrize(
    ("flags", "how"),
    [
        ([], signal.SIGINT),
        (["--network"], signal.SIGKILL),
        (["--network", "--certificate", str(CERTIFICATE)], signal.SIGTERM),
    ],
    ids=["here", "network", "encrypted"],
)
def test_it_serves_the_page_and_leaves_nothing_running(tmp_path: Path, flags: list[str], how: signal.Signals) -> None:
    """All of it, but for the environment, which is the one these tests run in; the signal goes to start.py alone."""
    port = free_port()
    code = (
        "import importlib.util, pathlib, signal, sys\n"
        "for stop in (signal.SIGINT, signal.SIGTERM): signal.signal(stop, signal.default_int_handler)\n"
        f"spec = importlib.util.spec_from_file_location('start', {str(FILE)!r})\n"
        "start = importlib.util.module_from_spec(spec)\n"
        "spec.loader.exec_module(start)\n"
        f"start.ENV, start.PYTHON = pathlib.Path({str(tmp_path)!r}), pathlib.Path({sys.executable!r})\n"
        "start.prepare = lambda *locks, repair: None\n"
        f"sys.exit(start.main(['--no-browser', '--port', '{port}', *{flags}]))\n"
    )
    program = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=tmp_path
    )
    below: list[psutil.Process] = []
    # what is fetched with these is let in by a cookie; the certificate is the tests' own
    trusted = urllib.request.HTTPSHandler(context=ssl.create_default_context(cafile=CERTIFICATE))
    stranger, browser = (
        urllib.request.build_opener(trusted, urllib.request.HTTPCookieProcessor()) for _ in ("stranger", "browser")
    )
    try:
        assert program.stdout is not None
        output = ""
        for line in program.stdout:
            output += line
            if line.startswith("Ready: "):
                break
        address = output.split("Ready: ")[1].split()[0]
        if flags:
            assert ("is encrypted" in output) == ("--certificate" in flags)
            assert ("not for the internet" in output) == ("--certificate" not in flags)
            path, _, token = address.partition("?token=")
            scheme = "https" if "--certificate" in flags else "http"
            assert re.fullmatch(rf"{scheme}://[\d.]+:{port}/voila/render/one_run.ipynb", path)
            assert token == (tmp_path / "network-token").read_text()
            path = re.sub(r"//[\d.]+", "//127.0.0.1", path)  # which stands in the certificate
            address = f"{path}?token={token}"
            with stranger.open(path, timeout=60) as page:  # without the token
                assert "/login" in page.url
                assert b"Token" in page.read()
        else:
            path = f"http://127.0.0.1:{port}/voila/render/one_run.ipynb"
            assert address == path
        with browser.open(address, timeout=60) as page:
            assert page.status == 200
            assert page.url == path  # the token has left the address
            assert b"There was an error" not in page.read()
        below = psutil.Process(program.pid).children(recursive=True)
        assert len(below) >= 2  # the server and the page's kernel
        program.send_signal(how)
        rest, _ = program.communicate(timeout=30)
        assert program.returncode == (0 if how != signal.SIGKILL else -how), rest
        assert "Traceback" not in rest
        assert psutil.wait_procs(below, timeout=15)[1] == []  # nothing listens any more
    finally:
        for process in [program, *below]:
            if process.poll() is None if isinstance(process, subprocess.Popen) else process.is_running():
                process.kill()


@pytest.mark.parametrize(
    ("flags", "told"),
    [
        (["--certificate", "a.pem"], "goes with --network"),
        (["--network", "--key", "a.pem"], "goes with --network, and --key with --certificate"),
        (["--network", "--certificate", "missing.pem"], "cannot be used"),
        (["--network", "--certificate", str(FILE)], "cannot be used"),
    ],
)
def test_a_certificate_that_does_not_fit_is_told_first(
    start: ModuleType, flags: list[str], told: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "prepare", lambda *locks, repair: pytest.fail("too late"))
    with pytest.raises(SystemExit) as ended:
        start.main(flags)
    assert told in str(ended.value) + capsys.readouterr().err
