/* Says when the page has lost its kernel or the way to it, and when something in the kernel failed. */
(() => {
  const MOST_BYTES = 4_000_000;  // of a message, as in voila.py: a longer one would end the connection
  const base = () => JSON.parse(document.getElementById('jupyter-config-data')?.textContent || '{}');
  const bar = document.createElement('div');
  bar.className = 'wc-notice';
  bar.setAttribute('role', 'alert');
  let shown = '', leaving = false, asking = false, open = null, opened = 0;
  const say = (kind, text, button, act) => {
    if (shown === kind || shown === 'gone') return;
    shown = kind;
    const words = document.createElement('span'), press = document.createElement('button');
    words.textContent = text;
    press.type = 'button';
    press.textContent = button;
    press.addEventListener('click', act);
    bar.replaceChildren(words, press);
    document.body.append(bar);
  };
  const hide = kind => { if (shown === kind) { shown = ''; bar.remove(); } };
  const again = () => location.reload();  // the address, and so the entries in it, stay

  const gone = () => {
    document.documentElement.dataset.wcGone = '';  // links that ask the kernel go by themselves: acts.js
    say('gone', 'The calculation behind this page has stopped, so it no longer answers. '
      + 'Load it again: the entries in its address come back.', 'Load the page again', again);
  };
  const away = () => say('away', 'No connection to the server. Your entries stay here; this page tries again by itself. '
    + 'If that takes long: is this device on the network, and does the server run?', 'Load the page again', again);

  window.wcNotStarted = seconds => {  // sent in place of the page (pages.py)
    say('gone', `The calculation behind this page did not start. This page tries again in ${seconds + 1} seconds. `
      + "If that does not help: the server's log says why.", 'Load the page again', again);
    document.getElementById('wc-outline')?.remove();
    setTimeout(again, 1000 * (seconds + 1));
  };

  // The kernel answers on its socket; whether there still is one, only the server knows.
  const ask = async () => {
    if (asking || leaving) return;
    asking = true;
    const { baseUrl, kernelId } = base();
    for (let wait = 500; kernelId && !leaving; wait = Math.min(wait * 1.5, 5000)) {
      let status = 0;
      try {
        status = (await fetch(`${baseUrl}api/kernels/${kernelId}`, { signal: AbortSignal.timeout(5000) })).status;
      } catch { /* no server */ }
      if (status >= 400 && status < 500) { gone(); break; }  // no such kernel, or no longer let in
      if (status === 200 && open?.readyState === WebSocket.OPEN) { hide('away'); break; }
      if (status === 200 && open?.readyState !== WebSocket.CONNECTING) {
        window.jupyterapp?.widgetManager?.kernel?.reconnect().catch(() => {});  // its own next try may be a minute away
      } else if (status !== 200) away();
      await new Promise(done => setTimeout(done, wait));
    }
    asking = false;
  };
  // what acts.js has to send again waits until the kernel answers on the new socket
  const connected = socket => {
    if (socket !== open || socket.readyState !== WebSocket.OPEN) return;
    if (window.jupyterapp?.widgetManager?.kernel?.connectionStatus === 'connected') {
      document.dispatchEvent(new CustomEvent('wc-connected'));
    } else setTimeout(connected, 100, socket);
  };
  window.WebSocket = class extends WebSocket {
    constructor(...how) {
      super(...how);
      if (!this.url.includes('/api/kernels/')) return;
      open = this;
      this.addEventListener('close', ask);
      this.addEventListener('open', () => { if (opened++) connected(this); });
    }
    send(message) {
      if ((message.byteLength ?? message.length) <= MOST_BYTES) { super.send(message); return; }
      say('fault', 'That is too large to be sent: 4 MB at most. Nothing was changed.', 'Close', () => hide('fault'));
    }
  };
  window.addEventListener('offline', ask);
  const slow = setInterval(() => {  // a kernel that died before the page was drawn has closed no socket
    if (document.getElementById('wc-outline')) ask(); else clearInterval(slow);
  }, 10000);
  // Work that is nowhere but here (panels/address.py): the browser asks. Until it is answered nobody else hears of the
  // departure, at which Voilà would end the kernel.
  const unsaved = () => document.documentElement.hasAttribute('data-wc-unsaved');
  window.addEventListener('pagehide', () => {
    if (!unsaved()) return;
    document.documentElement.removeAttribute('data-wc-unsaved');
    window.dispatchEvent(new Event('beforeunload'));
  });
  window.addEventListener('beforeunload', event => {
    if (unsaved()) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    leaving = true;
    // still here: some links announce a departure and stay, and Voilà has ended the kernel at the announcement
    setTimeout(() => { leaving = false; if (open?.readyState !== WebSocket.OPEN) ask(); }, 3000);
  });
  // Voilà says goodbye for a page that is drawn; one that is left before has a kernel, too
  window.addEventListener('pagehide', () => {
    const { baseUrl, kernelId } = base();
    if (kernelId && !open) navigator.sendBeacon(`${baseUrl}voila/api/shutdown/${kernelId}`);
  });
  window.addEventListener('pageshow', event => event.persisted && again());  // its kernel went when the page was left
  document.addEventListener('wc-fault', () => say('fault', 'Something here could not be worked out: a fault of the page, '
    + 'not of your entry. It has been noted in the server\'s log.', 'Close', () => hide('fault')));

  // the outline goes when the page's own controls, or a fault in their place, are there
  const there = new MutationObserver(() => {
    if (!document.querySelector('#rendered_cells :is(.jupyter-widgets, .jp-RenderedText)')) return;
    document.getElementById('wc-outline')?.remove();
    there.disconnect();
  });
  there.observe(document, { subtree: true, childList: true });
})();
