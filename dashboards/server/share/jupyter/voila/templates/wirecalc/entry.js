/* An entry: its box, its slider and what is said of it. What a person types stays until they leave the box or press Enter,
   whatever the kernel writes meanwhile. */
globalThis.wirecalcEntry = ({ model, el }) => {
  const page = wirecalcActs.of(model, el);
  const make = (tag, parent, more) => Object.assign(parent.appendChild(document.createElement(tag)), more);
  const line = make('div', el, { className: 'widget-text' });
  const label = make('label', line, { className: 'widget-label' });
  const box = make('input', line, { type: 'text', autocomplete: 'off', spellcheck: false });
  const slider = model.get('last') < 0 ? null : make('input', el, { type: 'range', min: 0, step: 1 });
  const note = make('div', el, { className: 'wc-note' });
  box.id = label.htmlFor = 'entry-' + model.get('own');
  note.id = box.id + '-note';
  box.setAttribute('aria-describedby', note.id);
  let shown = '', left = false;  // what stands in the box when nobody is typing
  let edited = false;            // also to the same text again: what is worked on may be about to change it
  const typing = () => edited || box.value !== shown;
  const place = () => {
    slider.style.setProperty('--share', String(slider.value / Math.max(slider.max, 1)));
    slider.setAttribute('aria-valuenow', slider.value);
    slider.setAttribute('aria-valuetext', shown);
  };
  const settled = () => {
    const kept = typing();
    shown = model.get('text');
    if (!kept && box.value !== shown) {  // what was selected, to be typed over, stays selected
      const all = box === document.activeElement && box.selectionStart === 0 && box.selectionEnd === box.value.length;
      box.value = shown;
      if (all) box.select();
    }
    if (!slider) return;
    slider.max = model.get('last');
    slider.value = model.get('at');
    place();
  };
  const draw = () => {
    const name = model.get('description'), said = model.get('note');
    if (label.textContent !== name) label.textContent = name;
    box.placeholder = model.get('placeholder');
    slider?.setAttribute('aria-label', name + ', slider');
    if (note.innerHTML !== said) note.innerHTML = said;
    note.hidden = !said;
    box.setAttribute('aria-invalid', String(!!note.querySelector('[role=alert]')));
    if (page.settled()) settled();
  };
  const commit = () => {
    if (!typing()) return;
    edited = false;
    if (box.value === shown && !wirecalcActs.busy()) return;
    shown = box.value;
    page.act({ text: shown });
  };
  box.addEventListener('input', () => { edited = true; });
  box.addEventListener('change', commit);
  box.addEventListener('blur', commit);
  box.addEventListener('keydown', event => event.key === 'Enter' && commit());
  note.addEventListener('click', event => {  // what a text may mean is offered to press
    const offer = event.target.closest('[data-text]');
    if (!offer) return;
    box.value = offer.dataset.text;
    box.focus();
    edited = true;
    commit();
  });
  slider?.addEventListener('input', () => {
    place();
    page.slide({ at: Number(slider.value), of: model.get('stops') });
  });
  const parting = () => commit();  // a reload while something is being typed
  window.addEventListener('pagehide', parting);
  model.on('change', draw);
  const waits = !page.settled() && page.pending();
  draw();
  if (waits?.text !== undefined) box.value = shown = waits.text;
  else if (waits) { settled(); if (slider) { slider.value = waits.at; place(); } }
  return () => {
    if (left) return;
    left = true;
    commit();  // typed into a box that went away
    window.removeEventListener('pagehide', parting);
    model.off('change', draw);
    page.leave();
  };
};
