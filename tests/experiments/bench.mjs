// What the experiments share: a browser of our own, a server of our own, and small sums.
// Needs playwright-core (from tests/browser, or PINFOLD_TOOLS/browser) and a Chromium (CHROMIUM, or on PATH).
import { execFileSync } from 'node:child_process';
import { createServer } from 'node:http';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { extname, join } from 'node:path';

const here = import.meta.dirname;
const places = [process.env.PINFOLD_TOOLS && join(process.env.PINFOLD_TOOLS, 'browser'), join(here, '../../target/tools/browser'), join(here, '../browser')];
export const { chromium } = places.filter(Boolean).map((place) => {
  try { return createRequire(join(place, 'x.js'))('playwright-core'); } catch { return null; }
}).find(Boolean) ?? (() => { throw new Error('playwright-core not found: run .ci/tools test first'); })();

const executablePath = process.env.CHROMIUM ?? execFileSync('sh', ['-c', 'command -v chromium || command -v google-chrome']).toString().trim();
const args = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync', '--enable-precise-memory-info'];

export const open = (profile) => chromium.launchPersistentContext(profile, { executablePath, args, headless: true });

const kinds = { '.html': 'text/html', '.js': 'text/javascript', '.mjs': 'text/javascript', '.wasm': 'application/wasm' };

// Serves `files` (path -> file or { body, kind }); `headers` are sent with each, or made per path.
export const serve = (files, headers = {}) => new Promise((ready) => {
  const server = createServer((ask, answer) => {
    const path = ask.url.split('?')[0];
    const file = files[path];
    if (file === undefined) return answer.writeHead(404).end();
    const body = typeof file === 'string' ? readFileSync(file) : file.body;
    const kind = typeof file === 'string' ? kinds[extname(file)] : file.kind;
    const more = typeof headers === 'function' ? headers(path, ask.url) : headers;
    answer.writeHead(200, { 'content-type': kind, 'cache-control': 'no-store', ...more }).end(body);
  });
  server.listen(0, '127.0.0.1', () => ready({ url: `http://127.0.0.1:${server.address().port}`, stop: () => { server.closeAllConnections(); return new Promise((done) => server.close(done)); } }));
});

export const at = (sorted, part) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * part))];
export const version = (context) => context.browser()?.version() ?? 'unknown';
