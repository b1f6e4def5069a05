const tried = async (what) => { try { const got = await what(); return `allowed${got === undefined ? '' : ` (${got})`}`; } catch (error) { return `blocked: ${error.name ?? error.type}`; } };
const worker = (url, options) => new Promise((yes, no) => {
  const made = new Worker(url, options);
  made.onerror = (event) => { event.preventDefault(); no({ name: 'error event' }); };
  made.onmessage = ({ data }) => yes([made, data]);
  made.postMessage({});
  setTimeout(() => no({ name: 'no answer' }), 4000);
});
const ask = (made, question) => new Promise((yes) => { made.onmessage = ({ data }) => yes(data); made.postMessage(question); });

window.derive = async (how = '') => {
  const begun = performance.now();
  const made = new Worker(`/worker.js${how}`, { type: 'module' });
  const answer = await new Promise((yes) => { made.onerror = (e) => yes({ key: `blocked: worker did not start (${e.message ?? ''})` }); made.onmessage = ({ data }) => yes(data); made.postMessage({ derive: 'a passphrase' }); });
  made.terminate();
  return { ...answer, whole: performance.now() - begun };
};
window.inWorker = async (other, how = '') => {
  const made = new Worker(`/worker.js${how}`, { type: 'module' });
  const answer = await ask(made, { other });
  made.terminate();
  return answer;
};
window.inPage = async (other) => ({
  'eval in the page': await tried(() => (0, eval)('1+1')),
  'new Function in the page': await tried(() => new Function('return 2')()),
  'WebAssembly compiled in the page': await tried(() => WebAssembly.compile(new Uint8Array([0, 97, 115, 109, 1, 0, 0, 0])).then(() => undefined)),
  'worker from a blob: address': await tried(() => worker(URL.createObjectURL(new Blob(['onmessage = () => postMessage(1)'], { type: 'text/javascript' }))).then(() => undefined)),
  'module worker from a blob: address': await tried(() => worker(URL.createObjectURL(new Blob(['onmessage = () => postMessage(1)'], { type: 'text/javascript' })), { type: 'module' }).then(() => undefined)),
  'worker from a data: address': await tried(() => worker('data:text/javascript,onmessage = () => postMessage(1)').then(() => undefined)),
  'fetch to another origin from the page': await tried(() => fetch(other, { mode: 'no-cors' }).then(() => undefined)),
  'inline script in the page': window.inline ? 'allowed' : 'blocked',
});
window.install = async () => {
  await navigator.serviceWorker.register('/sw.js');
  await navigator.serviceWorker.ready;
};
