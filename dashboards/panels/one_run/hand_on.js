/* Copy link, and Show the customer: the kernel says where to, as it knows the entries before the address does. */
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  if (globalThis.wirecalcGuest) return () => page.leave();  // its address has no entries, its other pages are no neighbours
  const make = (words, act) => {
    const button = el.appendChild(document.createElement('button'));
    Object.assign(button, { type: 'button', textContent: words, className: 'wc-press' });
    button.addEventListener('click', act);
    return button;
  };
  const said = document.createElement('span');
  said.setAttribute('role', 'status');
  const by_hand = text => {  // where a page without https may not write to the clipboard
    const box = document.body.appendChild(Object.assign(document.createElement('textarea'), { value: text }));
    box.select();
    const done = document.execCommand('copy');
    box.remove();
    return done;
  };
  make('Copy link', async () => {
    const link = location.href;
    let done = true;
    try { await navigator.clipboard.writeText(link); } catch { done = by_hand(link); }
    said.textContent = done ? 'Link copied.' : 'The browser did not copy it: take it from the address bar.';
  });
  const show = make('Show the customer', () => page.act({ show: true }));
  el.append(said);
  const draw = () => { show.hidden = !model.get('heard'); };
  let answered = () => {};
  const kept = 'wirecalc run';  // what that page does not have of this run, until it comes back: hand_back.js
  const go = content => {
    if (!content.go) return;
    answered();
    try { sessionStorage.setItem(kept, JSON.stringify({ query: content.run, hash: location.hash })); } catch { /* no storage */ }
    location.assign(content.go);
  };
  try { sessionStorage.removeItem(kept); } catch { /* no storage */ }
  const top = document.querySelector('.wc-pages a[href*="show_and_hear.ipynb"]');
  const along = event => {
    if (!model.get('heard') || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    answered();
    answered = page.follow(top, { show: true });
  };
  top?.addEventListener('click', along);
  model.on('change:heard', draw);
  model.on('msg:custom', go);
  draw();
  return () => {
    answered();
    top?.removeEventListener('click', along);
    model.off('change:heard', draw);
    model.off('msg:custom', go);
    page.leave();
  };
} };
