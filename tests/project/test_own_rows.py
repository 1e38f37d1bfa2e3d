"""What DEVELOPERS.md promises: a row in a table of data/ is enough. An invented one in each, and every page opens."""

from __future__ import annotations

import csv
import shutil
import subprocess
import sys
from pathlib import Path

from tests.support.paths import ROOT

# table -> the row that is copied, and what the copy has of its own; all invented
INVENTED: dict[str, tuple[dict[str, str], dict[str, str]]] = {
    "metals": ({"metal": "aluminium"}, {"metal": "fablium", "name": "fablium", "alike": "fablium"}),
    "strandings": ({"stranding": "fine"}, {"stranding": "woolly", "name": "woolly strands"}),
    "insulations": ({"insulation": "pvc_105"}, {"insulation": "felt_90", "name": "felt", "limit_c": "90"}),
    "zones": ({"zone": "boot"}, {"zone": "attic", "name": "attic", "ambient_c": "55"}),
    "limits": (
        {"kind": "amplifier to speaker", "measure": "loss_db"},
        {"measure": "drop_v", "bound": "9", "unit": "V"},
    ),
    "multicore_cables": ({"cable": "speaker_9"}, {"cable": "speaker_x", "cable_name": "invented cable"}),
    "fuse_families": ({"family": "low-profile blade"}, {"family": "tulip", "name": "tulip fuse", "standard": "none"}),
    "fuse_ratings": ({"family": "low-profile blade"}, {"family": "tulip"}),
    "fuse_gates": ({"family": "low-profile blade"}, {"family": "tulip"}),
}

_OPEN = """
import sys
from pathlib import Path
from wirecalc import tables
tables.FOLDER = Path(sys.argv[1])
import importlib
import numpy as np
import wirecalc
from wirecalc.bench.known_wires import GROUPS, METAL_KEYS
from wirecalc.wire.conductor import METALS
assert wirecalc.metals()["key"].iloc[-1] == METAL_KEYS[-1] == "fablium"
assert "fablium" in GROUPS
assert "attic" in set(wirecalc.zones()["key"]) and "felt_90" in set(wirecalc.insulations()["key"])
from wirecalc.wire.cable_types import CABLES
from wirecalc.wire.fuse_families import FAMILIES
assert "speaker_x" in CABLES and "tulip" in FAMILIES
found = wirecalc.identify(strands=19, strand_m="0.5 mm", ohm="85 mohm", length_m="10 m")
assert np.isclose(found.identified.metal.sum(), 1) and found.words
run = wirecalc.speaker_run("100 W", "4 ohm", "5 m", "12 AWG", metal="fablium", stranding="woolly")
choice = wirecalc.choose(run, metal="fablium", zone="attic", insulation="felt_90")
assert choice.pull and "drop_v" in choice.table.columns
for page, panel in PAGES:
    made = getattr(importlib.import_module(f"dashboards.panels.{page}"), panel)()
    assert made.view is not None
    print(page)
"""


def pages() -> list[tuple[str, str]]:
    """Module and class of every page, as its notebook has it."""
    classes = []
    for path in sorted((ROOT / "dashboards").glob("*.ipynb")):
        line = next(part for part in path.read_text("utf-8").split('"') if part.startswith("from dashboards.panels."))
        module, _, name = line.removeprefix("from dashboards.panels.").partition(" import ")
        classes.append((module, name.strip().removesuffix("\\n")))
    return classes


def test_a_row_is_enough(tmp_path: Path) -> None:
    data = tmp_path / "data"
    shutil.copytree(ROOT / "data", data)
    for table, (like, own) in INVENTED.items():
        with (data / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        invented = [each | own for each in rows if like.items() <= each.items()]
        assert invented, table
        with (data / f"{table}.csv").open("a", encoding="utf-8", newline="") as file:
            csv.DictWriter(file, list(rows[0]), lineterminator="\n").writerows(invented)
    code = _OPEN.replace("PAGES", repr(pages()))
    command = [sys.executable, "-c", code, str(data)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    assert len(done.stdout.split()) == len(pages()) == 6
