export default { render({ model, el }) {
  const own = model.get('servers_own');
  const ours = () => model.get('packs').some(name => location.hash.startsWith(`#${name}=`));
  const write = () => {
    const query = new URLSearchParams(model.get('query'));
    for (const [name, value] of new URLSearchParams(location.search)) if (own.includes(name)) query.append(name, value);
    const text = query.toString(), packed = model.get('fragment');
    const hash = packed ? '#' + packed : ours() ? '' : location.hash;
    history.replaceState(history.state, '', location.pathname + (text && '?' + text) + hash);
  };
  const note = () => { el.innerHTML = model.get('note'); };
  const mind = () => document.documentElement.toggleAttribute('data-wc-unsaved', model.get('unsaved'));  // see life.js
  const other = () => { if (ours()) location.reload(); };  // a link to this page that differs behind its # only
  const events = { 'change:query': write, 'change:fragment': write, 'change:note': note, 'change:unsaved': mind };
  for (const [name, act] of Object.entries(events)) model.on(name, act);
  window.addEventListener('hashchange', other);
  note(); mind();
  const came = { came: location.search.slice(1), hash: ours() ? location.hash.slice(1) : '' };
  if (came.came || came.hash) model.send(came);
  else if (model.get('query')) write();  // of a page that is never twice the same
  return () => {
    window.removeEventListener('hashchange', other);
    for (const [name, act] of Object.entries(events)) model.off(name, act);
  };
} };
