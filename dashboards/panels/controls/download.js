export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const button = document.createElement('button'), note = document.createElement('div');
  button.type = 'button'; button.className = 'wc-file'; button.textContent = model.get('label');
  el.append(button, note);
  button.addEventListener('click', () => { button.disabled = true; page.act({ make: true }); });
  const settled = () => { button.disabled = !page.settled(); };  // the file itself may be lost on its way
  const took = (message, buffers) => {
    note.innerHTML = message.note;
    if (message.note) return;
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([buffers[0]], { type: message.type }));
    link.download = message.name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  };
  model.on('msg:custom', took);
  model.on('change:answers', settled);
  return () => { model.off('msg:custom', took); model.off('change:answers', settled); page.leave(); };
} };
