/* What a person does on the page (an act: typed, slid, chosen, pressed) and how it comes to the kernel: in the order it was
   done, each act once, whatever happens to the connection. An act is kept here, and for a reload in the tab's storage,
   until the kernel has done it and the page's address has it. The kernel's side is panels/acts/acts.py. */
globalThis.wirecalcActs = (() => {
 // A page that is not ours (guest.py) may have several kernels, and its address and its tab's storage are not ours.
 const guest = !!globalThis.wirecalcGuest;
 const queue = first => {
  const STORED = 'wirecalc acts', AGAIN_MS = 5000, ADDRESS_MS = 30000, PAST_MS = 3000, LINK_MS = 8000, LOOK_MS = 200;
  let acts = [];            // { number, model, key, what }: sent or to be sent, in order
  let held = null;          // the newest step of a slider whose last one is still being worked out
  let last = first, answered = first, written = 0, sent = first;  // numbers: given, done by the kernel, in the address, on their way
  let address = false, progress = 0;
  const lasts = new Map();  // by widget: the number of its last act

  // A reload asks for the address as it was when it began: the one before the newest counts for a while, too. Each has all
  // acts up to its number; `past` are those that only the newest has.
  let addresses = [[location.href, 0]], past = [], leaving = false;
  const stored = (() => {   // of this address, not of another one that was in this tab before
    if (guest) return [];
    try {
      const { at, kept } = JSON.parse(sessionStorage.getItem(STORED));
      // only a reload can have begun with an address before the newest: an older link means what it says
      const begun = performance.getEntriesByType('navigation')[0]?.type === 'navigate' ? at.slice(-1) : at;
      const [, has] = begun.findLast(([href]) => href === location.href);
      return kept.filter(([number]) => number > has).map(([, ...act]) => act);
    } catch { return []; }
  })();
  const keep = () => {
    if (guest) return;
    const kept = [...past, ...acts, ...(held ? [held] : [])].flatMap(({ number, again, key, what }) =>
      (again ?? (key ? [[key, what]] : [])).map(one => [number ?? last + 1, ...one]));
    try {
      if (kept.length) sessionStorage.setItem(STORED, JSON.stringify({ at: addresses, kept }));
      else sessionStorage.removeItem(STORED);
    } catch { /* no storage: a reload has the address alone */ }
  };
  let ready = guest || !location.search && !location.hash && !stored.length;  // else what the address has comes first

  const send = () => {
    if (!ready) return;
    for (const act of acts) {
      if (act.number <= sent) continue;
      sent = act.number;
      try { act.model.send({ act: act.number, what: act.what }, undefined, act.content); } catch { /* no connection: sent again later */ }
    }
  };
  const add = act => {
    act.number = ++last;
    lasts.set(act.own, act.number);
    acts.push(act);
    progress ||= performance.now();
    keep();
    send();
  };
  const flush = () => {
    if (!held) return;
    const act = held;
    held = null;
    add(act);
  };
  const begin = () => { ready = true; send(); };
  if (!ready) setTimeout(begin, ADDRESS_MS);  // a page without one
  // whatever else is touched comes after the slider's last step
  for (const kind of ['click', 'change', 'keydown']) {
    document.addEventListener(kind, event => { if (event.target.type !== 'range') flush(); }, true);
  }
  const drop = () => {
    const done = address ? written : answered;
    if (address) past.push(...acts.filter(act => act.number <= done));
    acts = acts.filter(act => act.number > done);
    keep();
  };
  const forget = number => {
    if (leaving) return;
    addresses = addresses.filter(([, has], i) => has >= number || i === addresses.length - 1);
    past = past.filter(act => act.number > addresses[0][1]);
    keep();
  };
  window.addEventListener('beforeunload', () => {
    leaving = true;
    setTimeout(() => { leaving = false; forget(written); }, PAST_MS);  // still here
  });

  const again = () => {     // what the kernel has done twice it does not do: it counts
    sent = Math.min(sent, answered);
    progress = performance.now();
    send();
  };
  setInterval(() => {
    const waiting = answered < last && acts[0];
    if (waiting && ready && performance.now() - progress > AGAIN_MS) again();
  }, AGAIN_MS);
  document.addEventListener('wc-connected', () => {  // see life.js: what was sent meanwhile, either way, may be lost
    const model = [...known].at(-1);
    try { model?.send({ show: true }); } catch { /* gone again */ }
    again();
  });

  const known = new Set();
  return {
    /** The acts of one widget. */
    of(model, el) {
      const own = model.get('own');
      let worn = model.get('_dom_classes');
      const dress = () => {  // a widget of our own does not follow its classes by itself
        el.classList.remove(...worn);
        worn = model.get('_dom_classes');
        el.classList.add(...worn);
      };
      model.on('change:_dom_classes', dress);
      const answer = () => {
        const number = model.get('answers');
        if (number <= answered) return;
        answered = number;
        if (number > last) last = sent = number;  // the same kernel is acted on from another window, too
        progress = performance.now();
        drop();
        if (held && (lasts.get(held.own) ?? 0) <= answered) flush();
      };
      known.add(model);
      model.on('change:answers', answer);
      return {
        /** `content`: a file's, which is kept for a connection but not for a reload. */
        act(what, content) {
          flush();
          add({ model, own, key: model.get('kept_as'), what, content });
        },
        /** A press on `link`, whose address the kernel gives: its own, where the kernel has stopped or takes too long. */
        follow(link, what) {
          this.act(what);
          const pressed = performance.now(), gone = () => 'wcGone' in document.documentElement.dataset;  // life.js
          const look = () => {
            if (gone() || performance.now() - pressed > LINK_MS) location.assign(link.href);
            else waiting = setTimeout(look, LOOK_MS);
          };
          let waiting = setTimeout(look, gone() ? 0 : LOOK_MS);
          return () => clearTimeout(waiting);
        },
        /** A step of many: of those that come while the kernel is busy with one, only the newest counts. */
        slide(what) {
          if (held && held.own !== own) flush();
          const act = { model, own, key: model.get('kept_as'), what };
          if ((lasts.get(own) ?? 0) <= answered) { add(act); return; }
          held = act;
          keep();
        },
        /** Whether the kernel's state is an answer to the widget's last act: an older one is not to be shown. */
        settled: () => held?.own !== own && (lasts.get(own) ?? 0) <= model.get('answers'),
        /** The widget's last act while it is not settled. */
        pending: () => held?.own === own ? held.what : acts.findLast(act => act.own === own)?.what,
        leave() {
          known.delete(model);
          model.off('change:answers', answer);
          model.off('change:_dom_classes', dress);
        },
      };
    },
    /** The address takes part: what `came` in it goes before all acts, with what of an earlier load it has not yet. */
    address(model, came) {
      if (address) return;
      address = true;
      const own = model.get('own'), first = { model, own, what: { ...came, again: stored }, again: stored };
      if (ready) { if (came || stored.length) add(first); return; }
      if (came || stored.length) {
        acts.unshift(first);
        last += 1;
        acts.forEach((act, i) => { act.number = i + 1; lasts.set(act.own, act.number); });
      }
      begin();
    },
    /** Whether the kernel has something to do, after which boxes may say something else. */
    busy: () => !ready || !!held || answered < last,
    /** How many acts there were. */
    count: () => last,
    /** Whether the kernel has done everything, and the address has it. */
    idle() { return !this.waiting().length; },
    /** What is still waited for, in words. */
    waiting: () => [
      !ready && 'the address is not taken', held && 'a step of a slider is held',
      answered !== last && `${answered} of ${last} acts are answered`,
      address && written !== last && `${written} of ${last} acts are in the address`,
    ].filter(Boolean),
    /** The address has all acts up to this number. */
    written(number) {
      written = number;
      addresses.push([location.href, number]);
      drop();
      setTimeout(forget, PAST_MS, number);
    },
  };
 };
 if (!guest) return queue(0);
 const queues = new Map(), all = what => [...queues.values()].flatMap(what);
 return {
  of(model, el) {
    const kernel = model.get('kernel');
    if (!queues.has(kernel)) queues.set(kernel, queue(model.get('answers')));
    return queues.get(kernel).of(model, el);
  },
  busy: () => all(one => one.busy()).some(Boolean),
  idle: () => all(one => one.idle()).every(Boolean),
  waiting: () => all(one => one.waiting()),
 };
})();
