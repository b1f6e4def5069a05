// 10,000 packed sessions against 1.2 million single rows in IndexedDB.
//   node tests/experiments/packed-rows/run.mjs [sessions] [rows per session]
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { execFileSync } from 'node:child_process';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { at, open, serve, version } from '../bench.mjs';

const sessions = Number(process.argv[2] ?? 10_000), each = Number(process.argv[3] ?? 120);
const ENTRY = 260, SUMMARY = 240, STARTS = 5, TAPS = 60;
const here = import.meta.dirname;
const server = await serve({ '/': join(here, 'page.html'), '/page.js': join(here, 'page.js'), '/favicon.ico': { body: '', kind: 'image/x-icon' } });
const cases = {
  // An open session's rows are there in every case: nothing else, packs, or every row there ever was.
  empty: { fill: [['rows', each, ENTRY]], start: ['rows'], out: ['rows'], slice: 50_000 },
  packed: { fill: [['rows', each, ENTRY], ['packs', sessions, each * ENTRY], ['summaries', sessions, SUMMARY]], start: ['rows', 'summaries'], out: ['rows', 'packs'], slice: 1_000 },
  single: { fill: [['rows', sessions * each, ENTRY]], start: ['rows'], out: ['rows'], slice: 50_000 },
};
const memory = async (context, page, profile) => {
  const cdp = await context.newCDPSession(page);
  await cdp.send('HeapProfiler.collectGarbage');
  const heap = await page.evaluate(() => performance.memory.usedJSHeapSize);
  // The renderers among the descendants of the browser that has our profile; the page's has the largest peak.
  const all = execFileSync('ps', ['-eo', 'pid,ppid,args'], { maxBuffer: 1e8 }).toString().split('\n').map((line) => /^\s*(\d+)\s+(\d+)\s+(.*)$/.exec(line)).filter(Boolean);
  const ours = new Set(all.filter(([, , , args]) => args.includes(profile)).map(([, pid]) => pid));
  for (let more = true; more;) { more = false; for (const [, pid, parent] of all) if (ours.has(parent) && !ours.has(pid)) { ours.add(pid); more = true; } }
  const peaks = all.filter(([, pid, , args]) => ours.has(pid) && args.includes('--type=renderer'))
    .map(([, pid]) => { try { return Number(/VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`))?.[1] ?? 0); } catch { return 0; } });
  return { heap, peak: Math.max(...peaks) * 1024 };
};
const MB = (bytes) => (bytes / 1e6).toFixed(1), ms = (n) => n.toFixed(n < 100 ? 1 : 0);
const table = [];
for (const [name, plan] of Object.entries(cases)) {
  const profile = mkdtempSync(join(tmpdir(), 'pinfold-packed-'));
  let context = await open(profile), page = context.pages()[0];
  await page.goto(server.url);
  const begun = Date.now();
  for (const [shelf, count, length] of plan.fill) await page.evaluate(([s, c, l]) => fill('bench', s, c, l), [shelf, count, length]);
  const filled = Date.now() - begun;
  await context.close();
  const starts = [];
  let taps, out, held;
  for (let n = 0; n < STARTS; n++) {
    context = await open(profile); page = context.pages()[0];
    await page.goto(server.url);
    starts.push(await page.evaluate(([s, slice]) => start('bench', s, slice), [plan.start, plan.slice]));
    if (n === STARTS - 1) {
      held = await memory(context, page, profile);
      taps = await page.evaluate(([c, f, l]) => taps(c, f, l), [TAPS, 9e9, ENTRY]);
      await page.evaluate(() => { window.held = null; });
      out = await page.evaluate(([s, slice]) => takeOut(s, slice), [plan.out, plan.slice]);
    }
    if (n === 0 && name === 'empty') console.log(`Chromium ${version(context) ?? ''}, ${sessions} sessions of ${each} entries of ${ENTRY} characters, load ${loadavg()[0].toFixed(1)} on this machine`);
    await context.close();
  }
  const disk = Number(execFileSync('du', ['-sb', join(profile, 'Default/IndexedDB')]).toString().split('\t')[0]);
  const times = starts.map((s) => s.took).sort((a, b) => a - b);
  table.push({ name, 'rows read at start': starts[0].read, 'start ms (median of 5)': ms(at(times, 0.5)), 'start ms (worst)': ms(times.at(-1)), 'tap ms (median of 60)': ms(at(taps, 0.5)), 'tap ms (95th)': ms(at(taps, 0.95)), 'take out ms': ms(out.took), 'take out MB': MB(out.bytes), 'heap after start MB': MB(held.heap), 'page process peak MB': MB(held.peak), 'disk MB': MB(disk), 'filling s': (filled / 1000).toFixed(0) });
  console.log(JSON.stringify(table.at(-1)));
  rmSync(profile, { recursive: true });
}
await server.stop();
console.log(`\n| | ${table.map((row) => row.name).join(' | ')} |\n|---|${table.map(() => '---').join('|')}|`);
for (const what of Object.keys(table[0]).slice(1)) console.log(`| ${what} | ${table.map((row) => row[what]).join(' | ')} |`);
