"""Files that no page made: of another kind, too large, cut off, too deep, out of range, not text at all."""

from __future__ import annotations

import io
import random
import zipfile

from dashboards.panels.controls.files import MOST_BYTES

TEN_BAD_ROWS = """Hz;Ohm;degrees
20;6;10
x;6;10
30;-6;10
40;6;120
50;6
25;6;10
60;;10
70;inf;10
80;1_0;10
90;6;ten
100;6;nan
"""
"""An impedance with ten rows that cannot be read, each in its own way."""

_LISTS = (
    "item;cost",
    "Name,Sort\n" + '"Left, never closed\n' * 50,
    "item,item,cost\n1,2,3\n",
    "Hz;Ohm;degrees\n20;=cmd|calc;10\n30;1e999;10\n",
    "Sample,Strands\n=1+1,<img src=x onerror=alert(1)>\n",
    "," * 500,
    ("x" * 700 + ",") * 5 + "\n",
    "item,price\nx,<b>1</b>\ny,-3\n",
    "\ufeff\ufeff\n\n\n",
    "\n".join(map(str, range(20_000))),
)


def bad_files(ending: str) -> list[tuple[str, bytes]]:
    """Fifty, named as the upload takes them where the name is not what is bad; the first forty are made for JSON."""
    rng = random.Random(11)
    packing = io.BytesIO()
    with zipfile.ZipFile(packing, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr("xl/workbook.xml", b"0" * 50_000_000)
    good = b'{"wirecalc progress": 1, "scores": {}, "lessons": {}}'
    named = [
        ("page.exe", b"MZ"),
        ("picture.png", b"\x89PNG"),
        ("bomb.xlsx", packing.getvalue()),
        ("bomb.json", packing.getvalue()),
        ("large.json", b" " * (MOST_BYTES + 1)),
        ("cell.json", b'{"scores": "' + b"x" * 1_900_000 + b'"}'),
        ("deep.json", b"[" * 19_000),
        ("deeper.json", b'{"a":' * 3_000 + b"1" + b"}" * 3_000),
        ("empty.json", b""),
        ("null.json", b"\0" * 100),
        ("utf16.json", good.decode().encode("utf-16")),
        ("latin.json", b'{"scores": "\xe9"}'),
        ("digits.json", b'{"scores": ' + b"9" * 10_000 + b"}"),
        ("infinite.json", b'{"scores": Infinity}'),
        ("formula.json", b'{"scores": {"=cmd|calc": 1}}'),
        ("html.json", b'{"scores": {"<img src=x onerror=alert(1)>": 1}}'),
        ("twice.json", b'{"scores": {}, "scores": []}'),
        ("<b>name</b>.json", b"{"),
        ("..\\..\\name.json", b"{"),
    ]
    texts = [
        "null",
        "1",
        '"text"',
        "[]",
        "[{}]",
        "{}",
        '{"scores": []}',
        '{"scores": {"a": {"solved": -1}}}',
        "NaN",
        "{,}",
    ]
    named += [(f"{i}.json", text.encode()) for i, text in enumerate(texts)]
    named += [(f"cut{i}.json", good[: rng.randrange(1, len(good) - 1)]) for i in range(6)]
    named += [(f"random{i}.json", rng.randbytes(500)) for i in range(40 - len(named))]
    named += [(f"list{i}.json", text.encode()) for i, text in enumerate(_LISTS)]
    return [(name.replace(".json", ending), content) for name, content in named]
