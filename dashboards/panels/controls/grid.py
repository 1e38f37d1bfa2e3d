"""A list to type in: a table of text boxes that stays light with some hundreds of rows.

The kernel holds the text; the browser sends each cell that was changed and draws only cells whose text came back
different, so that what is being typed elsewhere stays.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import anywidget
import traitlets

_log = logging.getLogger(__name__)

_ESM = """
const make = (tag, parent, more) => Object.assign(parent.appendChild(document.createElement(tag)), more);
export default { render({ model, el }) {
  const root = make('div', el, { className: 'wc-grid' });
  const lists = make('div', root, { hidden: true }), box = make('div', root, { className: 'wc-scroll' });
  const table = make('table', box, { role: 'table' }), style = make('style', root);
  const head = make('thead', table, { role: 'rowgroup' }), body = make('tbody', table, { role: 'rowgroup' });
  const id = 'g' + Math.random().toString(36).slice(2), one = model.get('one'), judged = model.get('judged');
  table.id = id;
  let columns = [], rows = [], number = -1;
  table.setAttribute('aria-label', model.get('label'));
  const marked = i => model.get('marks')[i] || '';
  const wide = (name, i) => {
    const text = Math.min(Math.max(...rows.map(row => row[i].length), i ? 5 : 16), 30);
    const arrow = model.get('words')[name] ? 24 : 0;  // of the list
    return 20 + Math.max(8.6 * name.length, 8 * text + arrow);
  };
  const offer = () => {
    lists.innerHTML = '';
    columns.forEach((name, i) => {
      const list = make('datalist', lists, { id: id + i });
      (model.get('words')[name] || []).forEach(word => make('option', list, { value: word }));
    });
  };
  const heading = () => {
    head.innerHTML = '';
    const line = make('tr', head, { role: 'row' });
    const widths = [];
    const titled = (name, width) => {
      widths.push(width);
      return make('th', line, { textContent: name, scope: 'col', role: 'columnheader' });
    };
    titled('Row', 62);
    if (judged) titled('Verdict', 130);
    columns.forEach((name, i) => {
      const cell = titled(name, wide(name, i));
      cell.title = model.get('help')[name] || '';
      if (i === 0) cell.className = 'wc-first';
    });
    // rows are boxes of their own, so that those out of sight cost no layout: some thousand inputs would be slow
    table.style.width = widths.reduce((sum, one) => sum + one) + 'px';
    style.textContent = widths.map((one, i) => `#${id} tr > :nth-child(${i + 1}) { width: ${one}px; }`).join('');
    offer();
  };
  const added = i => {
    const line = make('tr', body, { role: 'row' }), first = make('th', line, { scope: 'row', role: 'rowheader' });
    first.innerHTML = `<button type="button" aria-label="Take ${one} in row ${i + 2} out">${i + 2}&nbsp;✕</button>`;
    if (judged) make('td', line, { className: 'wc-mark', role: 'cell' });
    columns.forEach((name, j) => {
      const cell = make('td', line, { className: j ? '' : 'wc-first', role: 'cell' });
      const input = make('input', cell, { type: 'text', spellcheck: false, autocomplete: 'off' });
      input.setAttribute('aria-label', `${name}, row ${i + 2}`);
      if (model.get('words')[name]) input.setAttribute('list', id + j);
    });
  };
  const boxes = i => body.rows[i].querySelectorAll('input');
  const shade = i => {
    const unused = model.get('unused')[rows[i][columns.indexOf(model.get('by'))]] || [];
    boxes(i).forEach((input, j) => input.classList.toggle('wc-unused', unused.includes(columns[j])));
  };
  const draw = () => {
    const sent = model.get('sheet'), anew = sent.columns.join('\\n') !== columns.join('\\n');
    const old = anew ? [] : rows;
    columns = sent.columns; rows = sent.rows; number = sent.number;
    if (anew) { body.innerHTML = ''; heading(); }
    while (body.rows.length > rows.length) body.deleteRow(-1);
    for (let i = body.rows.length; i < rows.length; i++) added(i);
    rows.forEach((row, i) => {
      if (old[i] === row) return;
      const line = boxes(i);
      row.forEach((text, j) => { if (!old[i] || old[i][j] !== text) line[j].value = text; });
      shade(i);
    });
    mark(); blame();
  };
  const mark = () => judged && rows.forEach((_, i) => {
    const cell = body.rows[i].cells[1], text = marked(i);
    if (cell.textContent !== text) cell.textContent = text;
    cell.classList.toggle('wc-breaks', text.startsWith('✗'));
  });
  const blame = () => {
    for (const input of body.querySelectorAll('[aria-invalid]')) {
      input.removeAttribute('aria-invalid');
      input.title = '';
    }
    for (const [row, column, said] of model.get('faults')) {
      const input = body.rows[row] && boxes(row)[Math.max(columns.indexOf(column), 0)];
      if (input) { input.setAttribute('aria-invalid', 'true'); input.title += (input.title ? '\\n' : '') + said; }
    }
  };
  const at = input => {
    const i = input.closest('tr').sectionRowIndex;
    return [i, [...boxes(i)].indexOf(input)];
  };
  body.addEventListener('change', event => {
    const [i, j] = at(event.target);
    model.send({ row: i, column: columns[j], text: event.target.value, number });
    rows = rows.map((row, k) => k === i ? row.map((text, m) => m === j ? event.target.value : text) : row);
    shade(i);
  });
  body.addEventListener('keydown', event => {
    if (event.target.tagName !== 'INPUT' || event.target.hasAttribute('list') && event.key !== 'Enter') return;
    const by = { ArrowDown: 1, Enter: 1, ArrowUp: -1 }[event.key];
    if (!by) return;
    const [i, j] = at(event.target), next = body.rows[i + by];
    if (next) { event.preventDefault(); boxes(i + by)[j].focus(); boxes(i + by)[j].select(); }
  });
  body.addEventListener('click', event => {
    const button = event.target.closest('button');
    if (button) model.send({ remove: button.closest('tr').sectionRowIndex, number });
  });
  const go = () => {
    const [row, column] = model.get('focus');
    if (row < 0 || !body.rows[row]) return;
    const input = boxes(row)[Math.max(columns.indexOf(column), 0)];
    input?.focus(); input?.scrollIntoView({ block: 'center', inline: 'center' });
  };
  const events = { 'change:sheet': draw, 'change:marks': mark, 'change:faults': blame, 'change:focus': go,
    'change:words': offer };
  // on paper: words, which wrap, in place of boxes; no column that nobody has filled; the sheet laid across
  const paper = make('style', root), print = () => {
    const filled = columns.map((_, j) => rows.some(row => row[j])), before = 1 + judged;
    for (const line of [...head.rows, ...body.rows]) [...line.cells].slice(before).forEach((cell, j) => {
      cell.classList.toggle('wc-empty', !filled[j]);
      const box = cell.querySelector('input');
      if (box) cell.dataset.said = box.value;
    });
    paper.textContent = root.checkVisibility() ? '@page { size: landscape; }' : '';
  };
  window.addEventListener('beforeprint', print);
  for (const [name, act] of Object.entries(events)) model.on(name, act);
  draw();
  return () => {
    window.removeEventListener('beforeprint', print);
    for (const [name, act] of Object.entries(events)) model.off(name, act);
  };
} };
"""
_CSS = """
.wc-grid .wc-scroll { max-height: min(75vh, 760px); overflow: auto; border: 1px solid var(--wc-line);
  border-radius: 8px; }
.wc-grid table, .wc-grid thead, .wc-grid tbody { display: block; font-size: 14px; color: var(--wc-ink); }
.wc-grid tr { display: flex; } .wc-grid tr > * { flex: none; box-sizing: border-box; }
.wc-grid tbody tr { content-visibility: auto; contain-intrinsic-size: auto 37px; }
.wc-grid thead { position: sticky; top: 0; z-index: 2; }
.wc-grid thead th { background: var(--wc-paper); color: var(--wc-soft);
  font-weight: 600; text-align: left; padding: 6px; white-space: nowrap; border-bottom: 1px solid var(--wc-line); }
.wc-grid td, .wc-grid tbody th { padding: 0; border-bottom: 1px solid var(--wc-line); background: var(--wc-card); }
.wc-grid input { width: 100%; height: 36px; box-sizing: border-box; border: 0; padding: 0 6px;
  font: inherit; color: inherit; background: transparent; border-radius: 0; }
.wc-grid .wc-first { position: sticky; left: 0; z-index: 1; }
.wc-grid thead th.wc-first { z-index: 3; }
.wc-grid .wc-first input { font-weight: 600; }
.wc-grid input.wc-unused { background: repeating-linear-gradient(135deg, transparent 0 5px, var(--wc-line) 5px 6px); }
.wc-grid input[aria-invalid] { background: var(--wc-fault-paper); color: var(--wc-fault);
  box-shadow: inset 0 0 0 2px var(--wc-fault); }
.wc-grid input:focus-visible { outline: 3px solid var(--wc-accent); outline-offset: -3px; }
.wc-grid .wc-mark { padding: 8px 8px 0; white-space: nowrap; overflow: hidden; text-overflow: ellipsis; }
.wc-grid .wc-breaks { color: var(--wc-fault); font-weight: 600; }
.wc-grid button { font: inherit; font-size: 13px; min-width: 52px; height: 36px; border: 0; background: none;
  color: var(--wc-soft); cursor: pointer; }
.wc-grid button:hover { color: var(--wc-fault); }
.wc-grid button:focus-visible { outline: 3px solid var(--wc-accent); outline-offset: -3px; }
@media print {
  .wc-grid .wc-scroll { max-height: none; overflow: visible; border: 0; }
  .wc-grid table { display: table; width: 100% !important; }
  .wc-grid thead { display: table-header-group; position: static; } .wc-grid tbody { display: table-row-group; }
  .wc-grid tr { display: table-row; break-inside: avoid; } .wc-grid tbody tr { content-visibility: visible; }
  .wc-grid tr > :is(th, td):is(th, td, #wc) {
    display: table-cell; width: auto; padding: 1px 2px; position: static; font-size: 9px; vertical-align: top; }
  .wc-grid tr > :first-child:first-child:is(th, #wc) { display: none; } .wc-grid thead th { writing-mode: vertical-rl; }
  .wc-grid [data-said]::after { content: attr(data-said); overflow-wrap: break-word; }
  .wc-grid [data-said] input, .wc-grid tr > .wc-empty:is(.wc-empty, #wc):is(th, td) { display: none; }
}
"""


class Grid(anywidget.AnyWidget):
    """An editable list.

    Parameters
    ----------
    label : str
        Of the table.
    one : str
        What a row is: "the wire".
    help : mapping of str to str
        What is said over each heading.
    write : callable of (int, str, str) -> None
        Row from 0, heading, text: a cell was changed.
    remove : callable of int -> None
        A row is to go.
    judged : bool
        Whether `marks` are shown.
    by, unused : str, mapping of str to sequence of str
        The headings that a row does not need, by what stands in the column `by`.
    """

    _esm = _ESM
    _css = _CSS
    label = traitlets.Unicode().tag(sync=True)
    one = traitlets.Unicode().tag(sync=True)
    help = traitlets.Dict().tag(sync=True)
    judged = traitlets.Bool().tag(sync=True)
    by = traitlets.Unicode().tag(sync=True)
    unused = traitlets.Dict().tag(sync=True)
    sheet = traitlets.Dict({"columns": [], "rows": [], "number": 0}).tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    """What is offered while typing, by heading."""
    marks = traitlets.List().tag(sync=True)
    """What is said of each row."""
    faults = traitlets.List().tag(sync=True)
    """Row, heading and what is wrong."""
    focus = traitlets.List([-1, "", 0]).tag(sync=True)

    def __init__(
        self,
        label: str,
        one: str,
        help: Mapping[str, str],
        write: Callable[[int, str, str], None],
        remove: Callable[[int], None],
        *,
        judged: bool = False,
        by: str = "",
        unused: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        super().__init__(label=label, one=one, help=dict(help), judged=judged, by=by, unused=dict(unused or {}))
        self.write, self.remove = write, remove
        self.on_msg(self._told)

    def show(self, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Draw this; `number` counts the rows' changes of place, so that an edit never lands in another row."""
        number = self.sheet["number"] + (len(rows) != len(self.sheet["rows"]))
        self.sheet = {"columns": list(columns), "rows": [list(row) for row in rows], "number": number}

    def go(self, row: int, column: str) -> None:
        """Put the person into a cell."""
        self.focus = [row, column, self.focus[2] + 1]

    def _told(self, _widget: Any, content: Any, _buffers: Any) -> None:
        try:
            if int(content["number"]) != self.sheet["number"]:
                return
            if "remove" in content:
                self.remove(int(content["remove"]))
            elif content["column"] in self.sheet["columns"]:
                self.write(int(content["row"]), str(content["column"]), str(content["text"]))
        except Exception:
            _log.exception("a cell could not be taken")
