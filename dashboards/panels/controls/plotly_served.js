// SERVER is put before this by chart.py: where on this machine Voilà serves.
const loaded = () => globalThis.Plotly ? Promise.resolve() : globalThis.wcPlotly ??= new Promise((done, failed) => {
  const source = new URL(SERVER + 'voila/labextensions/plotly.min.js', document.baseURI).href;
  let script = [...document.scripts].find(one => one.src.startsWith(source));  // the page may have asked for it already
  if (!script) {
    script = document.createElement('script');
    script.src = source;
    document.head.append(script);
  }
  script.addEventListener('load', done);
  script.addEventListener('error', failed);
});
