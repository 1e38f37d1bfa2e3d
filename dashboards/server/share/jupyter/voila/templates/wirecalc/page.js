/* Names and values that assistive technology reads, which the widgets' own markup leaves out. */
(() => {
  const mend = () => {
    document.getElementById('rendered_cells')?.setAttribute('role', 'main');
    document.querySelectorAll('[title=null]').forEach(e => e.removeAttribute('title'));  // of widgets without one
  };
  // on paper each chart fills its place, whatever the width it has on the screen
  const charts = act => document.querySelectorAll('.js-plotly-plot .main-svg').forEach(act);
  window.addEventListener('beforeprint', () => {
    charts(svg => svg.setAttribute('viewBox', `0 0 ${svg.getAttribute('width')} ${svg.getAttribute('height')}`));
  });
  window.addEventListener('afterprint', () => charts(svg => svg.removeAttribute('viewBox')));
  let due = false;
  new MutationObserver(() => {
    if (due) return;
    due = true;
    setTimeout(() => { due = false; mend(); }, 250);
  }).observe(document.documentElement, {subtree: true, childList: true});
})();
