// The second module in a worker of our own origin.
import start, { derive } from '/kdf.js';
const tried = async (what) => { try { const got = await what(); return `allowed${got === undefined ? '' : ` (${got})`}`; } catch (error) { return `blocked: ${error.name}`; } };
onmessage = async ({ data }) => {
  if (data.derive) {
    try {
      await start({ module_or_path: '/kdf_bg.wasm' });
      const begun = performance.now();
      const key = derive(data.derive, new Uint8Array(16));
      postMessage({ key: [...key].map((b) => b.toString(16).padStart(2, '0')).join(''), took: performance.now() - begun });
    } catch (error) { postMessage({ key: `blocked: ${error.name}: ${error.message}`, took: 0 }); }
  } else {
    postMessage({
      'eval in the worker': await tried(() => (0, eval)('1+1')),
      'new Function in the worker': await tried(() => new Function('return 2')()),
      'fetch to another origin from the worker': await tried(() => fetch(data.other, { mode: 'no-cors' }).then(() => undefined)),
      'import() of a data: module in the worker': await tried(() => import('data:text/javascript,export default 3').then((m) => m.default)),
      'import() from another origin in the worker': await tried(() => import(`${data.other}/foreign.js`).then((m) => m.default)),
    });
  }
};
