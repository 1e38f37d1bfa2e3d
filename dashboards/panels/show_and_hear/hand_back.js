/* The link of One run on top takes choice A along. What else that run had, such as where it lies, the page One run has left
   in this tab's own storage (hand_on.js); of a page that was opened by itself it is a run to a speaker. */
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  let answered = () => {};
  el.hidden = true;
  const left = () => {
    try { return JSON.parse(sessionStorage.getItem('wirecalc run')) ?? {}; } catch { return {}; }
  };
  const go = content => {
    if (!content.back) return;
    answered();
    const { query = 'circuit=speaker', hash = '' } = left();
    const entries = new URLSearchParams(query);
    for (const [key, value] of Object.entries(content.back)) entries.set(key, value);
    location.assign(`one_run.ipynb?${entries}${hash}`);
  };
  const top = document.querySelector('.wc-pages a[href*="one_run.ipynb"]');
  const along = event => {
    if (event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    answered();
    answered = page.follow(top, { back: true });
  };
  top?.addEventListener('click', along);
  model.on('msg:custom', go);
  return () => {
    answered();
    top?.removeEventListener('click', along);
    model.off('msg:custom', go);
    page.leave();
  };
} };
