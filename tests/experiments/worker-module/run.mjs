// A second WASM module in a module worker, under the strict policy, with the server stopped.
//   node tests/experiments/worker-module/run.mjs
// Builds with .ci/wasm unless KDF_BUILT=1; wasm-opt comes from PINFOLD_TOOLS/wasm-opt.
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import { at, open, serve } from '../bench.mjs';

const here = import.meta.dirname, root = join(here, '../../..'), out = join(root, 'target/experiments/worker-module');
const wasm = process.env.PINFOLD_WASM ?? join(root, '.ci/wasm');
const run = (...line) => execFileSync(wasm, line, { cwd: join(here, 'kdf'), stdio: ['ignore', 'ignore', 'inherit'] });
const build = (name, ...flags) => {
  const place = join(out, name);
  if (process.env.KDF_BUILT) return place;
  mkdirSync(place, { recursive: true });
  run('cargo', 'build', '--release', '--target-dir', join(out, 'build'), ...flags);
  run('wasm-bindgen', '--target', 'web', '--no-typescript', '--out-dir', place, join(out, 'build/wasm32-unknown-unknown/release/kdf.wasm'));
  run('wasm-opt', '-Oz', join(place, 'kdf_bg.wasm'), '-o', join(place, 'kdf_bg.wasm'));
  return place;
};
const brotli = (bytes) => brotliCompressSync(bytes, { params: { [constants.BROTLI_PARAM_QUALITY]: 11 } }).length;
const size = (...files) => { const all = files.map((file) => readFileSync(file)); const sum = (f) => all.reduce((n, b) => n + f(b), 0); return [sum((b) => b.length), sum((b) => gzipSync(b, { level: 9 }).length), sum(brotli)]; };

const without = build('without'), inside = build('inside', '--features', 'inside');
const bytes = {
  'module without the derivation': size(join(without, 'kdf_bg.wasm')),
  'module with the derivation inside': size(join(inside, 'kdf_bg.wasm')),
  'JS glue of the second module': size(join(inside, 'kdf.js')),
  'worker.js': size(join(here, 'worker.js')),
};
console.log('| bytes | raw | gzip -9 | brotli 11 |\n|---|---|---|---|');
for (const [what, sizes] of Object.entries(bytes)) console.log(`| ${what} | ${sizes.join(' | ')} |`);

const strict = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; connect-src 'self'";
const noWasm = "default-src 'none'; script-src 'self'; worker-src 'self'; connect-src 'self'";
// Controls by query: the worker's own answer without any policy, or with one that forbids WASM.
const policy = (path, url) => {
  if (path.startsWith('/worker') && url.includes('bare')) return {};
  if (path.startsWith('/worker') && url.includes('nowasm')) return { 'content-security-policy': noWasm };
  return path === '/open' ? {} : { 'content-security-policy': strict };
};
const files = { '/': join(here, 'page.html'), '/open': join(here, 'page.html'), '/page.js': join(here, 'page.js'), '/worker.js': join(here, 'worker.js'), '/sw.js': join(here, 'sw.js'), '/kdf.js': join(inside, 'kdf.js'), '/kdf_bg.wasm': join(inside, 'kdf_bg.wasm'), '/favicon.ico': { body: '', kind: 'image/x-icon' } };
const server = await serve(files, policy);
const foreign = await serve({ '/': { body: 'ok', kind: 'text/plain' }, '/foreign.js': { body: 'export default 4', kind: 'text/javascript' } }, { 'access-control-allow-origin': '*' });
const profile = mkdtempSync(join(tmpdir(), 'pinfold-worker-'));
const context = await open(profile), page = context.pages()[0];
const times = async (n) => { const all = []; for (let i = 0; i < n; i++) all.push(await page.evaluate(() => derive())); return all; };
const report = (title, rows) => { console.log(`\n${title}`); for (const [what, how] of Object.entries(rows)) console.log(`- ${what}: ${how}`); };

await page.goto(`${server.url}/open`);
report('No policy at all (control: everything works here)', { ...await page.evaluate((o) => inPage(o), foreign.url), ...await page.evaluate((o) => inWorker(o, '?bare'), foreign.url) });
await page.goto(server.url);
const online = await times(7);
report('Strict policy, server up', { derived: online[0].key, ...await page.evaluate((o) => inPage(o), foreign.url), ...await page.evaluate((o) => inWorker(o), foreign.url) });
report("Strict page, but the worker's own answer carries no policy (control)", { derived: (await page.evaluate(() => derive('?bare'))).key, ...await page.evaluate((o) => inWorker(o, '?bare'), foreign.url) });
report("Strict page, the worker's policy lacks 'wasm-unsafe-eval' (control)", { derived: (await page.evaluate(() => derive('?nowasm'))).key });
await page.evaluate(() => install());
await server.stop();
await page.goto(server.url);
const offline = await times(7);
report('Strict policy, server stopped, page and worker from the cache', { derived: offline[0].key, ...await page.evaluate((o) => inPage(o), foreign.url), ...await page.evaluate((o) => inWorker(o), foreign.url) });
const spread = (all, what) => { const sorted = all.map((one) => one[what]).sort((a, b) => a - b); return `${at(sorted, 0.5).toFixed(0)} (${sorted[0].toFixed(0)} to ${sorted.at(-1).toFixed(0)})`; };
console.log(`\nmedian (range) of 7, ms: derivation alone ${spread(online, 'took')} with the server, ${spread(offline, 'took')} without; with starting the worker and the module ${spread(online, 'whole')} and ${spread(offline, 'whole')}`);
await context.close();
await foreign.stop();
rmSync(profile, { recursive: true });
