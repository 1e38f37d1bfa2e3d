export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const label = document.createElement('label'), input = document.createElement('input');
  const note = document.createElement('div');
  label.className = 'wc-file'; label.textContent = model.get('label');
  input.type = 'file'; input.accept = model.get('accept'); input.multiple = model.get('multiple');
  label.append(input); el.append(label, note);
  const most = model.get('most_bytes');
  input.addEventListener('change', async () => {
    const files = [...input.files];
    input.value = '';  // the same file can be chosen again
    for (const file of files) {
      const content = file.size > most ? [] : [await file.arrayBuffer()];
      page.act({ name: file.name, size: file.size }, content);
    }
  });
  const draw = () => { note.innerHTML = model.get('note'); };
  model.on('change:note', draw);
  draw();
  return () => { model.off('change:note', draw); page.leave(); };
} };
