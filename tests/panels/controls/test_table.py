"""Tables of the pages: each has a name and a box that the keyboard scrolls, and all are written in one place."""

from __future__ import annotations

import re

from dashboards.panels.controls.table import Html, html_table, scrolled_table
from tests.support.paths import ROOT


def test_a_table_has_a_name_and_scrolls_by_keyboard() -> None:
    shown = html_table(
        "Lost & found", ("", "Drop <V>"), [(Html("<b>Feed</b>", names_row=True), "0.2"), ("Run", Html("0.1", "wc-x"))],
        kind="wc-words", row_kinds=("", "wc-broken"),
    )  # fmt: skip
    assert shown == (
        "<div class='wc-scroll' tabindex='0' role='region' aria-label='Lost &amp; found'>"
        "<table class='wc-table wc-words'><caption>Lost &amp; found</caption>"
        "<thead><tr><td></td><th scope='col'>Drop &lt;V&gt;</th></tr></thead>"
        "<tbody><tr><th scope='row'><b>Feed</b></th><td>0.2</td></tr>"
        "<tr class='wc-broken'><td>Run</td><td class='wc-x'>0.1</td></tr></tbody></table></div>"
    )
    named = html_table(Html("Loss<small>key</small>"), ("Run",), [("a",)], region="Loss", chosen=(0,))
    assert "aria-label='Loss'" in named
    assert "<tr class='wc-chosen'>" in named
    assert scrolled_table("Sheet", "<tbody></tbody>", box="scroll").startswith("<div class='scroll' tabindex='0'")


def test_no_other_code_writes_a_table() -> None:
    """Not as text, not by pandas."""
    home = ROOT / "dashboards" / "panels" / "controls" / "table.py"
    files = {path for top in ("dashboards", "wirecalc") for path in (ROOT / top).rglob("*.py")}
    assert home in files
    written = re.compile(r"<table|</td>|<td>|\.to_html\([^)]*(?:index|border)")
    others = {str(path) for path in files if path != home and written.search(path.read_text(encoding="utf-8"))}
    assert others == {str(ROOT / "dashboards" / "panels" / "handout" / "table.py")}  # its cells are filled in by hand
    assert "<table" not in (ROOT / "dashboards" / "panels" / "handout" / "table.py").read_text(encoding="utf-8")
