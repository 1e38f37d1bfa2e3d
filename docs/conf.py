"""How Sphinx builds docs/: `python -m sphinx -W docs build/docs` with what the extra `docs` asks for, offline.

The pages, the notebooks as they were executed, and the front door from its docstrings. Nothing is fetched, neither
while it is built nor by a reader's browser.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from docutils import nodes
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import wirecalc
from wirecalc.vehicle.fields import DEVICE_FIELDS, WIRE_FIELDS

project = "wirecalc"
version = release = wirecalc.__version__
extensions = ["myst_nb", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
exclude_patterns = ["build", "**.ipynb_checkpoints"]
myst_heading_anchors = 2
nb_execution_mode = "off"  # they are kept executed; tests/project/test_docs.py executes them anew
nb_ipywidgets_js: dict[str, Any] = {}  # there are none, and the script would come from elsewhere
napoleon_google_docstring = False
autodoc_typehints = "none"  # the docstrings say types, with units
autodoc_member_order = "bysource"
html_theme = "alabaster"
html_theme_options = {"fixed_sidebar": True, "page_width": "1100px", "description": "Which conductor to pull, and why"}
html_sidebars = {"**": ["about.html", "navigation.html", "searchbox.html"]}
html_show_sphinx = html_copy_source = html_show_copyright = False


class PlanColumns(SphinxDirective):
    """The columns of one list of a plan, as the code has them."""

    required_arguments = 1

    def run(self) -> list[nodes.Node]:
        """A table: column, what it is, what it may be."""
        rows = [("column", "what", "may be")]
        for field in {"devices": DEVICE_FIELDS, "wires": WIRE_FIELDS}[self.arguments[0]]:
            allowed = "" if field.allowed == field.help else field.allowed
            rows.append((field.column, field.help[:1].upper() + field.help[1:], allowed))
        group = nodes.tgroup(cols=3)
        group += [nodes.colspec(colwidth=width) for width in (20, 45, 35)]
        lines = [nodes.row("", *(nodes.entry("", nodes.paragraph(text=text)) for text in texts)) for texts in rows]
        group += [nodes.thead("", lines[0]), nodes.tbody("", *lines[1:])]
        return [nodes.table("", group)]


def setup(app: Sphinx) -> None:
    """Called by Sphinx."""
    app.add_directive("plan-columns", PlanColumns)
