// arrays are cut out of one run of 64-bit floats; charts that change together are drawn in one go and painted once.
// A chart out of sight is drawn when it comes into sight, or on paper. `react` it is: restyle and update took as long.
export default { async render({ model, el }) {
  await loaded();
  const away = new Set(), late = new Map();
  const catchUp = box => { const paint = late.get(box); late.delete(box); return paint?.(); };
  const sight = new IntersectionObserver(boxes => boxes.forEach(({ target, isIntersecting }) => {
    if (isIntersecting) { away.delete(target); catchUp(target); } else away.add(target);
  }), { rootMargin: '200px' });
  // plotly follows the window only: tell it when the charts' own place changes, as when its tab comes forward
  let fit;
  const misfits = () => [...el.children].filter(
    box => box.offsetParent && Math.abs(box._fullLayout?.width - box.clientWidth) > 1);
  const widths = new ResizeObserver(() => {
    if (!misfits().length) return;  // it is told once at first, whatever the size
    clearTimeout(fit);
    fit = setTimeout(() => misfits().forEach(Plotly.Plots.resize), 60);
  });
  widths.observe(el);
  const draw = () => {
    const { charts, numbers } = model.get('sent');
    const all = new Float64Array(numbers.buffer.slice(numbers.byteOffset, numbers.byteOffset + numbers.byteLength));
    const unpack = value => Array.isArray(value) ? value.map(unpack) : !value || typeof value !== 'object' ? value
      : value.cut ? all.subarray(...value.cut)
      : Object.fromEntries(Object.entries(value).map(([key, one]) => [key, unpack(one)]));
    while (el.children.length < charts.length) {
      const box = document.createElement('div');
      box.setAttribute('role', 'img');
      el.append(box);
      sight.observe(box);
    }
    [...el.children].forEach((box, i) => { box.hidden = i >= charts.length; });
    return Promise.all(charts.map((one, i) => {
      const box = el.children[i];
      box.setAttribute('aria-label', one.layout.meta);
      late.set(box, () => {
        const { data, layout } = unpack(one);
        return Plotly.react(box, data, layout, { responsive: true, displayModeBar: false });
      });
      return away.has(box) && box.data ? undefined : catchUp(box);
    }));
  };
  const print = () => late.forEach((_, box) => catchUp(box));
  addEventListener('beforeprint', print);
  model.on('change:sent', draw);
  await draw();
  return () => {
    model.off('change:sent', draw);
    removeEventListener('beforeprint', print);
    sight.disconnect();
    widths.disconnect();
    clearTimeout(fit);
    [...el.children].forEach(Plotly.purge);
  };
} };
