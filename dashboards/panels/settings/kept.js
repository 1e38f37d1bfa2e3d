/* One setting that the browser keeps for the person, in its own storage on this device, over pages and visits. Other open
   tabs hear of a change at once. The kernel's side is kept.py. */
export default { initialize({ model }) {
  const key = 'wirecalc ' + model.get('name');
  const refused = () => model.send({ refused: true });
  let done = 0;  // of what the kernel had kept
  const tell = () => {
    try {
      model.send({ text: localStorage.getItem(key) ?? '', after: done });
    } catch { refused(); }
  };
  const heard = event => { if (event.key === key || event.key === null) tell(); };
  const keep = () => {
    const [number, text] = model.get('kept');
    if (number <= done) return;
    done = number;
    try {
      if (text) localStorage.setItem(key, text); else localStorage.removeItem(key);
    } catch { refused(); }
  };
  const own = ['token', 'theme', 'template'];  // the server's parts of an address, see address.py
  const asked = !globalThis.wirecalcGuest && model.get('unless_asked') && [...new URLSearchParams(location.search).keys()].some(one => !own.includes(one));
  const again = () => { if (!asked) tell(); };  // what was heard without a connection is lost
  model.on('change:kept', keep);
  document.addEventListener('wc-connected', again);
  window.addEventListener('storage', heard);
  keep();
  try {
    if (!asked && localStorage.getItem(key)) tell();
  } catch { /* said when something is to be kept */ }
  return () => {
    window.removeEventListener('storage', heard);
    document.removeEventListener('wc-connected', again);
    model.off('change:kept', keep);
  };
} };
