/* One setting that the browser keeps for the person, in its own storage on this device, over pages and visits. Other open
   tabs hear of a change at once. The kernel's side is kept.py. */
export default { initialize({ model }) {
  const key = 'wirecalc ' + model.get('name');
  const refused = () => model.send({ refused: true });
  const tell = () => {
    try {
      model.send({ text: localStorage.getItem(key) ?? '' });
    } catch { refused(); }
  };
  const heard = event => { if (event.key === key || event.key === null) tell(); };
  const keep = ({ text }) => {
    try {
      if (text) localStorage.setItem(key, text); else localStorage.removeItem(key);
    } catch { refused(); }
  };
  model.on('msg:custom', keep);
  window.addEventListener('storage', heard);
  document.addEventListener('wc-connected', tell);  // what was heard without a connection is lost
  try {
    if (localStorage.getItem(key)) tell();
  } catch { /* said when something is to be kept */ }
  return () => {
    window.removeEventListener('storage', heard);
    document.removeEventListener('wc-connected', tell);
    model.off('msg:custom', keep);
  };
} };
