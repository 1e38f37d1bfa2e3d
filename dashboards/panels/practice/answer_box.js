export default { render({ model, el }) {
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
    said.innerHTML = model.get('said');
    input.setAttribute('aria-invalid', String(!!said.querySelector('[role=alert]')));
  };
  const clear = () => { input.value = ''; input.focus({ preventScroll: true }); };
  form.addEventListener('submit', event => {
    event.preventDefault();
    model.set('asked', input.value + '|' + (Number(model.get('asked').split('|').pop() || 0) + 1));
    model.save_changes();
  });
  for (const name of ['button', 'example', 'said']) model.on('change:' + name, draw);
  model.on('change:cleared', clear);
  draw();
  return () => {
    for (const name of ['button', 'example', 'said']) model.off('change:' + name, draw);
    model.off('change:cleared', clear);
  };
} };
