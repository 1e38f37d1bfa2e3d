export default { render({ model, el }) {
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
      model.send({ name: file.name, size: file.size }, undefined, content);
    }
  });
  const draw = () => { note.innerHTML = model.get('note'); };
  model.on('change:note', draw);
  draw();
  return () => model.off('change:note', draw);
} };
