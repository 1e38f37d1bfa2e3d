export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const draw = () => {
    const { title, lines } = model.get('shown');
    el.replaceChildren();
    el.style.display = lines.length ? '' : 'none';
    if (!lines.length) return;
    const box = document.createElement('div'), head = document.createElement('b'), list = document.createElement('ul');
    box.className = 'wc-faults'; box.setAttribute('role', 'alert'); head.textContent = title;
    lines.forEach((text, place) => {
      const button = document.createElement('button');
      Object.assign(button, { type: 'button', className: 'wc-to-cell', textContent: text });
      button.addEventListener('click', () => page.act({ line: text, place }));
      list.appendChild(document.createElement('li')).append(button);
    });
    box.append(head, list); el.append(box);
  };
  model.on('change:shown', draw);
  draw();
  return () => { model.off('change:shown', draw); page.leave(); };
} };
