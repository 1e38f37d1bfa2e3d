/* The browser's end of a page's address: hands over what came in it, writes what the page has now. wirecalcActs is
   acts.js of the template. */
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);
  const ours = () => model.get('packs').some(name => location.hash.startsWith(`#${name}=`));
  const write = () => {
    const query = new URLSearchParams(model.get('query'));
    for (const [name, value] of new URLSearchParams(location.search)) {
      if (model.get('servers_own').includes(name)) query.append(name, value);
    }
    const text = query.toString(), packed = model.get('fragment');
    const hash = packed ? '#' + packed : ours() ? '' : location.hash;
    const now = location.pathname + (text && '?' + text) + hash;
    if (now !== location.pathname + location.search + location.hash) history.replaceState(history.state, '', now);
    wirecalcActs.written(model.get('upto'));
  };
  const note = () => { el.innerHTML = model.get('note'); };
  const mind = () => document.documentElement.toggleAttribute('data-wc-unsaved', model.get('unsaved'));  // see life.js
  const other = () => { if (ours()) location.reload(); };  // a link to this page that differs behind its # only
  let due = false;
  const soon = () => {  // query, fragment and number come together
    if (due) return;
    due = true;
    queueMicrotask(() => { due = false; write(); });
  };
  if (globalThis.wirecalcGuest) return () => page.leave();  // an address that is not ours
  const events = { 'change:query': soon, 'change:fragment': soon, 'change:upto': soon, 'change:note': note,
    'change:unsaved': mind };
  for (const [name, act] of Object.entries(events)) model.on(name, act);
  window.addEventListener('hashchange', other);
  note(); mind();
  const came = { came: location.search.slice(1), hash: ours() ? location.hash.slice(1) : '' };
  if (!came.came && !came.hash && model.get('query')) write();  // of a page that is never twice the same
  wirecalcActs.address(model, came.came || came.hash ? came : null);
  return () => {
    window.removeEventListener('hashchange', other);
    for (const [name, act] of Object.entries(events)) model.off(name, act);
    page.leave();
  };
} };
