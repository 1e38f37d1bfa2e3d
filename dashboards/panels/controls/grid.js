const make = (tag, parent, more) => Object.assign(parent.appendChild(document.createElement(tag)), more);
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const root = make('div', el, { className: 'wc-grid' });
  const lists = make('div', root, { hidden: true }), box = make('div', root, { className: 'wc-scroll' });
  const table = make('table', box, { role: 'table' }), style = make('style', root);
  const head = make('thead', table, { role: 'rowgroup' }), body = make('tbody', table, { role: 'rowgroup' });
  const id = 'g' + Math.random().toString(36).slice(2), one = model.get('row_name'), judged = model.get('judged');
  table.id = id;
  let columns = [], rows = [], ids = [];
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
    // a cell that gets the focus comes to stand beside the names and under the heads, not behind them
    box.style.scrollPadding = `${head.offsetHeight}px 0 0 ${widths[judged ? 2 : 1] + 4}px`;
    offer();
  };
  const added = i => {
    const line = make('tr', body, { role: 'row' }), first = make('th', line, { scope: 'row', role: 'rowheader' });
    first.innerHTML = `<button type="button" aria-label="Delete row ${i + 1}">${i + 1}&nbsp;✕</button>`;
    if (judged) make('td', line, { className: 'wc-mark', role: 'cell' });
    columns.forEach((name, j) => {
      const cell = make('td', line, { className: j ? '' : 'wc-first', role: 'cell' });
      const input = make('input', cell, { type: 'text', spellcheck: false, autocomplete: 'off' });
      input.setAttribute('aria-label', `${name}, row ${i + 1}`);
      if (model.get('words')[name]) input.setAttribute('list', id + j);
    });
  };
  const boxes = i => body.rows[i].querySelectorAll('input');
  const shade = i => {
    const unused = model.get('unused')[rows[i][columns.indexOf(model.get('by'))]] || [];
    const assumed = model.get('assumed')[rows[i][columns.indexOf(model.get('by'))] ?? ''] || {};
    boxes(i).forEach((input, j) => {
      input.classList.toggle('wc-unused', unused.includes(columns[j]));
      input.placeholder = assumed[columns[j]] ?? '';
    });
  };
  // what is being typed goes with its row, wherever that moves to
  const typed = () => {
    const input = document.activeElement;
    if (!body.contains(input) || input.tagName !== 'INPUT') return null;
    const [i, j] = at(input);
    const { value, selectionStart, selectionEnd } = input;
    return { input, id: ids[i], column: columns[j], dirty: value !== rows[i][j], value, selectionStart, selectionEnd };
  };
  const typeOn = ({ input, id, column, dirty, value, selectionStart, selectionEnd }) => {
    const i = ids.indexOf(id), to = i < 0 ? null : boxes(i)[columns.indexOf(column)];
    if (!to) return;
    if (dirty) to.value = value;
    if (document.activeElement === to && !dirty) return;
    moving = true;
    to.focus();
    moving = false;
    if (dirty) to.setSelectionRange(selectionStart, selectionEnd);
  };
  let moving = false;
  const draw = () => {
    if (!page.settled()) return;
    const going = typed(), sent = model.get('sheet'), anew = sent.columns.join('\n') !== columns.join('\n');
    const old = anew ? [] : rows;
    columns = sent.columns; rows = sent.rows; ids = sent.ids;
    moving = true;  // a box that goes is not left by its person
    if (anew) { body.innerHTML = ''; heading(); }
    while (body.rows.length > rows.length) body.deleteRow(-1);
    for (let i = body.rows.length; i < rows.length; i++) added(i);
    rows.forEach((row, i) => {
      if (old[i] === row) return;
      const line = boxes(i);
      row.forEach((text, j) => { if (!old[i] || old[i][j] !== text) line[j].value = text; });
      shade(i);
    });
    moving = false;
    if (going) typeOn(going);
    mark(); blame();
  };
  const mark = () => judged && page.settled() && rows.forEach((_, i) => {
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
      if (input) { input.setAttribute('aria-invalid', 'true'); input.title += (input.title ? '\n' : '') + said; }
    }
  };
  const at = input => {
    const i = input.closest('tr').sectionRowIndex;
    return [i, [...boxes(i)].indexOf(input)];
  };
  body.addEventListener('change', event => {
    if (moving) return;
    const [i, j] = at(event.target);
    if (rows[i][j] === event.target.value) return;
    page.act({ id: ids[i], row: i, column: columns[j], text: event.target.value, was: rows[i][j],
      first: rows[i][0] });
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
    if (!button) return;
    const i = button.closest('tr').sectionRowIndex;
    page.act({ id: ids[i], row: i, remove: true, was: rows[i][0], first: rows[i][0] });
  });
  const go = () => {
    if (!page.settled()) draw();
    const [row, column] = model.get('focus');
    if (row < 0 || !body.rows[row]) return;
    const input = boxes(row)[Math.max(columns.indexOf(column), 0)];
    input?.focus(); input?.scrollIntoView({ block: 'center', inline: 'center' });
  };
  const events = { 'change:sheet': draw, 'change:answers': draw, 'change:marks': mark, 'change:faults': blame, 'change:focus': go,
    'change:words': offer, 'change:assumed': () => page.settled() && rows.forEach((_, i) => shade(i)) };
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
  const parting = () => {  // a reload while something is being typed
    const box = document.activeElement;
    if (body.contains(box) && box.tagName === 'INPUT') box.dispatchEvent(new Event('change', { bubbles: true }));
  };
  window.addEventListener('beforeprint', print);
  window.addEventListener('pagehide', parting);
  for (const [name, act] of Object.entries(events)) model.on(name, act);
  draw();
  return () => {
    window.removeEventListener('beforeprint', print);
    window.removeEventListener('pagehide', parting);
    for (const [name, act] of Object.entries(events)) model.off(name, act);
    page.leave();
  };
} };
