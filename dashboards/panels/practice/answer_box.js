export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const form = document.createElement('form'), label = document.createElement('label');
  const input = document.createElement('input'), button = document.createElement('button');
  const said = document.createElement('div');
  form.className = 'wc-answering'; form.noValidate = true;
  label.textContent = 'Your answer';
  input.type = 'text'; input.maxLength = 200; input.autocomplete = 'off'; input.spellcheck = false;
  input.enterKeyHint = 'go';
  input.id = label.htmlFor = 'answer-' + Math.random().toString(36).slice(2);
  said.id = input.id + '-said'; said.setAttribute('aria-live', 'polite');
  input.setAttribute('aria-describedby', said.id);
  button.type = 'submit';
  form.append(label, input, button);
  el.append(form, said);
  const draw = () => {
    button.textContent = model.get('button');
    input.placeholder = model.get('example');
    said.innerHTML = model.get('reply');
    input.setAttribute('aria-invalid', String(!!said.querySelector('[role=alert]')));
  };
  let typed = 0;  // the page's acts before what stands in the box
  let edited = false;
  const restored = () => { if (!input.value) input.value = model.get('typed'); };
  const clear = () => {
    if (typed < model.get('answers')) input.value = '';  // else it was typed after what empties the box
    input.focus({ preventScroll: true });
  };
  input.addEventListener('input', () => { edited = true; typed = wirecalcActs.count(); });
  form.addEventListener('submit', event => {
    event.preventDefault();
    edited = false;
    page.act({ answer: input.value, to: model.get('question') });
  });
  const parting = () => {  // a reload while something is being typed
    if (edited && input.value) page.act({ typed: input.value, to: model.get('question') });
  };
  window.addEventListener('pagehide', parting);
  for (const name of ['button', 'example', 'reply']) model.on('change:' + name, draw);
  model.on('change:cleared', clear);
  model.on('change:typed', restored);
  draw(); restored();
  return () => {
    for (const name of ['button', 'example', 'reply']) model.off('change:' + name, draw);
    model.off('change:cleared', clear);
    model.off('change:typed', restored);
    window.removeEventListener('pagehide', parting);
    page.leave();
  };
} };
