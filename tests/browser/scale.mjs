// What a practice of 10,000 closed sessions and 2,000 people costs on a phone, beside an empty one, turn by
// turn in one run: a start to Today, a tap at the chair, a letter in the search for a name, memory, a copy
// out and in, and summing everything up again after an update. Both have one chair open. The rows are laid
// into the browser before the app starts, as the app would have left them (example `scale_rows`).
//
//   node tests/browser/bench.mjs scale
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import path from "node:path";
import { equal, keptOffline, ok, Phone, root, setClock, Site, sleep, slow, started, tap, until } from "./harness.mjs";
import { findChair, go, placing, press, sums } from "./hand.mjs";
import { COPY_WORDS } from "./visit.mjs";

const ROUNDS = Number(process.env.PINFOLD_ROUNDS || 7);
const TAPS = Number(process.env.PINFOLD_SCALE_TAPS || 40);
const LETTERS = 60;
/** How long one step with everything is waited for, in milliseconds. */
const LONG = Number(process.env.PINFOLD_LONG || 120000);
/** How much more the full practice may cost at a start and a tap. */
const TIMES = 1.5;
const FRAME = 1000 / 60;
/** Which parts are run: some of start, tap, people, refold, copy. */
const PARTS = (process.env.PINFOLD_SCALE || "start tap people refold copy").split(" ");
const THROTTLE = 4;
const MB = 1024 * 1024;
/** How many rows are laid in one transaction. */
const AT_ONCE = 5000;

const folder = path.join(root, "target/scale");

/** Writes the rows down, unless PINFOLD_SCALE_LAID says that they lie there from before; what they hold. */
function rows() {
  const line = ["run", "--quiet", "--release", "-p", "pinfold-core", "--example", "scale_rows", "--", folder];
  if (!process.env.PINFOLD_SCALE_LAID) execFileSync("cargo", line, { cwd: root, stdio: ["ignore", "ignore", "inherit"] });
  return JSON.parse(fs.readFileSync(path.join(folder, "about.json"), "utf8"));
}

/** In the page: lays the rows of some files into the database and into its second copy; of two with the same
    key the later stands. Gives back how many lie on each shelf. */
async function lay([files, atOnce]) {
  const shelves = ["rows", "packs", "summaries", "meta"];
  const open = (factory) => new Promise((done, fail) => {
    const request = factory.open("pinfold", 1);
    request.onupgradeneeded = () => { for (const name of shelves) request.result.createObjectStore(name); };
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
  const bucket = await navigator.storageBuckets?.open("pinfold-mirror");
  const dbs = [[await open(indexedDB), shelves]];
  if (bucket) dbs.push([await open(bucket.indexedDB), ["rows", "packs", "meta"]]);
  for (const file of files) {
    const all = (await (await fetch(file)).text()).trim().split("\n").map((line) => JSON.parse(line));
    for (const [db, kept] of dbs) {
      for (let from = 0; from < all.length; from += atOnce) {
        const change = db.transaction(shelves, "readwrite");
        for (const { shelf, key, text } of all.slice(from, from + atOnce)) {
          if (kept.includes(shelf)) change.objectStore(shelf).put(text, key);
        }
        await new Promise((done, fail) => { change.oncomplete = done; change.onabort = () => fail(change.error); });
      }
    }
  }
  localStorage.setItem("pinfold.kept", "true");
  const count = {};
  for (const name of shelves) {
    const request = dbs[0][0].transaction(name).objectStore(name).count();
    count[name] = await new Promise((done) => { request.onsuccess = () => done(request.result); });
  }
  for (const [db] of dbs) db.close();
  return count;
}

/** In the page: when it was ready, when Today stood, when that was a picture; what was asked of the store
    and when the answers came; tasks longer than 50 ms; the program's memory. */
function watchStart() {
  const marks = window.marks = {};
  const mark = (name) => { marks[name] ??= performance.now(); };
  const look = () => {
    if (document.documentElement?.hasAttribute("data-ready")) mark("ready");
    if (!marks.today && document.querySelector("a.open")) {
      mark("today");
      requestAnimationFrame(() => { const { port1, port2 } = new MessageChannel(); port1.onmessage = () => mark("shown"); port2.postMessage(0); });
    }
  };
  new MutationObserver(look).observe(document, { subtree: true, childList: true, attributes: true, attributeFilter: ["data-ready"] });
  window.asked = [];
  const watch = (of, name, what) => {
    const real = of[name];
    of[name] = function (...args) {
      const one = { what: what(this, args), from: performance.now() };
      const request = real.apply(this, args);
      window.asked.push(one);
      request.addEventListener("success", () => { one.to = performance.now(); });
      return request;
    };
  };
  watch(IDBFactory.prototype, "open", () => "open");
  for (const name of ["get", "getAll", "getAllKeys", "count"]) watch(IDBObjectStore.prototype, name, (store) => `${name} ${store.name}`);
  window.long = [];
  new PerformanceObserver((list) => { for (const one of list.getEntries()) window.long.push([one.startTime, one.duration]); }).observe({ type: "longtask", buffered: true });
  for (const name of ["instantiate", "instantiateStreaming"]) {
    const real = WebAssembly[name];
    WebAssembly[name] = (...args) => {
      mark("compiling");
      return real.apply(WebAssembly, args).then((made) => {
        mark("compiled");
        window.wasm ??= (made.instance ?? made).exports.memory;
        return made;
      });
    };
  }
}

/** In the page: the main thread's time for each letter typed, without the wait for its picture. */
function timeLetters() {
  window.letters = [];
  const after = (act) => { const { port1, port2 } = new MessageChannel(); port1.onmessage = act; port2.postMessage(0); };
  addEventListener("input", () => {
    const begun = performance.now();
    let task = 0;
    after(() => { task = performance.now(); });
    requestAnimationFrame(function draw() {
      const frame = performance.now();
      if (!task) return requestAnimationFrame(draw);
      after(() => window.letters.push([task - begun, performance.now() - frame]));
    });
  }, true);
}

/** A practice of its own origin, laid, with the app on the phone. */
class Practice {
  constructor(name, files, at) { Object.assign(this, { name, files, at, turns: 0 }); }

  async set(phone, clean) {
    this.site = await new Site().deploy().start();
    clean(() => this.site.process.end());
    fs.writeFileSync(path.join(this.site.www, "lay.html"), "<!doctype html><title>laying</title>");
    for (const file of this.files) fs.copyFileSync(path.join(folder, file), path.join(this.site.www, `${file}.txt`));
    const page = await phone.context.newPage();
    await page.goto(`${this.site.url}lay.html`);
    page.setDefaultTimeout(300000);
    this.count = await page.evaluate(lay, [this.files.map((file) => `/${file}.txt`), AT_ONCE]);
    await page.close();
    for (const file of this.files) fs.rmSync(path.join(this.site.www, `${file}.txt`));
    return this;
  }

  /** A new page of it, some minutes later each time: a clock that went back is another matter. */
  async open(phone, times = 1, ...scripts) {
    const page = await phone.page();
    page.on("crash", () => console.log(`the page of ${this.name} crashed`));
    this.turns += 1;
    await setClock(page, this.at + this.turns * 600000);
    for (const script of [watchStart, ...scripts]) await page.addInitScript(script);
    if (times > 1) await slow(page, times);
    await page.goto(this.site.url);
    await started(page);
    await page.waitForFunction(() => window.marks.shown, undefined, { timeout: 60000 });
    return page;
  }
}

const quiet = (page) => page.evaluate(() => new Promise((done) => requestIdleCallback(done, { timeout: 5000 })));

/** What a page takes now, in MB: the program's memory, the heap of scripts; and the most that its process ever had. */
async function memory(phone, page) {
  const wasm = await page.evaluate(() => window.wasm?.buffer.byteLength ?? 0);
  await page.cdp.send("Performance.enable");
  const { metrics } = await page.cdp.send("Performance.getMetrics");
  // One session a browser: a second one did not answer.
  if (phone.watched?.browser !== phone.browser) phone.watched = { browser: phone.browser, session: await phone.browser.newBrowserCDPSession() };
  const { processInfo } = await phone.watched.session.send("SystemInfo.getProcessInfo");
  const most = processInfo.filter((one) => one.type === "renderer").map(({ id }) => {
    const said = fs.existsSync(`/proc/${id}/status`) ? fs.readFileSync(`/proc/${id}/status`, "utf8") : "";
    return Number(said.match(/VmHWM:\s+(\d+)/)?.[1] ?? 0) / 1024;
  });
  return [wasm / MB, metrics.find((one) => one.name === "JSHeapUsedSize").value / MB, Math.max(...most)];
}

/** From where to where a start went, in milliseconds since the navigation: the program, the store, the rest. */
function stretches({ marks, asked }) {
  const of = (what) => asked.filter((one) => one.what === what);
  const end = (what) => Math.max(0, ...of(what).map((one) => one.to ?? 0).filter((at) => at <= marks.today));
  const begin = (what) => Math.min(...of(what).map((one) => one.from));
  const sheets = end("getAll summaries");
  const packs = of("get packs").filter((one) => one.from <= marks.today);
  return {
    "program compiled": marks.compiled,
    "to the store's first opening": begin("open"),
    "rows and facts of the store read": begin("getAll summaries"),
    "sheets handed over by the browser": sheets,
    "sheets opened, folded with the tail": packs.length ? Math.min(...packs.map((one) => one.from)) : marks.today,
    "Today stands": marks.today,
    "Today is a picture": marks.shown,
  };
}

export async function scale({ clean, table, at, one, traced, pressesOf, timeTaps }) {
  const middle = (all) => at(all, 0.5);
  const about = rows();
  const phone = await new Phone().on();
  clean(() => phone.kill());
  const begun = performance.now();
  const empty = await new Practice("empty", ["empty.jsonl"], about.empty_at).set(phone, clean);
  const full = await new Practice("full", ["full.jsonl"], about.at).set(phone, clean);
  const old = await new Practice("old", ["full.jsonl", "old.jsonl"], about.at).set(phone, clean);
  equal(full.count, { rows: about.rows, packs: about.packs, summaries: about.sheets, meta: 1 }, "control: everything lies there");
  equal([empty.count.packs, empty.count.meta, old.count], [0, 1, full.count], "control: nothing is packed in the empty one");
  console.log(`\n${about.sessions} closed sessions of ${about.people} people: ${about.packs} packs, ${about.sheets} sheets, ${about.rows} rows; laid in ${((performance.now() - begun) / 1000).toFixed(0)} s; load ${fs.readFileSync("/proc/loadavg", "utf8").split(" ").slice(0, 2).join(", ")}`);
  const both = [empty, full];
  const verdict = [];
  const judge = (what, value, most, unit) => verdict.push([what, value, most, unit, value <= most]);

  // The worker with all files, and the compiled program, as on any phone after the first days.
  for (const practice of both) {
    const page = await practice.open(phone);
    await keptOffline(page);
    await sleep(3000);
    await page.close();
  }

  for (const times of PARTS.includes("start") ? [1, THROTTLE] : []) {
    const took = both.map(() => []);
    for (let n = 0; n < ROUNDS; n += 1) {
      for (const [which, practice] of both.entries()) {
        const page = await practice.open(phone, times);
        took[which].push(stretches(await page.evaluate(() => ({ marks: window.marks, asked: window.asked }))));
        took[which].at(-1).ready = await page.evaluate(() => window.marks.ready);
        await slow(page, 1);
        await page.close();
      }
    }
    const named = ["ready", ...Object.keys(took[0][0]).filter((name) => name !== "ready")];
    // Beside the medians the least of each: what other programs on the machine added least to.
    const least = took.map((all) => named.map((name) => Math.min(...all.map((one) => one[name]))));
    const mids = took.map((all) => named.map((name) => middle(all.map((one) => one[name]))));
    table([`a start, ms since the navigation, medians of ${ROUNDS}, interleaved, ${times}x slower`, "empty", "full", "ratio", "more", "least: empty", "full", "ratio"], named.map((name, n) => [
      name === "ready" ? "first render (data-ready)" : name, one(mids[0][n]), one(mids[1][n]), (mids[1][n] / mids[0][n]).toFixed(2), one(mids[1][n] - mids[0][n]),
      one(least[0][n]), one(least[1][n]), (least[1][n] / least[0][n]).toFixed(2),
    ]));
    const last = named.indexOf("Today is a picture");
    judge(`start, ${times}x slower`, mids[1][last] / mids[0][last], TIMES, "times");
  }

  // The chair.
  if (PARTS.includes("tap")) {
    const pages = [];
    for (const practice of both) {
      const page = await practice.open(phone, 1, timeTaps);
      await findChair(page);
      await placing(page);
      await sleep(1000);
      pages.push(page);
    }
    const before = await Promise.all(pages.map(async (page) => (await sums(page)).placed));
    const end = await traced(phone);
    for (let n = 0; n < TAPS; n += 1) {
      for (const page of pages) {
        await page.bringToFront();
        await page.locator("select#where").selectOption({ index: n % 8 });
        await sleep(330);
        await tap(page, ".slab:not(.hold)");
        await page.waitForFunction((wanted) => window.taps.length >= wanted, n + 1);
        await sleep(100);
      }
    }
    const by = [...pressesOf(await end()).values()];
    equal(await Promise.all(pages.map(async (page) => (await sums(page)).placed)), before.map((placed) => placed + TAPS), "control: every tap counted");
    equal(by.map((all) => all.length), [TAPS, TAPS], "control: the trace saw every tap of both");
    const whole = await Promise.all(pages.map((page) => page.evaluate(() => window.taps.map((t) => t.whole))));
    const of = (which) => [by[which].map((t) => t.handler), by[which].map((t) => t.handler + t.frame), whole[which]];
    const cells = (part) => ["handler, main thread's own", "handler and picture, main thread's own", "press to the next picture, wall"].map((name, n) => {
      const [a, b] = [at(of(0)[n], part), at(of(1)[n], part)];
      return [`${name}, p${part * 100}`, a.toFixed(2), b.toFixed(2), (b / a).toFixed(2), (b - a).toFixed(2)];
    });
    table([`a tap at the chair (placed 1), ms, ${TAPS} each, interleaved, full speed`, "empty", "full", "ratio", "more"], [...cells(0.5), ...cells(0.98)]);
    judge("tap, main thread", middle(of(1)[1]) / middle(of(0)[1]), TIMES, "times");
    judge("tap, press to picture", middle(of(1)[2]) / middle(of(0)[2]), TIMES, "times");
    for (const page of pages) await page.close();
  }

  // People: the page, and a letter.
  if (PARTS.includes("people")) {
    const pages = [];
    const opened = [];
    for (const practice of both) {
      const page = await practice.open(phone, 1, timeLetters);
      await sleep(2000);
      await quiet(page);
      opened.push([]);
      for (let n = 0; n < ROUNDS; n += 1) {
        opened.at(-1).push(await page.evaluate(() => new Promise((done) => {
          const begun = performance.now();
          location.hash = "/people";
          const look = () => {
            if (!document.querySelector("#name")) return requestAnimationFrame(look);
            requestAnimationFrame(() => { const { port1, port2 } = new MessageChannel(); port1.onmessage = () => done(performance.now() - begun); port2.postMessage(0); });
          };
          look();
        })));
        if (n + 1 < ROUNDS) {
          await go(page, "/");
          await page.waitForSelector("a.open");
          await sleep(300);
        }
      }
      pages.push(page);
    }
    const listed = await Promise.all(pages.map((page) => page.locator("main li a").count()));
    const lines = [["People opened, to its picture", ...opened.map((all) => one(middle(all))), (middle(opened[1]) / middle(opened[0])).toFixed(2), one(middle(opened[1]) - middle(opened[0]))]];
    if (await pages[1].locator("#find").count()) {
      // With a few people the page has no such field, so there is nothing to set beside it but a frame.
      const page = pages[1];
      await page.bringToFront();
      // By the thread's own clock: what other programs take is none of its.
      await page.cdp.send("Performance.enable", { timeDomain: "threadTicks" });
      const worked = async () => (await page.cdp.send("Performance.getMetrics")).metrics.find((one) => one.name === "TaskDuration").value * 1000;
      const own = [];
      for (let n = 0; n < LETTERS; n += 1) {
        if (n % 3 === 0) { await page.locator("#find").fill(""); await sleep(200); }
        await page.locator("#find").focus();
        await page.evaluate(() => { window.letters = []; });
        await sleep(50);
        const before = await worked();
        await page.keyboard.type("wre"[n % 3]);
        await page.waitForFunction(() => window.letters.length > 0);
        own.push(await worked() - before);
        await page.evaluate(() => { window.typed = [...(window.typed ?? []), window.letters[0]]; });
      }
      const parts = await page.evaluate(() => window.typed);
      const typed = parts.map(([task, picture]) => task + picture);
      ok((await page.locator("main li a").first().innerText()).startsWith("Wren"), "control: somebody was found");
      const row = (name, all) => lines.push([`${name}, p50 and p98`, "", [0.5, 0.98].map((part) => one(at(all, part))).join(", "), "", ""]);
      row("a letter in the search, wall, without the wait for its picture", typed);
      row("of it the program", parts.map(([task]) => task));
      row("all that the main thread did for it by its own clock, the measuring too", own);
      judge("search, a letter, main thread's own, p50", middle(own), FRAME, "ms");
      judge("search, a letter, main thread's own, p98", at(own, 0.98), FRAME, "ms");
    } else {
      console.log("People has no search");
      judge("search: there is none", Infinity, FRAME, "ms");
    }
    lines.push(["people drawn in the list", ...listed, "", ""]);
    table([`People, ms, full speed`, "empty", "full", "ratio", "more"], lines);
    for (const page of pages) await page.close();
  }

  // Summed up again, after an update that folds otherwise.
  if (PARTS.includes("refold")) {
    const page = await old.open(phone);
    const first = await page.evaluate(() => ({ ...window.marks }));
    const early = await page.evaluate(() => document.querySelector("main").innerText);
    const unread = () => page.evaluate(() => { const note = document.querySelector("main .stack > p.note"); return !!note && !note.hidden; });
    ok(await unread(), `control: at first it is said that lists may lack something: ${early.slice(0, 200)}`);
    await until("everything to be summed up again", async () => !(await unread()), 540000);
    const done = await page.evaluate(() => performance.now());
    await sleep(3000);
    const long = await page.evaluate((from) => window.long.filter(([begun]) => begun > from), first.shown);
    // What each came after: the latest answer of the store before it ended.
    const asked = await page.evaluate(() => window.asked);
    const after = ([begun, took]) => asked.filter((one) => one.to <= begun + took).at(-1);
    const which = long.toSorted((a, b) => b[1] - a[1]).slice(0, 4).map((task) => `${one(task[1])} at ${((task[0] - first.shown) / 1000).toFixed(1)} s: ${after(task)?.what ?? "nothing"}`);
    const longest = long.map(([, took]) => took);
    table(["summed up again after an update (another number of the folds), full speed", ""], [
      ["Today is a picture, ms", one(first.shown)],
      ["until everything is summed up, s", one((done - first.shown) / 1000)],
      ["tasks longer than 50 ms meanwhile", longest.length],
      ["longest task, ms", one(Math.max(0, ...longest))],
      ["the next five, ms", longest.sort((a, b) => b - a).slice(1, 6).map(one).join(", ")],
      ["the longest, when, and the store's answer before", which.join("; ") || "none"],
      ["sheets left", await page.evaluate(() => new Promise((got) => { const open = indexedDB.open("pinfold"); open.onsuccess = () => { const request = open.result.transaction("summaries").objectStore("summaries").count(); request.onsuccess = () => { open.result.close(); got(request.result); }; }; }))],
    ]);
    await page.close();
  }

  await phone.off();
  if (PARTS.includes("copy")) judge("copies of the whole that this phone would not bring in again", await carried({ phone, both, table, one }), 0, "");

  table(["bound", "measured", "at most", "", ""], verdict.map(([what, value, most, unit, held]) => [what, value.toFixed(2), most.toFixed(1), unit, held ? "pass" : "FAIL"]));
  console.log(verdict.every(([, , , , held]) => held) ? "pass" : `fail: ${verdict.filter(([, , , , held]) => !held).map(([what, value, most]) => `${what} (${value.toFixed(2)}, at most ${most.toFixed(1)})`).join("; ")}`);
}

/** Memory of a start, each in a browser of its own; then a copy of everything taken out, and looked into again.
    Gives back how many copies were refused. */
async function carried({ phone, both, table, one }) {
  const lines = [];
  const said = [];
  let refused = 0;
  for (const practice of both) {
    await phone.on();
    const page = await practice.open(phone);
    await sleep(4000);
    await quiet(page);
    lines.push([`${practice.name}: at Today`, ...(await memory(phone, page)).map(one)]);
    page.setDefaultTimeout(LONG);
    let begun = performance.now();
    const lap = () => { const took = performance.now() - begun; begun = performance.now(); return took; };
    try {
      await go(page, "/copies");
      await page.getByRole("button", { name: /^Take a copy out/ }).waitFor();
      said.push([`${practice.name}: everything read in (page Copies)`, one(lap())]);
      lines.push([`${practice.name}: everything read in`, ...(await memory(phone, page)).map(one)]);
      await page.evaluate(() => {
        window.showSaveFilePicker = undefined;
        window.copies = [];
        const real = URL.createObjectURL;
        URL.createObjectURL = (blob) => { window.copies.push(blob); return real.call(URL, blob); };
        const click = HTMLInputElement.prototype.click;
        HTMLInputElement.prototype.click = function () {
          if (this.type !== "file") return click.call(this);
          const held = new DataTransfer();
          held.items.add(window.give);
          this.files = held.files;
          this.dispatchEvent(new Event("change", { bubbles: true }));
        };
      });
      await press(page, /^Take a copy out/);
      await page.locator("#new").fill(COPY_WORDS);
      await page.locator("#again").fill(COPY_WORDS);
      await sleep(350);
      await page.getByRole("button", { name: "Seal the copy" }).click();
      begun = performance.now();
      const what = await Promise.race([
        page.getByText("It has not left this phone yet.").waitFor().then(() => "sealed"),
        page.locator("main [role=status]").filter({ hasText: /could not|cannot|memory|browser/ }).waitFor({ timeout: LONG }).then(() => "said"),
      ]);
      said.push([`${practice.name}: the copy written and sealed (${what})`, one(lap())]);
      lines.push([`${practice.name}: copy sealed`, ...(await memory(phone, page)).map(one)]);
      for (const ready = page.getByText("It has not left this phone yet."); await ready.count();) {
        const had = await page.evaluate(() => window.copies.length);
        await sleep(350);
        await page.getByRole("button", { name: /^Put it into the downloads/ }).click();
        await until("a file to leave", () => page.evaluate((had) => window.copies.length > had, had));
        await sleep(200);
      }
      const sizes = await page.evaluate(() => window.copies.map((copy) => copy.size));
      said.push([`${practice.name}: its files, MB`, sizes.map((size) => one(size / MB)).join(", ")]);
      for (let n = 0; n < sizes.length; n += 1) {
        await page.evaluate((n) => { window.give = new File([window.copies[n]], "copy.age.txt", { type: "text/plain" }); }, n);
        await sleep(350);
        await page.getByRole("button", { name: /^Bring a copy in/ }).click();
        begun = performance.now();
        const seen = await Promise.race([
          page.locator("#sealed-copy").waitFor().then(() => "asks for its passphrase"),
          page.waitForFunction(() => /large|too much|long|MB/.test(document.querySelector("main p[role=status]")?.innerText ?? "")).then(() => "refused"),
        ]);
        if (seen === "refused") {
          refused += 1;
          said.push([`${practice.name}: brought in again`, await page.locator("main p[role=status]").last().innerText()]);
          continue;
        }
        await page.fill("#sealed-copy", COPY_WORDS);
        await sleep(350);
        begun = performance.now();
        await page.keyboard.press("Enter");
        await page.locator("h2").filter({ hasText: "What this copy is" }).waitFor();
        if (n % 4 === 0) said.push([`${practice.name}: file ${n + 1} opened and looked into again`, one(lap())]);
        lines.push([`${practice.name}: file ${n + 1} looked into`, ...(await memory(phone, page)).map(one)]);
        const whole = await page.locator("main").innerText();
        // The note on this copy itself came after it.
        ok(whole.includes(" 0 not here") && !/lacks (?!1 fact that)/.test(whole), `control: everything in it is here, and it lacks nothing: ${whole.slice(0, 600)}`);
        if (n > 0 && n + 1 === sizes.length) ok(whole.includes("everything that these files hold is here"), "the last says that it is all here");
        await sleep(350);
        await page.getByRole("button", { name: /^Leave it/ }).click();
        await page.getByText("Left. Nothing was changed.").waitFor();
      }
    } catch (error) {
      said.push([`${practice.name}: ended by`, `${error.message.split("\n")[0]} (the page says: ${(await page.locator("main").innerText().catch(() => "nothing")).slice(0, 300).replaceAll("\n", " ")})`]);
    }
    await phone.off();
  }
  table(["a copy out and in, ms, once", ""], said);
  table(["memory, MB", "the program's", "scripts", "most of the process so far"], lines);
  return refused;
}
