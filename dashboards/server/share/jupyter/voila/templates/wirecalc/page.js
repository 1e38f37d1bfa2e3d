// anywidget waits two seconds for a widget's script; a widget whose script comes later would be drawn, and never again
// hear of a change: on a slow tablet the charts would stand still beside numbers that move
{
  const after = AbortSignal.timeout.bind(AbortSignal);
  AbortSignal.timeout = ms => after(ms === 2000 ? 600_000 : ms);
}
/* Names and values that assistive technology reads, which the widgets' own markup leaves out. */
(() => {
  // what the keyboard or a link brings into sight comes to stand under the answer with its ring, not behind it
  const height = new ResizeObserver(([top]) => {
    document.documentElement.style.scrollPaddingTop = `${Math.ceil(top.borderBoxSize[0].blockSize) + 6}px`;
  });
  let watched = null;
  const mend = () => {
    const top = document.querySelector('.wc-top');
    if (top !== watched) {
      height.disconnect();
      if (top) height.observe(top);
      watched = top;
    }
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
