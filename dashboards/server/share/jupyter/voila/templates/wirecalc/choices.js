/* What is chosen or pressed: a list, a bar of buttons of which one is on, boxes to tick, a button that stays on, a button.
   A choice travels by its words, so that a press means what was on it, also when the list has changed meanwhile. */
globalThis.wirecalcChoice = ({ model, el }) => {
  const page = wirecalcActs.of(model, el), kind = model.get('kind'), id = 'choice-' + model.get('own');
  const make = (tag, parent, more) => Object.assign(parent.appendChild(document.createElement(tag)), more);
  const name = () => model.get('description');
  const around = kind === 'switch' || kind === 'press';  // the button alone is seen
  el.classList.add('widget-inline-hbox', around ? 'wc-around' : { list: 'widget-dropdown', bar: 'widget-toggle-buttons',
    several: 'wc-chips' }[kind]);
  const same = (parts, words) => parts.length === words.length && parts.every((one, i) => one.textContent === words[i]);
  const kinds = {
    list() {
      const label = make('label', el, { className: 'widget-label', htmlFor: id });
      const list = make('select', el, { id });
      list.addEventListener('change', () => page.act({ label: list.selectedOptions[0].textContent, at: list.selectedIndex }));
      return {
        labels(words) {
          label.textContent = name();
          if (same([...list.options], words)) return;
          list.replaceChildren(...words.map(word => Object.assign(document.createElement('option'), { textContent: word })));
        },
        value: at => { list.selectedIndex = at; },
      };
    },
    bar() {
      const bar = make('div', el, { role: 'group' });
      const show = at => [...bar.children].forEach((button, i) => {
        button.classList.toggle('mod-active', i === at);
        button.setAttribute('aria-pressed', String(i === at));
      });
      bar.addEventListener('click', event => {
        const button = event.target.closest('button');
        if (!button) return;
        const at = [...bar.children].indexOf(button);
        show(at);
        page.act({ label: button.textContent, at });
      });
      return {
        labels(words) {
          if (name()) bar.setAttribute('aria-label', name());
          if (same([...bar.children], words)) return;
          const focused = bar.contains(document.activeElement) ? document.activeElement.textContent : null;
          bar.replaceChildren(...words.map(word => Object.assign(document.createElement('button'),
            { type: 'button', className: 'jupyter-button widget-toggle-button', textContent: word })));
          (model.get('pictures') ?? []).forEach((drawn, i) => bar.children[i]?.insertAdjacentHTML('afterbegin', drawn));
          [...bar.children].find(one => one.textContent === focused)?.focus();
        },
        value: show,
      };
    },
    several() {
      el.setAttribute('role', 'group');
      const boxes = model.get('labels').map(label => {
        const around = make('label', make('div', el, { className: 'wc-chip' }), {});
        const box = make('input', around, { type: 'checkbox' });
        make('span', around, { textContent: label });
        box.addEventListener('change', () => page.act({ label, on: box.checked }));
        return box;
      });
      return {
        labels: () => { el.setAttribute('aria-label', name()); },
        value: ticked => boxes.forEach((box, at) => { box.checked = ticked.includes(at); }),
      };
    },
    switch() {
      const button = make('button', el, { type: 'button', className: 'jupyter-button widget-toggle-button' });
      const show = on => {
        button.classList.toggle('mod-active', on);
        button.setAttribute('aria-pressed', String(on));
      };
      button.addEventListener('click', () => {
        const on = button.getAttribute('aria-pressed') !== 'true';
        show(on);
        page.act({ on });
      });
      return { labels: () => { button.textContent = name(); }, value: show };
    },
    press() {
      const button = make('button', el, { type: 'button', className: 'jupyter-button widget-button' });
      button.addEventListener('click', () => page.act({ pressed: name() }));
      return { labels: () => { button.textContent = name(); button.disabled = model.get('disabled'); }, value: () => {} };
    },
  };
  const own = kinds[kind](), many = kind === 'list' || kind === 'bar';
  const value = () => model.get(many ? 'chosen' : kind === 'several' ? 'ticked' : 'on');
  const after = ({ label, on }) => {  // what the value will be when an act is done
    const at = model.get('labels').indexOf(label);
    if (kind !== 'several') return many ? at : on;
    return on ? [...value(), at] : value().filter(other => other !== at);
  };
  const draw = () => {
    if (many && !page.settled()) return;  // not the list either: what was chosen may not be in it yet
    own.labels(model.get('labels'));
    if (page.settled()) own.value(value());
  };
  model.on('change', draw);
  own.labels(model.get('labels'));
  const waits = !page.settled() && page.pending();
  own.value(waits ? after(waits) : value());
  return () => { model.off('change', draw); page.leave(); };
};
