/* Names and values that assistive technology reads, which the widgets' own markup leaves out. */
(() => {
  // plotly follows the window only: tell it when a chart's own box changes, as when its tab comes forward
  const sized = new WeakSet();
  const misfit = box => [...box.querySelectorAll('.js-plotly-plot')].some(
    chart => chart.offsetParent && Math.abs(chart._fullLayout?.width - chart.clientWidth) > 1);
  let fit;
  const widths = new ResizeObserver(boxes => {
    if (!boxes.some(box => misfit(box.target))) return;  // it is told of every box once, whatever its size
    clearTimeout(fit);
    fit = setTimeout(() => window.dispatchEvent(new Event('resize')), 60);
  });
  const mend = () => {
    document.getElementById('rendered_cells')?.setAttribute('role', 'main');
    document.querySelectorAll('[title=null]').forEach(e => e.removeAttribute('title'));  // of widgets without one
    document.querySelectorAll('.js-plotly-plot').forEach(chart => {
      if (!sized.has(chart.parentElement)) { sized.add(chart.parentElement); widths.observe(chart.parentElement); }
    });
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
