// The numbers may be drawn anew while the dialog is open or a number has the focus: both are found again by key.
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const numbers = document.createElement('div'), dialog = document.createElement('dialog');
  numbers.className = 'wc-numbers';
  dialog.className = 'wc-working';
  dialog.innerHTML = '<div><div class="wc-answer" tabindex="0" autofocus></div>'
    + '<button type="button" class="wc-close">Close</button></div>';
  const [answer, close] = dialog.firstChild.children;
  let asked = null;
  const find = key => numbers.querySelector(`[data-ask="${CSS.escape(key)}"]`);
  const draw = () => {
    const key = numbers.contains(document.activeElement) ? document.activeElement.dataset.ask : null;
    numbers.innerHTML = model.get('html');
    if (key) find(key)?.focus({ preventScroll: true });
  };
  const show = () => {
    if (asked === null) return;
    answer.innerHTML = model.get('working');
    const title = answer.querySelector('h2');
    dialog.setAttribute('aria-label', title ? title.textContent : 'Working');
    if (!dialog.open) dialog.showModal();
    answer.scrollTop = 0;
  };
  numbers.addEventListener('click', event => {
    const key = event.target.closest('[data-ask]')?.dataset.ask;
    if (key === undefined) return;
    asked = key;
    page.act({ ask: key });
  });
  close.addEventListener('click', () => dialog.close());
  dialog.addEventListener('click', event => event.target === dialog && dialog.close());
  dialog.addEventListener('close', () => { find(asked)?.focus(); asked = null; });
  let due;
  const later = () => { clearTimeout(due); due = setTimeout(draw, 30); };  // charts that change with it go first
  model.on('change:html', later);
  model.on('change:opened', show);
  el.append(numbers, dialog);
  draw();
  return () => { clearTimeout(due); model.off('change:html', later); model.off('change:opened', show); page.leave(); };
} };
