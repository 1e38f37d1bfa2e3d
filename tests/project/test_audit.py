"""`start.py audit`: what is installed, whether it is what the lock names, and what is known against it."""

from __future__ import annotations

import http.server
import json
import re
import shutil
import subprocess
import sys
import threading
import zipfile
from collections.abc import Iterator
from pathlib import Path

import packaging
import pytest

from tests.support.paths import ROOT

PIN = f"packaging=={packaging.__version__}"
HASH = " --hash=sha256:" + "0" * 64


class _Index(http.server.BaseHTTPRequestHandler):
    """As the package index's JSON of one release; of others it knows nothing."""

    def do_GET(self) -> None:
        name, version = self.path.split("/")[1:3]
        known = [
            {"id": "X-1", "summary": "Reads <too> far", "fixed_in": ["99"], "withdrawn": None},
            {"id": "X-2", "summary": "was none", "fixed_in": [], "withdrawn": "2026-01-01"},
        ]
        self.send_response(200 if (name, version) == ("packaging", packaging.__version__) else 404)
        self.end_headers()
        self.wfile.write(json.dumps({"info": {}, "vulnerabilities": known}).encode())

    def log_message(self, *_what: object) -> None:
        pass


@pytest.fixture(scope="module")
def index() -> Iterator[str]:
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), _Index) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()


def audit(folder: Path, lock: str, *arguments: str) -> tuple[int, str]:
    """Exit code and what is printed, for a lock of these lines and the list in `folder`."""
    (folder / "a.lock").write_text("".join(f"{line}{HASH}\n" for line in lock.splitlines()))
    done = subprocess.run(
        [sys.executable, str(ROOT / "audit.py"), "--lock", "a.lock", "--list", "a.json", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Traceback" not in done.stderr
    return done.returncode, done.stdout


def test_what_is_installed_is_listed_and_without_a_list_nothing_is_called_sound(tmp_path: Path) -> None:
    code, report = audit(tmp_path, PIN)
    assert f"packaging {packaging.__version__}\n" in report
    assert "All are as the lock names them, and whole." in report
    assert "no list of known faults" in report
    assert code == 2


def test_known_faults_are_asked_for_once_and_kept_with_their_date(tmp_path: Path, index: str) -> None:
    code, report = audit(tmp_path, PIN, "--online", "--index", index)
    assert f"  {PIN}: X-1, mended in 99: Reads <too> far" in report
    assert "X-2" not in report
    assert code == 1
    kept = json.loads((tmp_path / "a.json").read_text())
    assert f"by the list of {kept['asked on']}" in report
    code, again = audit(tmp_path, PIN)  # without the index
    assert (code, again) == (1, report)
    kept["known"] = {}
    (tmp_path / "a.json").write_text(json.dumps(kept))
    code, report = audit(tmp_path, PIN)
    assert code == 0
    assert report.rstrip().endswith("none")
    code, report = audit(tmp_path, f"{PIN}\nmore==1 ; python_version < '3'")
    assert "THE LIST IS OF ANOTHER LOCK" in report
    assert code == 2
    kept["asked on"] = "2020-01-01"
    (tmp_path / "a.json").write_text(json.dumps(kept))
    assert "days old" in audit(tmp_path, PIN)[1]


def test_an_index_that_knows_nothing_of_a_package_is_no_clean_bill(tmp_path: Path, index: str) -> None:
    (tmp_path / "a.json").write_text("{}")
    code, report = audit(tmp_path, f"{PIN}\nunheard-of==1 ; python_version < '3'", "--online", "--index", index)
    assert "cannot be asked" in report
    assert (tmp_path / "a.json").read_text() == "{}"
    assert code == 2


def osv(number: int, events: list[dict[str, str]], **more: object) -> dict[str, object]:
    """An invented advisory of packaging, in the OSV format."""
    spans = [{"type": "ECOSYSTEM", "events": events}]
    affected = [{"package": {"ecosystem": "PyPI", "name": "Packaging"}, "ranges": spans, **more}]
    advisory = {"id": f"INVENTED-{number}", "modified": f"2026-03-0{number}T10:00:00Z", "summary": f"Fault {number}"}
    return {**advisory, "affected": affected}


HERE, ALL = packaging.__version__, {"introduced": "0"}


@pytest.mark.parametrize("packed", [True, False])
def test_the_list_is_made_of_advisories_that_a_scanner_keeps(tmp_path: Path, packed: bool) -> None:
    """Every way in which the OSV format says which versions it is about."""
    those = [
        osv(1, [ALL, {"fixed": f"{HERE}.1"}]),
        osv(2, [ALL, {"fixed": HERE}]),
        osv(3, [ALL, {"last_affected": HERE}]),
        osv(4, [{"introduced": "9999"}]),
        osv(5, [], versions=["0.1", HERE]),
        osv(6, [ALL]) | {"withdrawn": "2026-03-07T00:00:00Z"},
        osv(7, [ALL, {"fixed": "0.1"}, {"introduced": HERE}, {"fixed": "9999"}]),
    ]
    other = osv(8, [ALL])
    other["affected"][0]["package"]["ecosystem"] = "npm"  # type: ignore[index]
    names = {f"{advisory['id']}.json": json.dumps(advisory) for advisory in (*those, other)}
    place = tmp_path / ("all.zip" if packed else "osv")
    if packed:
        with zipfile.ZipFile(place, "w") as archive:
            for name, text in names.items():
                archive.writestr(name, text)
    else:
        place.mkdir()
        for name, text in names.items():
            (place / name).write_text(text)
    code, report = audit(tmp_path, PIN, "--from", str(place))
    faults = re.findall(r"INVENTED-(\d), mended in ([^:]+): Fault \1", report)
    assert faults == [("1", f"{HERE}.1"), ("3", "no version yet"), ("5", "no version yet"), ("7", "0.1, 9999")]
    assert "by the list of 2026-03-08" in report
    assert code == 1
    assert audit(tmp_path, PIN)[0] == 1  # kept, without the archive


@pytest.mark.parametrize("content", [b"", b"PK", b"[]", None])
def test_what_is_no_set_of_advisories_changes_no_list(tmp_path: Path, content: bytes | None) -> None:
    place = tmp_path / "osv"
    if content is None:
        place.mkdir()
        (place / "a.json").write_text('{"id": 1}')
    else:
        place.write_bytes(content)
    code, report = audit(tmp_path, PIN, "--from", str(place))
    assert "The list that there is stays." in report
    assert not (tmp_path / "a.json").exists()
    assert code == 2


def test_what_differs_from_the_lock_is_said(tmp_path: Path) -> None:
    code, report = audit(tmp_path, "packaging==0.1\nunheard-of==1\nother==1 ; python_version < '3'")
    assert f"NOT AS LOCKED: packaging is {packaging.__version__}, the lock names 0.1" in report
    assert "NOT AS LOCKED: unheard-of 1 is not installed" in report
    assert "other" not in report.partition("packages are installed")[2]
    assert code == 1


@pytest.mark.parametrize(("damage", "told"), [("gone", "is missing"), ("half", "is not whole")])
def test_a_package_that_lost_a_file_is_found(tmp_path: Path, damage: str, told: str) -> None:
    """As when an environment was wiped while it was being made. On a copy: the first of its places counts."""
    home = Path(packaging.__file__).parent
    about = next(home.parent.glob("packaging-*.dist-info"))
    for folder in (home, about):
        shutil.copytree(folder, tmp_path / "copy" / folder.name)
    file = tmp_path / "copy" / "packaging" / "version.py"
    if damage == "gone":
        file.unlink()
    else:
        file.write_text(file.read_text()[:100])
    (tmp_path / "a.lock").write_text(f"{PIN}{HASH}\n")
    done = subprocess.run(
        [sys.executable, str(ROOT / "audit.py"), "check", "a.lock"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path / "copy")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert f"packaging/version.py {told}" in done.stdout
