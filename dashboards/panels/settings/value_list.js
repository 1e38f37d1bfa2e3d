/* Values to edit, by groups that open and close. The kernel's side is value_list.py: it says what each box shows, and a
   box that is being typed in is left alone. */
const SHORT = 9;  // characters that a box beside its label shows on a phone
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const boxes = new Map();  // by key: what of an entry changes
  const make = (tag, parent, settings = {}) => parent.appendChild(Object.assign(document.createElement(tag), settings));
  const entry = (one, parent) => {
    const item = make('div', parent, { className: 'wc-value' });
    const id = 'wc-value-' + Math.random().toString(36).slice(2);
    const line = make('div', item, { className: 'wc-value-line' });
    const label = make('label', line, { htmlFor: id });
    make('span', label, { textContent: one.label });
    make('small', label, { textContent: one.what });
    const box = make(one.options.length ? 'select' : 'input', line, { id });
    for (const [value, words] of one.options) make('option', box, { value, textContent: words });
    if (!one.options.length) Object.assign(box, { type: 'text', autocomplete: 'off', spellcheck: false });
    box.setAttribute('aria-label', [one.label, one.what, one.unit].filter(Boolean).join(', '));
    make('span', line, { className: 'wc-value-unit', textContent: one.unit });
    const fault = make('div', item, { id: id + '-fault' });
    const changed = make('div', item, { className: 'wc-value-changed' });
    const mark = make('span', changed);
    const back = make('button', changed, { type: 'button', textContent: 'Put back' });
    back.setAttribute('aria-label', 'Put back: ' + one.label);
    if (one.why.length) {
      const more = make('details', item);
      make('summary', more, { textContent: 'Why' });
      for (const text of one.why) make('p', more, { textContent: text });
    }
    box.setAttribute('aria-describedby', fault.id);
    const wide = one.options.some(([, words]) => words.length > SHORT);  // a list has its line to itself
    const known = { item, wide, box, fault, changed, mark, settled: [] };  // texts that the kernel has or gets
    box.addEventListener('change', () => {
      known.settled.push(box.value);
      page.act({ key: one.key, text: box.value });
    });
    back.addEventListener('click', () => { page.act({ back: one.key }); box.focus(); });
    boxes.set(one.key, known);
  };
  for (const group of model.get('groups')) {
    const part = make('details', el, { className: 'wc-values', open: group.open });
    const head = make('summary', part);
    make('h2', head, { textContent: group.title });
    const count = make('span', head, { className: 'wc-value-count' });
    if (group.note) make('p', part, { textContent: group.note });
    const list = make('div', part, { className: 'wc-value-list' });
    group.rows.forEach(one => entry(one, list));
    Object.assign(group, { part, count });
  }
  const draw = () => {
    if (!page.settled()) return;
    const shown = model.get('shown');
    for (const [key, one] of boxes) {
      const { text, usual, fault } = shown[key];
      const typing = one.box === document.activeElement && !one.settled.includes(one.box.value);
      if (!typing || !one.settled.length) one.box.value = text;
      one.settled = [text];
      one.fault.textContent = fault;
      fault ? one.fault.setAttribute('role', 'alert') : one.fault.removeAttribute('role');
      one.box.setAttribute('aria-invalid', String(!!fault));
      one.changed.hidden = usual === null;
      one.mark.textContent = usual === null ? '' : `changed; default: ${usual}`;
      one.item.classList.toggle('wc-is-changed', usual !== null);
      one.item.classList.toggle('wc-wide', one.wide || text.length > SHORT);
    }
    for (const group of model.get('groups')) {
      const changed = group.rows.filter(({ key }) => shown[key].usual !== null).length;
      group.count.textContent = changed ? `${changed} of ${group.rows.length} changed` : `${group.rows.length} here`;
      const only = model.get('only_changed');
      group.part.hidden = only && !changed;
      for (const { key } of group.rows) boxes.get(key).item.hidden = only && shown[key].usual === null && !shown[key].fault;
    }
  };
  const parting = () => {  // a reload while something is being typed
    const typed = [...boxes.values()].find(({ box }) => box === document.activeElement);
    if (typed && !typed.settled.includes(typed.box.value)) typed.box.dispatchEvent(new Event('change'));
  };
  const print = () => { for (const group of model.get('groups')) group.part.open = true; };
  const events = ['change:shown', 'change:only_changed', 'change:answers'];
  for (const name of events) model.on(name, draw);
  window.addEventListener('beforeprint', print);
  window.addEventListener('pagehide', parting);
  draw();
  return () => {
    window.removeEventListener('beforeprint', print);
    window.removeEventListener('pagehide', parting);
    for (const name of events) model.off(name, draw);
    page.leave();
  };
} };
