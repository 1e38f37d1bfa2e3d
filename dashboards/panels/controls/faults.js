export default { initialize({ model }) {
  const say = () => model.get('count') && document.dispatchEvent(new CustomEvent('wc-fault'));
  model.on('change:count', say);
  say();
} };
