export default { render({ model, el }) {
  const button = document.createElement('button'), note = document.createElement('div');
  button.type = 'button'; button.className = 'wc-file'; button.textContent = model.get('label');
  el.append(button, note);
  button.addEventListener('click', () => { button.disabled = true; model.send('make'); });
  const took = (message, buffers) => {
    button.disabled = false;
    note.innerHTML = message.note;
    if (message.note) return;
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([buffers[0]], { type: message.type }));
    link.download = message.name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  };
  model.on('msg:custom', took);
  return () => model.off('msg:custom', took);
} };
