"""What is installed in the private environment: whether it is what the lock names, and what is known against it.

    python3 start.py audit                  without the internet: by the dated list advisories.json
    python3 start.py audit --online         the package index is asked, and the list written anew
    python3 start.py audit --from all.zip   the list is written anew from advisories in the OSV format: the archive of
                                            the ecosystem PyPI, as scanners keep it, or a folder of such files

Exit codes: 0 all is as locked, and the list knows nothing against it; 1 something differs, or the list knows a fault; 2
there is no list, or it is of another lock. Run by the environment's own Python. Standard library and pip only.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import importlib.metadata
import json
import sys
import urllib.request
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pip._vendor.packaging.requirements import Requirement
from pip._vendor.packaging.utils import canonicalize_name
from pip._vendor.packaging.version import InvalidVersion, Version

HERE = Path(__file__).resolve().parent
LOCK, KNOWN = HERE / "requirements.lock", HERE / "advisories.json"
INDEX = "https://pypi.org/pypi"  # its JSON: info of a release, with "vulnerabilities"
OLD_DAYS = 90


def locked(lock: Path, everywhere: bool = False) -> dict[str, str]:
    """Name -> version that a lock names for this Python and system; `everywhere`: name==version -> version, of all."""
    versions = {}
    for line in lock.read_text("utf-8").replace("\\\n", " ").splitlines():
        text = line.split(" --hash=")[0].strip()
        if text and not text.startswith("#"):
            need = Requirement(text)
            name, version = canonicalize_name(need.name), str(need.specifier).removeprefix("==")
            if everywhere:
                versions[f"{name}=={version}"] = version
            elif need.marker is None or need.marker.evaluate():
                versions[name] = version
    return versions


def installed() -> dict[str, importlib.metadata.Distribution]:
    """Name -> what is installed in this environment."""
    distributions: dict[str, importlib.metadata.Distribution] = {}
    for distribution in importlib.metadata.distributions():  # of two of a name Python takes the first
        if distribution.metadata and distribution.metadata["Name"]:
            distributions.setdefault(canonicalize_name(distribution.metadata["Name"]), distribution)
    return distributions


def damage(distribution: importlib.metadata.Distribution) -> str:
    """What of a distribution is missing or not of the size that it was installed with; empty when it is whole."""
    if distribution.files is None:
        return "its list of files is missing"
    for file in distribution.files:
        path = Path(str(file.locate()))
        if not path.is_file():
            return f"{file} is missing"
        if file.size is not None and path.stat().st_size != file.size:
            return f"{file} is not whole"
    return ""


def faults(lock: Path) -> list[str]:
    """Where the environment is not what the lock names, a line each."""
    there, lines = installed(), []
    for name, version in locked(lock).items():
        if name not in there:
            lines.append(f"{name} {version} is not installed")
        elif there[name].version != version:
            lines.append(f"{name} is {there[name].version}, the lock names {version}")
        elif what := damage(there[name]):
            lines.append(f"{name} {version}: {what}")
    return lines


def mark(lock: Path) -> str:
    """A lock by what it names: its hash."""
    return hashlib.sha256("\n".join(sorted(locked(lock, everywhere=True))).encode()).hexdigest()


def asked(name: str, version: str, index: str) -> list[dict[str, str]]:
    """What the package index knows against one version."""
    with urllib.request.urlopen(f"{index}/{name}/{version}/json", timeout=30) as answer:
        known = json.load(answer).get("vulnerabilities", [])
    return [
        {
            "id": str(advisory["id"]),
            "said": str(advisory.get("summary") or advisory.get("details") or "")[:300],
            "mended in": ", ".join(advisory.get("fixed_in") or []) or "no version yet",
        }
        for advisory in known
        if not advisory.get("withdrawn")
    ]


def advisories(place: Path) -> Iterator[dict[str, Any]]:
    """The advisories of an archive, or of a folder and those in it, in the OSV format (schema 1.x, a JSON file each).

    Raises
    ------
    OSError
        If there are none.
    """
    count = 0
    if place.is_dir():
        for path in sorted(place.rglob("*.json")):
            count += 1
            yield json.loads(path.read_text("utf-8"))
    else:
        try:
            with zipfile.ZipFile(place) as archive:
                for name in archive.namelist():
                    if name.endswith(".json"):
                        count += 1
                        yield json.loads(archive.read(name))
        except zipfile.BadZipFile:
            raise OSError(f"{place} is no archive") from None
    if not count:
        raise OSError(f"no advisory is in {place}")


def hit(affected: dict[str, Any], version: str) -> tuple[bool, list[str]]:
    """Whether a version is among those affected, and in which versions it is mended."""
    mended = [
        str(event["fixed"]) for span in affected.get("ranges", []) for event in span["events"] if "fixed" in event
    ]
    if version in affected.get("versions", []):
        return True, mended
    for span in affected.get("ranges", []):
        if span["type"] not in ("ECOSYSTEM", "SEMVER"):  # of commits
            continue
        try:
            bounds = [(Version(str(at)), what) for event in span["events"] for what, at in event.items()]
        except InvalidVersion:  # not to be told: better named once too often
            return True, mended
        within = False
        for bound, what in sorted(bounds):
            if what == "introduced" and Version(version) >= bound:
                within = True
            elif what != "introduced" and Version(version) >= bound:
                within = what == "last_affected" and Version(version) == bound and within
        if within:
            return True, mended
    return False, mended


def gathered(lock: Path, place: Path) -> dict[str, object]:
    """The dated list, from advisories in the OSV format; its date is that of the newest change among them."""
    pins: dict[str, list[str]] = {}
    for pin, version in locked(lock, everywhere=True).items():
        pins.setdefault(pin.partition("==")[0], []).append(version)
    by_pin: dict[str, list[dict[str, str]]] = {}
    newest = ""
    for advisory in advisories(place):
        newest = max(newest, str(advisory["modified"])[:10])
        if advisory.get("withdrawn"):
            continue
        for affected in advisory.get("affected", []):
            package = affected.get("package", {})
            name = canonicalize_name(str(package.get("name", "")))
            for version in pins.get(name, []) if package.get("ecosystem") == "PyPI" else []:
                within, mended = hit(affected, version)
                if within:
                    summary = str(advisory.get("summary") or advisory.get("details") or "")[:300]
                    fault = {
                        "id": str(advisory["id"]),
                        "said": summary,
                        "mended in": ", ".join(mended) or "no version yet",
                    }
                    by_pin.setdefault(f"{name}=={version}", []).append(fault)
    return {"asked on": newest, "of the lock": mark(lock), "known": by_pin}


def fetched(lock: Path, index: str, today: datetime.date) -> dict[str, object]:
    """The dated list, from the package index: every release that the lock names, for whatever system."""
    by_pin = {}
    for pin, version in sorted(locked(lock, everywhere=True).items()):
        if known := asked(pin.partition("==")[0], version, index):
            by_pin[pin] = known
    return {"asked on": today.isoformat(), "of the lock": mark(lock), "known": by_pin}


def report(lock: Path, known: dict[str, object] | None, today: datetime.date) -> tuple[str, int]:
    """What there is to say, and the exit code."""
    there, wrong = installed(), faults(lock)
    lines = [f"{name} {there[name].version}" for name in sorted(there)]
    lines += ["", f"{len(there)} packages are installed, {len(locked(lock))} are named by {lock.name}."]
    lines += [f"NOT AS LOCKED: {line}" for line in wrong] or ["All are as the lock names them, and whole."]
    if known is None:
        none = "There is no list of known faults, so nothing is said of them: audit --online or --from makes one."
        return "\n".join([*lines, none]), 1 if wrong else 2
    days = (today - datetime.date.fromisoformat(str(known["asked on"]))).days
    lines.append(f"Known faults of these versions, by the list of {known['asked on']}:")
    against = known["known"]
    assert isinstance(against, dict)
    for pin, every in sorted(against.items()):
        lines += [f"  {pin}: {fault['id']}, mended in {fault['mended in']}: {fault['said']}" for fault in every]
    if not against:
        lines.append("  none")
    stale = known["of the lock"] != mark(lock)
    if stale:
        lines.append("THE LIST IS OF ANOTHER LOCK: python3 start.py audit --online, or --from, makes it anew.")
    elif days > OLD_DAYS:
        lines.append(f"The list is {days} days old: python3 start.py audit --online, or --from, makes it anew.")
    return "\n".join(lines), 1 if wrong or against else 2 * stale


def main(arguments: list[str]) -> int:
    """Do what the command line asks; the exit code."""
    parser = argparse.ArgumentParser(prog="start.py audit", description=__doc__.splitlines()[0])
    parser.add_argument("--online", action="store_true", help="ask the package index and write the list anew")
    parser.add_argument("--from", type=Path, dest="place", help="write the list anew from advisories in the OSV format")
    parser.add_argument("--lock", type=Path, default=LOCK, help=argparse.SUPPRESS)
    parser.add_argument("--list", type=Path, default=KNOWN, help=argparse.SUPPRESS)
    parser.add_argument("--index", default=INDEX, help="another package index with the same JSON")
    options = parser.parse_args(arguments)
    today = datetime.date.today()
    if options.online or options.place:
        try:
            dated_list = (
                gathered(options.lock, options.place) if options.place else fetched(options.lock, options.index, today)
            )
        except OSError as why:
            print(f"{'These advisories' if options.place else 'The package index'} cannot be asked: {why}."
                  " The list that there is stays.")  # fmt: skip
        except (ValueError, LookupError, TypeError, AttributeError) as why:
            print(f"These advisories are not in the OSV format: {why!r}. The list that there is stays.")
        else:
            options.list.write_text(json.dumps(dated_list, indent=2, sort_keys=True) + "\n", "utf-8")
    try:
        known = json.loads(options.list.read_text("utf-8"))
        datetime.date.fromisoformat(known["asked on"]), known["of the lock"], known["known"].items()
    except (OSError, ValueError, LookupError, AttributeError, TypeError):  # none, or none that says what it has to
        known = None
    text, code = report(options.lock, known, today)
    print(text)
    return code


if __name__ == "__main__":
    if sys.argv[1:2] == ["check"]:
        wrong = faults(Path(sys.argv[2]))
        print("\n".join(wrong))
        sys.exit(bool(wrong))
    sys.exit(main(sys.argv[1:]))
