"""A plan from disk: a workbook, two CSV files, or a folder with both."""

from __future__ import annotations

from pathlib import Path

from wirecalc.errors import InputError
from wirecalc.vehicle.file import MOST_BYTES, read_csv, read_workbook
from wirecalc.vehicle.text import PlanText


def plan_from_disk(path: Path) -> PlanText:
    """A plan from disk.

    Raises
    ------
    InputError
        If there is no such file, or it cannot be used.
    """
    if path.suffix.lower() == ".xlsx":
        return read_workbook(_content(path))
    if path.is_dir():
        csv_files = {part: sorted(path.glob(f"*{part}.csv")) for part in ("devices", "wires")}
        for part, files in csv_files.items():
            if len(files) != 1:
                raise InputError("Plan", str(path), f"a folder with one file *{part}.csv", f"It has {len(files)}.")
        return read_csv(_content(csv_files["devices"][0]), _content(csv_files["wires"][0]))
    for part, other in (("devices", "wires"), ("wires", "devices")):
        if path.stem.endswith(part):
            return read_csv(_content(path), _content(path.with_name(f"{path.stem.removesuffix(part)}{other}.csv")))
    raise InputError("Plan", str(path), "an .xlsx workbook, a file …devices.csv beside one …wires.csv, or a folder")


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as why:
        raise InputError("Plan", str(path), "a file that can be read", f"{why.strerror}.") from None
