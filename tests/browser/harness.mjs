// What every browser test stands on: a server that can be stopped, a browser that can be killed, and
// a runner that says what passed, what failed and how long it took. No test can be skipped.
//
//   node tests/browser/run.mjs [words of a test's name]
//
// The server and the browser are children of this process and end with it. A browser keeps its
// profile in a folder of its own, so that "switched off and on again" is a real thing here.
import { spawn } from "node:child_process";
import { createHash } from "node:crypto";
import fs from "node:fs";
import { createRequire } from "node:module";
import net from "node:net";
import os from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";

export const here = path.dirname(fileURLToPath(import.meta.url));
export const root = path.resolve(here, "../..");
const tools = path.resolve(root, process.env.PINFOLD_TOOLS || "target/tools");
// The libraries lie with the tools, not in the checkout.
const require = createRequire(path.join(tools, "browser", "from-here.js"));
const { chromium } = require("playwright-core");
const axeSource = fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

/** The finished build that the tests open. */
export const built = path.resolve(root, process.env.PINFOLD_SITE || "target/site");
const house = process.env.PINFOLD_HOUSE || path.join(process.env.CARGO_TARGET_DIR || path.join(root, "target"), "debug", "pinfold-house");

/** A line of figures under the test that measures them. */
export const say = (words) => console.log(`       ${words}`);

/** Numbers from 0 to 1 that come out the same again from the same seed (mulberry32). */
export function dice(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

export const sleep = (ms) => new Promise((done) => setTimeout(done, ms));
export const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex");

/** Asks again and again until `ask` gives something truthy; fails with `what` after `ms`. */
export async function until(what, ask, ms = 20000) {
  const end = Date.now() + ms;
  let last;
  for (;;) {
    try {
      const answer = await ask();
      if (answer) return answer;
      last = undefined;
    } catch (error) {
      last = error;
    }
    if (Date.now() > end) throw new Error(`waited ${ms} ms for: ${what}${last ? ` (${last.message})` : ""}`);
    await sleep(50);
  }
}

export function equal(got, wanted, what) {
  const a = JSON.stringify(got);
  const b = JSON.stringify(wanted);
  if (a !== b) throw new Error(`${what}: got ${a}, wanted ${b}`);
}

export function ok(value, what) {
  if (!value) throw new Error(what);
}

/** Passes if `act` fails; gives its error back. */
export async function fails(what, act) {
  try {
    await act();
  } catch (error) {
    return error;
  }
  throw new Error(`${what}: it should have failed and did not`);
}

// --- everything that must be gone at the end ---------------------------------------------------------

const temporary = path.join(os.tmpdir(), `pinfold-browser-${process.pid}`);
fs.mkdirSync(temporary, { recursive: true });
let folders = 0;
/** A new empty folder, removed at the end. */
export function folder(name) {
  const place = path.join(temporary, `${++folders}-${name}`);
  fs.mkdirSync(place, { recursive: true });
  return place;
}

const children = new Set();
function child(command, args, options = {}) {
  // A group of its own: killing the group takes the whole tree, a browser's helpers too, by id.
  const started = spawn(command, args, { detached: true, ...options });
  children.add(started);
  started.gone = new Promise((done) => started.once("exit", () => { children.delete(started); done(); }));
  started.end = async (signal = "SIGKILL") => {
    if (children.has(started)) {
      try { process.kill(-started.pid, signal); } catch { /* it was faster */ }
    }
    await started.gone;
  };
  return started;
}
function endAll() {
  for (const one of children) {
    try { process.kill(-one.pid, "SIGKILL"); } catch { /* gone */ }
  }
  try { fs.rmSync(temporary, { recursive: true, force: true, maxRetries: 5 }); } catch { /* the next boot takes it */ }
}
process.on("exit", endAll);
for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"]) process.on(signal, () => process.exit(130));

// --- the server --------------------------------------------------------------------------------------

async function freePort() {
  const probe = net.createServer();
  await new Promise((done) => probe.listen(0, "127.0.0.1", done));
  const { port } = probe.address();
  await new Promise((done) => probe.close(done));
  return port;
}

/** A server of its own folder, at an address that stays the same over stop and start. */
export class Site {
  constructor({ policy = true } = {}) {
    this.policy = policy;
    this.www = folder("www");
  }

  /** Copies a build under the server the way DEPLOY.txt says: the worker's script last. */
  deploy(build = built) {
    for (const name of fs.readdirSync(this.www)) fs.rmSync(path.join(this.www, name), { recursive: true });
    fs.cpSync(build, this.www, { recursive: true, filter: (from) => path.basename(from) !== "sw.js" });
    fs.copyFileSync(path.join(build, "sw.js"), path.join(this.www, "sw.js"));
    return this;
  }

  async start() {
    this.port ??= await freePort();
    const args = ["serve", "--site", this.www, "--port", String(this.port)];
    if (!this.policy) args.push("--without-policy");
    this.process = child(house, args, { stdio: ["ignore", "pipe", "inherit"] });
    await new Promise((done, fail) => {
      this.process.once("error", fail);
      this.process.once("exit", (code) => fail(new Error(`the server ended with ${code}`)));
      this.process.stdout.once("data", done);
    });
    return this;
  }

  async stop() {
    await this.process.end("SIGTERM");
    await fails("the server is really gone", () => fetch(this.url));
  }

  get url() {
    return `http://localhost:${this.port}/`;
  }
}

/** A copy of a build with some files changed; listed and named anew unless `list` is false. */
export function variant(edits, { from = built, list = true } = {}) {
  const place = folder("build");
  fs.cpSync(from, place, { recursive: true });
  for (const [name, edit] of Object.entries(edits)) {
    const file = path.join(place, name);
    if (edit === null) fs.rmSync(file);
    else fs.writeFileSync(file, typeof edit === "function" ? edit(fs.readFileSync(file, "utf8")) : edit);
  }
  if (list) {
    const worker = path.join(place, "sw.js");
    const text = fs.readFileSync(worker, "utf8");
    const files = listOf(place);
    const hash = () => {
      for (const name of Object.keys(files)) {
        const file = path.join(place, name === "/" ? "index.html" : name);
        if (fs.existsSync(file)) files[name] = sha256(fs.readFileSync(file));
      }
    };
    // As pinfold-house does it: the page is listed with its name in it, the name is made without.
    hash();
    const id = sha256(JSON.stringify(files)).slice(0, 16);
    const page = path.join(place, "index.html");
    fs.writeFileSync(page, fs.readFileSync(page, "utf8").replace(/data-build="[^"]*"/, `data-build="${id}"`));
    hash();
    fs.writeFileSync(worker, text
      .replace(/const BUILD = "[^"]*";/, `const BUILD = "${id}";`)
      .replace(/const FILES = \{[^}]*\};/, `const FILES = ${JSON.stringify(files)};`));
  }
  return place;
}

/** The list that a build's worker holds: path to hash. */
export function listOf(build = built) {
  const text = fs.readFileSync(path.join(build, "sw.js"), "utf8");
  return JSON.parse(text.match(/const FILES = (\{[^}]*\});/)[1]);
}

/** The name of a build's cache on a phone. */
export function cacheOf(build = built) {
  return "pinfold-" + fs.readFileSync(path.join(build, "sw.js"), "utf8").match(/const BUILD = "([^"]*)";/)[1];
}

// --- the browser -------------------------------------------------------------------------------------

function browserPath() {
  if (process.env.CHROMIUM) return process.env.CHROMIUM;
  for (const name of ["chromium", "chromium-browser", "google-chrome"]) {
    for (const place of (process.env.PATH || "").split(":")) {
      const file = path.join(place, name);
      if (fs.existsSync(file)) return file;
    }
  }
  throw new Error("no Chromium on PATH: run .ci/tools test");
}

const PHONE = { width: 390, height: 844 };

/** In the page: says for a test that is not about sealing that there is to be no passphrase, where it is asked. */
function runWithout() {
  const look = () => [...document.querySelectorAll("button")].find((one) => one.innerText.startsWith("Run without a passphrase"))?.click();
  new MutationObserver(look).observe(document, { subtree: true, childList: true });
}

/** A browser on a profile of its own, that can be closed, killed and started again. `choose`: where the
    app asks for a passphrase, the page itself runs without; a test of sealing says no and presses itself. */
export class Phone {
  constructor({ size = PHONE, flags = [], choose = true } = {}) {
    this.size = size;
    this.flags = flags;
    this.choose = choose;
    this.profile = folder("profile");
  }

  async on() {
    const flags = [
      "--headless", "--disable-gpu", "--disable-quic", "--disable-dev-shm-usage", "--no-first-run", "--no-default-browser-check",
      "--disable-background-networking", "--disable-component-update", "--disable-sync", "--mute-audio", "--password-store=basic",
      "--remote-debugging-port=0", `--user-data-dir=${this.profile}`, `--window-size=${this.size.width},${this.size.height}`, ...this.flags,
    ];
    if (process.getuid() === 0) flags.push("--no-sandbox");
    for (const left of ["SingletonLock", "SingletonSocket", "SingletonCookie", "DevToolsActivePort"]) fs.rmSync(path.join(this.profile, left), { force: true });
    this.process = child(browserPath(), [...flags, "about:blank"], { stdio: ["ignore", "ignore", "pipe"] });
    let said = "";
    const address = await new Promise((done, fail) => {
      const late = setTimeout(() => fail(new Error(`the browser did not come up:\n${said}`)), 60000);
      this.process.once("error", fail);
      this.process.stderr.on("data", (data) => {
        said = (said + data).slice(-4000);
        const found = said.match(/DevTools listening on (ws:\/\/\S+)/);
        if (found) { clearTimeout(late); done(found[1]); }
      });
    });
    this.browser = await chromium.connectOverCDP(address);
    this.context = this.browser.contexts()[0];
    this.context.setDefaultTimeout(60000);
    return this;
  }

  /** A page of a phone's size with touch. `page.said` collects what the console was told. */
  async page(url) {
    const page = await this.context.newPage();
    page.said = [];
    page.asked = [];
    page.on("console", (message) => page.said.push(`${message.type()}: ${message.text()}`));
    page.on("pageerror", (error) => page.said.push(`thrown: ${error.message}`));
    page.on("request", (request) => page.asked.push(request.url()));
    page.cdp = await this.context.newCDPSession(page);
    await page.cdp.send("Emulation.setDeviceMetricsOverride", { ...this.size, deviceScaleFactor: 2, mobile: true });
    await page.cdp.send("Emulation.setTouchEmulationEnabled", { enabled: true });
    await page.addInitScript(() => {
      window.refused = [];
      addEventListener("securitypolicyviolation", (event) => window.refused.push(`${event.effectiveDirective} ${event.blockedURI}`));
    });
    if (this.choose) await page.addInitScript(runWithout);
    if (url) await page.goto(url);
    return page;
  }

  /** Switched off the normal way: everything is written down first. */
  async off() {
    const session = await this.browser.newBrowserCDPSession();
    await session.send("Browser.close").catch(() => {});
    await Promise.race([this.process.gone, sleep(10000)]);
    await this.process.end();
  }

  /** Ended in the middle of whatever it was doing, the whole tree at once. */
  async kill() {
    await this.process.end("SIGKILL");
  }
}

/** A page that has drawn its first screen. */
export async function started(page) {
  await page.waitForSelector("html[data-ready]", { state: "attached" });
  return page;
}

/** A page whose build is on the phone whole: from now on it must start without a line. */
export async function keptOffline(page) {
  await started(page);
  await until("the worker to be active", () => page.evaluate(() => window.pinfold.offline === "ready" && navigator.serviceWorker.ready.then(() => true)), 30000);
  return page;
}

/** A finger on the middle of an element. */
export async function tap(page, target) {
  const element = typeof target === "string" ? page.locator(target) : target;
  await element.scrollIntoViewIfNeeded();
  // What stands fast at the foot may lie over it: then a hand scrolls on.
  await element.evaluate((one) => {
    const { x, y, width, height } = one.getBoundingClientRect();
    const seen = document.elementFromPoint(x + width / 2, y + height / 2);
    if (!one.contains(seen)) one.scrollIntoView({ block: "center" });
  });
  const box = await element.boundingBox();
  ok(box, `nothing to tap at ${target}`);
  const touch = [{ x: box.x + box.width / 2, y: box.y + box.height / 2 }];
  await page.cdp.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: touch });
  await page.cdp.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
}

/** A finger that stays down for `ms`. */
export async function hold(page, target, ms) {
  const element = typeof target === "string" ? page.locator(target) : target;
  await element.scrollIntoViewIfNeeded();
  const box = await element.boundingBox();
  const touch = [{ x: box.x + box.width / 2, y: box.y + box.height / 2 }];
  await page.cdp.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: touch });
  await sleep(ms);
  await page.cdp.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
}

/** Makes the page's processor `times` slower; 1 ends it. */
export const slow = (page, times) => page.cdp.send("Emulation.setCPUThrottlingRate", { rate: times });

/** Limits what an origin may store, in bytes; undefined ends it. Chromium's IndexedDB remembers for half
    a minute how much room it was given last, so a limit bites at once only in a browser that has not
    written for this origin yet: switch the phone off and on first. */
export const limitStorage = (page, origin, bytes) =>
  page.cdp.send("Storage.overrideQuotaForOrigin", { origin: new URL(origin).origin, ...(bytes === undefined ? {} : { quotaSize: bytes }) });

/** The page's wall and monotonic clock start at `at` (ms since 1970) at the next load. */
export const setClock = (page, at) => page.addInitScript((start) => {
  const shift = start - Date.now();
  const real = Date.now.bind(Date);
  const RealDate = Date;
  Date.now = () => real() + shift;
  window.Date = class extends RealDate {
    constructor(...args) { if (args.length) super(...args); else super(real() + shift); }
    static now() { return real() + shift; }
  };
}, at);

/** A picture into tests/browser/shots (not kept in the repository). */
export async function shot(page, name) {
  const place = path.join(here, "shots");
  fs.mkdirSync(place, { recursive: true });
  await page.screenshot({ path: path.join(place, `${name}.png`), fullPage: true });
}

/** What axe finds wrong: one line per rule broken. The colour rule stays on. */
export async function axe(page) {
  // Through the debugger, which the page's policy does not bind.
  await page.evaluate(axeSource);
  const result = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  return result.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join("; ")}`);
}

// --- the runner --------------------------------------------------------------------------------------

const tests = [];
/** Registers a test. `act` gets a `clean` function that takes things to do at its end. */
export function test(name, act, { seconds = 120 } = {}) {
  tests.push({ name, act, seconds });
}

/** Runs what was registered; the number of failures becomes the exit status. */
export async function run(filter) {
  // What a failed test still waits for fails with its page; that must not end the other tests.
  process.on("unhandledRejection", (why) => console.log(`       left behind: ${String(why).split("\n")[0]}`));
  const begun = Date.now();
  const count = { passed: 0, failed: 0 };
  const chosen = tests.filter((one) => !filter || one.name.includes(filter));
  for (const { name, act, seconds: limit } of chosen) {
    const at = Date.now();
    const ends = [];
    let fault;
    try {
      await Promise.race([
        act((end) => ends.push(end)),
        sleep(limit * 1000).then(() => { throw new Error(`not done after ${limit} s`); }),
      ]);
    } catch (error) {
      fault = error;
    }
    for (const end of ends.reverse()) await Promise.resolve().then(end).catch(() => {});
    const seconds = ((Date.now() - at) / 1000).toFixed(1).padStart(6);
    if (fault) {
      count.failed += 1;
      console.log(`  FAIL ${seconds} s  ${name}\n       ${String(fault.stack || fault).replaceAll("\n", "\n       ")}`);
    } else {
      count.passed += 1;
      console.log(`  pass ${seconds} s  ${name}`);
    }
  }
  console.log(`  browser tests: ${count.passed} passed, ${count.failed} failed, ${((Date.now() - begun) / 1000).toFixed(0)} s`);
  // A filter that matches nothing has shown nothing.
  process.exit(count.failed > 0 || chosen.length === 0 ? 1 : 0);
}

/** A server with the build and a phone that is switched on, both gone at the test's end. */
export async function setUp(clean, { build = built, policy = true, choose = true } = {}) {
  const site = await new Site({ policy }).deploy(build).start();
  clean(() => site.process.end());
  const phone = await new Phone({ choose }).on();
  clean(() => phone.kill());
  return { site, phone };
}
