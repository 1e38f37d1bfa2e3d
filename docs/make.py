"""What in docs/ is made of the code: the plan's columns, the page of the front door, the notebooks' answers.

    python docs/make.py

writes them anew; `tests/project/test_docs.py` holds that they are as it would write them.
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import nbclient  # noqa: E402
import nbformat  # noqa: E402

import wirecalc  # noqa: E402
from wirecalc.vehicle.fields import DEVICE_FIELDS, WIRE_FIELDS, Field  # noqa: E402

NOTEBOOKS = sorted(HERE.glob("*.ipynb"))
START, END = "<!-- made by docs/make.py -->", "<!-- end -->"


def columns(fields: Sequence[Field]) -> str:
    """The columns of one list of a plan, as a table."""
    rows = ["| column | what | may be |", "| --- | --- | --- |"]
    for field in fields:
        what, allowed = field.help[:1].upper() + field.help[1:], field.allowed
        allowed = "" if allowed == field.help else allowed
        rows.append(f"| {field.column} | {what} | {allowed} |".replace("  ", " "))
    return "\n".join(rows)


def plans() -> str:
    """docs/plans.md with its tables as they are now."""
    text = (HERE / "plans.md").read_text("utf-8")
    tables = iter((columns(DEVICE_FIELDS), columns(WIRE_FIELDS)))
    between = re.compile(f"{START}.*?{END}", re.DOTALL)
    return between.sub(lambda _found: f"{START}\n{next(tables)}\n{END}", text)


def api() -> str:
    """docs/api.md: every name of the front door, with its docstring."""
    parts = [
        "# The front door",
        "Made from docstrings by `python docs/make.py`. What lies below is said in the docstrings of the packages.",
    ]
    for name in sorted(wirecalc.__all__, key=str.casefold):
        what = getattr(wirecalc, name)
        if inspect.ismodule(what):
            what = sys.modules["wirecalc.front.wires"].wire
        if callable(what):
            signature = str(inspect.signature(what)).replace("wirecalc.front.", "").replace("'", "")
            parts.append(
                f"## {name}\n\n```python\nwirecalc.{name}{signature}\n```\n\n```text\n{inspect.getdoc(what)}\n```"
            )
    return "\n\n".join(parts) + "\n"


def executed(path: Path) -> nbformat.NotebookNode:
    """A notebook with its answers."""
    notebook = nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    client = nbclient.NotebookClient(
        notebook, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(HERE)}}
    )
    client.execute()
    for cell in notebook.cells:
        cell.metadata.pop("execution", None)  # when it ran
    return notebook


def main() -> None:
    """Write them all."""
    import wirecalc.front.wires  # noqa: F401

    (HERE / "plans.md").write_text(plans(), "utf-8")
    (HERE / "api.md").write_text(api(), "utf-8")
    for path in NOTEBOOKS:
        nbformat.write(executed(path), path)  # type: ignore[no-untyped-call]


if __name__ == "__main__":
    main()
