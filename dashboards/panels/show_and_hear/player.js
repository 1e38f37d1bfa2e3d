const START = 20, TOP = 40;  // steps of 1 dB; the top is the level that the sounds come with
export default { render({ model, el }) {
  const page = wirecalcActs.of(model, el);  // acts.js of the template
  const make = (tag, cls, parent, text = '') => {
    const one = document.createElement(tag);
    one.className = cls; one.textContent = text; parent.append(one);
    if (tag === 'button') one.type = 'button';
    return one;
  };
  const caution = make('p', 'wc-caution', el, model.get('caution'));
  caution.setAttribute('role', 'note');
  const status = make('p', 'wc-status', el), row = make('div', 'wc-plays', el);
  status.setAttribute('role', 'status');
  const plays = [0, 1].map(() => make('button', 'wc-play', row)), stop = make('button', 'wc-play wc-stop', row, 'Stop');
  const label = make('label', 'wc-volume', el, 'Volume'), volume = make('input', '', label);
  Object.assign(volume, { type: 'range', min: 0, max: TOP, step: 1, value: START });
  const answers = make('div', 'wc-answers', el);
  let context, master, gains = [], sources = [], loaded = null, wanted = null, playing = -1, heard = [false, false];

  const gain = () => Number(volume.value) ? 10 ** ((volume.value - TOP) / 20) : 0;
  const draw = () => {
    const names = model.get('names'), asks = model.get('asks');
    plays.forEach((button, i) => {
      button.textContent = (i === playing ? '♪ ' : '▶ ') + names[i];
      button.setAttribute('aria-pressed', String(i === playing));
    });
    stop.disabled = playing < 0;
    volume.setAttribute('aria-valuetext', `${volume.value} of ${TOP}`);
    status.innerHTML = model.get('status');
    if (answers.children.length !== asks.length)
      answers.replaceChildren(...asks.map(() => document.createElement('button')));
    asks.forEach((text, i) => Object.assign(answers.children[i], {
      type: 'button', className: 'wc-play', textContent: text[0].toUpperCase() + text.slice(1),
      disabled: !(heard[0] && heard[1]), onclick: () => answer(text) }));
  };
  const silence = () => {
    sources.forEach(one => one.stop());
    sources = []; playing = -1; wanted = null;
  };
  const show = i => {  // the two gains always add up to 1: a switch is never louder than either
    gains.forEach((one, k) => one.gain.setTargetAtTime(k === i ? 1 : 0, context.currentTime, 0.005));
    playing = i; heard[i] = true;
    draw();
  };
  const start = (buffers, i) => {
    sources.forEach(one => one.stop());
    gains = buffers.map((_, k) => new GainNode(context, { gain: k === i ? 1 : 0 }));
    sources = buffers.map((buffer, k) => {
      const source = new AudioBufferSourceNode(context, { buffer, loop: true });
      source.connect(gains[k]).connect(master);
      return source;
    });
    master.gain.cancelScheduledValues(0);
    master.gain.setValueAtTime(0, context.currentTime);
    master.gain.setTargetAtTime(gain(), context.currentTime, 0.02);
    const when = context.currentTime + 0.02;
    sources.forEach(one => one.start(when));
    show(i);
  };
  const play = i => {
    document.dispatchEvent(new CustomEvent('wc-play', { detail: el }));
    if (!context) {
      context = new AudioContext({ sampleRate: model.get('rate_hz') });
      master = new GainNode(context, { gain: 0 });
      master.connect(context.destination);
    }
    context.resume();
    if (sources.length && loaded === model.get('version')) { show(i); return; }
    wanted = i;
    model.send({ play: model.get('version') });
  };
  const answer = text => {
    silence();
    heard = [false, false];
    draw();
    plays[0].focus();
    page.act({ answer: text, version: model.get('version') });
  };
  const came = async (message, buffers) => {
    if (wanted === null || message.version !== model.get('version')) return;
    const ready = await Promise.all(buffers.map(one =>
      context.decodeAudioData(one.buffer.slice(one.byteOffset, one.byteOffset + one.byteLength))));
    if (wanted === null || message.version !== model.get('version')) return;
    const i = wanted;
    wanted = null; loaded = message.version;
    start(ready, i);
  };
  const ended = () => {
    setTimeout(() => el.closest('.wc-blind')?.querySelector('.wc-told')?.scrollIntoView({ block: 'center' }), 100);
  };
  model.on('change:ended', ended);
  const renewed = () => {
    const was = wanted ?? playing;
    if (model.get('asks').length) { silence(); heard = [false, false]; }
    else if (was >= 0) play(was);
    draw();
  };
  const hush = event => { if (!event || event.detail !== el) { silence(); draw(); } };
  plays.forEach((button, i) => button.addEventListener('click', () => play(i)));
  stop.addEventListener('click', () => { silence(); draw(); plays[0].focus(); });
  volume.addEventListener('input', () => {
    master?.gain.setTargetAtTime(gain(), context.currentTime, 0.02);
    draw();
  });
  document.addEventListener('wc-play', hush);
  model.on('msg:custom', came);
  model.on('change:version', renewed);
  model.on('change:status change:names change:asks', draw);
  draw();
  return () => {
    silence(); context?.close();
    document.removeEventListener('wc-play', hush);
    model.off('msg:custom', came);
    model.off('change:version', renewed);
    model.off('change:ended', ended);
    model.off('change:status change:names change:asks', draw);
    page.leave();
  };
} };
