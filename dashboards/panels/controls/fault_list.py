"""Faults of a plan in one list: a press on one leads to its cell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import anywidget
import traitlets

_ESM = """
export default { render({ model, el }) {
  const draw = () => {
    const { title, lines } = model.get('shown');
    el.replaceChildren();
    el.style.display = lines.length ? '' : 'none';
    if (!lines.length) return;
    const box = document.createElement('div'), head = document.createElement('b'), list = document.createElement('ul');
    box.className = 'wc-faults'; box.setAttribute('role', 'alert'); head.textContent = title;
    lines.forEach((text, place) => {
      const button = document.createElement('button');
      Object.assign(button, { type: 'button', className: 'wc-to-cell', textContent: text });
      button.addEventListener('click', () => model.send({ place }));
      list.appendChild(document.createElement('li')).append(button);
    });
    box.append(head, list); el.append(box);
  };
  model.on('change:shown', draw);
  draw();
  return () => model.off('change:shown', draw);
} };
"""
_CSS = """
.wc-to-cell { font: inherit; color: inherit; text-align: left; background: none; border: 0; padding: 3px 0;
  vertical-align: top; min-height: 24px; cursor: pointer; text-decoration: underline dotted;
  text-underline-offset: 3px; }
.wc-to-cell:hover { text-decoration-style: solid; }
.wc-to-cell:focus-visible { outline: 3px solid var(--wc-accent); outline-offset: 1px; }
@media print { .wc-to-cell { text-decoration: none; } }
"""


class FaultList(anywidget.AnyWidget):
    """Nothing is shown while there is no fault. `go` is given the place of the fault that was pressed."""

    _esm = _ESM
    _css = _CSS
    shown = traitlets.Dict({"title": "", "lines": []}).tag(sync=True)

    def __init__(self, go: Callable[[int], None]) -> None:
        super().__init__()
        self.go = go
        self.on_msg(self._pressed)

    def show(self, title: str, lines: Sequence[str]) -> None:
        """What is at fault now."""
        self.shown = {"title": title, "lines": list(lines)}

    def _pressed(self, _widget: Any, content: Any, _buffers: Any) -> None:
        place = content.get("place") if isinstance(content, dict) else None
        if type(place) is int and 0 <= place < len(self.shown["lines"]):
            self.go(place)
