// When it breaks, it breaks to paper: whatever stops the program, the static page shows the needles
// that are in by region and the clocks that are due, and Reload goes on from there.
import fs from "node:fs";
import path from "node:path";
import { equal, keptOffline, ok, say, setUp, started, test, until } from "./harness.mjs";
import { broken, dropWorker, findChair, go, kept, openChair, place, press, signSays, sums, withNeedlesIn } from "./hand.mjs";

/** What the strip must show after withNeedlesIn: 2 needles and 1, each region with its clock. */
function holdsTheNeedles(got, kind, what) {
  equal([got.kind, got.strip, got.noStrip, got.appSeen], [kind, true, false, false], `${what}: the page`);
  equal([got.total, got.inside.map(([, figure]) => figure).sort(), got.due.length], [3, ["1", "2"], 2], `${what}: the strip`);
  ok(got.inside.every(([name]) => name.length > 3), `${what}: regions have names: ${JSON.stringify(got.inside)}`);
  ok(got.due.every(([, when]) => /^\d\d:\d\d, in \d+ min$/.test(when)), `${what}: clocks have times: ${JSON.stringify(got.due)}`);
}

/** Presses Reload and finds the session as it was. */
async function goesOn(page, what) {
  await page.locator("#broken-reload").click();
  await until("the app to start again", () => page.evaluate(() => document.documentElement.hasAttribute("data-ready") && !document.documentElement.hasAttribute("data-broken")));
  await findChair(page);
  equal(await sums(page), { inside: 3, out: 0, placed: 3 }, `${what}: after Reload`);
}

/** In the page: the next thing the program asks the document to make is refused, once. It does not
    expect that, so it panics in its own code. The error's words are what a diagnosis must not repeat. */
const refuseOnce = (words) => {
  for (const name of ["createElement", "createTextNode", "importNode"]) {
    const real = Document.prototype[name];
    Document.prototype[name] = function (...given) {
      if (!/pinfold-app/.test(new Error().stack)) return real.apply(this, given);
      for (const one of ["createElement", "createTextNode", "importNode"]) if (window.real?.[one]) Document.prototype[one] = window.real[one];
      throw new Error(words);
    };
    (window.real ??= {})[name] = real;
  }
};

test("control: with nothing broken the app shows and the static page does not", async (clean) => {
  const { page } = await withNeedlesIn(clean);
  await page.reload();
  await started(page);
  equal(await page.evaluate(() => [document.getElementById("broken").hidden, document.documentElement.getAttribute("data-broken")]), [true, null], "hidden");
  await findChair(page);
  equal(await sums(page), { inside: 3, out: 0, placed: 3 }, "the chair");
});

test("a panic in the running app brings the strip; diagnostics hold no name, note or answer", async (clean) => {
  const NAME = "Quillon Vantreese", REASON = "mothwing tremor";
  const { site, phone } = await setUp(clean);
  const page = await keptOffline(await phone.page(site.url));
  // A person with a reason and an answer, then the chair.
  await go(page, "/people");
  await page.fill("#name", NAME);
  await page.fill("#for", REASON);
  await press(page, "Keep", { exact: true });
  await page.waitForFunction(() => location.hash.startsWith("#/person/"));
  await go(page, (await page.evaluate(() => location.hash)).replace("#/person/", "/ask/"));
  await page.locator(".choice").first().getByRole("button", { name: "no", exact: true }).click();
  await signSays(page, "saved");
  await openChair(page);
  for (const needles of [2, 1]) await place(page, { needles });
  await signSays(page, "saved");
  const texts = Object.values(await kept(page)).join("\n");
  const answered = texts.match(/"question":"([^"]*)"/)?.[1];
  ok(texts.includes(NAME) && texts.includes(REASON) && answered, "control: the search finds the name, the reason and the answer in the database");

  await page.evaluate(refuseOnce, `Refused: ${NAME} said ${REASON}`);
  await go(page, "/settings");
  const got = await broken(page);
  holdsTheNeedles(got, "panic", "panic");
  const told = page.said.filter((line) => /^(error|thrown)/.test(line));
  ok(told.some((line) => /\.rs:\d+:\d+/.test(line)), `the panic hook told the place: ${told.join(" | ")}`);

  await page.locator("#broken-diagnostics").click();
  await page.waitForSelector("#broken-report", { state: "visible" });
  const text = await page.locator("#broken-report-text").textContent();
  const [saving] = await Promise.all([page.waitForEvent("download"), page.locator("#broken-report-file").click()]);
  const file = fs.readFileSync(await saving.path(), "utf8");
  const report = JSON.parse(text);
  equal([report.kind, report.needles_in_strip, report.clocks_in_strip], ["panic", 3, 2], "the report");
  for (const word of [NAME, ...NAME.split(" "), REASON, ...REASON.split(" "), answered, ...got.inside.map(([region]) => region)]) {
    ok(!text.includes(word) && !file.includes(word), `the report holds ${word}: ${text}`);
  }
  equal(file, text, "the file is what is shown");
  say(`panic told as: ${report.message}; an answer to ${answered} was in the database`);
  await goesOn(page, "panic");
});

test("an error thrown through the program brings the strip, and its words stay out of diagnostics", async (clean) => {
  const { page } = await withNeedlesIn(clean);
  // A browser ability that the program calls without a net.
  await page.evaluate(() => { Performance.prototype.now = () => { throw new Error("Quillon Vantreese"); }; });
  holdsTheNeedles(await broken(page), "panic", "thrown");
  const report = JSON.parse(await page.evaluate(() => window.pinfold.diagnostics()));
  ok(page.said.some((line) => line.includes("Quillon")), "control: the words are on the console");
  ok(!JSON.stringify(report).includes("Quillon"), `its words are in the report: ${report.message}`);
  ok(/^Error at .*pinfold-app/.test(report.message), `the report says where: ${report.message}`);
  await goesOn(page, "thrown");
});

/** What a visit cannot do without: what starts, what follows, what they share, and the script that brings it. */
const partsOf = (site) => [...fs.readdirSync(site.www).filter((name) => name.endsWith(".wasm") && !/shelf|vault/.test(name)).sort(), "pinfold-split.js"];

test("code that is not there, is not code, or never comes: the strip, and Reload goes on", async (clean) => {
  const { site, page } = await withNeedlesIn(clean);
  await dropWorker(page);
  const took = {};
  const restarted = async (what) => {
    const from = Date.now();
    await page.reload({ waitUntil: "commit" });
    holdsTheNeedles(await broken(page), "start", what);
    took[what] = Date.now() - from;
  };
  // What starts, what follows, and the script that brings it.
  for (const name of partsOf(site)) {
    const module = path.join(site.www, name);
    const good = fs.readFileSync(module);
    fs.rmSync(module);
    await restarted(`${name} not there`);
    fs.writeFileSync(module, Buffer.concat([good.subarray(0, good.length / 2), Buffer.alloc(1000)]));
    await restarted(`${name} not code`);
    fs.writeFileSync(module, good);
    await goesOn(page, `${name} not code`);
    await dropWorker(page);
  }
  let letGo;
  const stuck = new Promise((go) => { letGo = go; });
  await page.route("**/*.wasm", async (route) => { await stuck; await route.continue(); });
  await restarted("never comes");
  ok(took["never comes"] >= 9500 && took["never comes"] < 13000, `by the watchdog: ${took["never comes"]} ms`);
  letGo();
  await started(page);
  equal(await page.evaluate(() => document.getElementById("broken").hidden), true, "a start that comes late takes the page away");
  say(Object.entries(took).map(([what, ms]) => `${what} ${ms} ms`).join(", "));
});

test("parts of two builds never run together: the strip, and Reload goes on once they are of one", async (clean) => {
  const { site, page } = await withNeedlesIn(clean);
  // The mark that the parts of a build have in common, and that of another build.
  const mark = /build_[0-9a-f]{14}/;
  const parts = partsOf(site).map((name) => path.join(site.www, name));
  // The shelf too, for the control; alone it is not missed: see below.
  const shelf = path.join(site.www, "split_shelf.wasm");
  const whole = parts.map((part) => fs.readFileSync(part, "latin1"));
  const marks = whole.map((text) => text.match(mark)?.[0]);
  ok(marks[0] && marks.every((one) => one === marks[0]), `one mark in all parts: ${marks}`);
  const other = marks[0].replace(/.$/, (last) => (last === "0" ? "1" : "0"));
  for (const [at, part] of parts.entries()) {
    await dropWorker(page);
    fs.writeFileSync(part, whole[at].replaceAll(marks[0], other), "latin1");
    await page.reload({ waitUntil: "commit" });
    holdsTheNeedles(await broken(page), "start", `${path.basename(part)} of another build`);
    fs.writeFileSync(part, whole[at], "latin1");
    await goesOn(page, `${path.basename(part)} of another build`);
  }
  // Control: it is the mixing that is refused, not the other mark.
  await dropWorker(page);
  for (const [at, part] of parts.entries()) fs.writeFileSync(part, whole[at].replaceAll(marks[0], other), "latin1");
  fs.writeFileSync(shelf, fs.readFileSync(shelf, "latin1").replaceAll(marks[0], other), "latin1");
  await page.reload();
  await started(page);
  await findChair(page);
  equal(await sums(page), { inside: 3, out: 0, placed: 3 }, "all of them of the other build");
});

test("a shelf that is not there, or of another build: its pages say so, and the chair goes on", async (clean) => {
  const { site, page } = await withNeedlesIn(clean);
  const shelf = path.join(site.www, "split_shelf.wasm");
  const whole = fs.readFileSync(shelf, "latin1");
  const mark = whole.match(/build_[0-9a-f]{14}/)[0];
  const notice = page.getByText("This page did not load");
  const rules = page.locator("h1").filter({ hasText: "Rules and sources" });
  for (const [what, spoil] of [
    ["not there", () => fs.rmSync(shelf)],
    ["of another build", () => fs.writeFileSync(shelf, whole.replaceAll(mark, mark.replace(/.$/, (last) => (last === "0" ? "1" : "0"))), "latin1")],
  ]) {
    await dropWorker(page);
    spoil();
    await page.reload();
    await started(page);
    await go(page, "/rules");
    await notice.waitFor();
    equal(await rules.count(), 0, `${what}: no page half drawn`);
    await go(page, "/");
    await findChair(page);
    equal(await sums(page), { inside: 3, out: 0, placed: 3 }, `${what}: the chair goes on`);
    fs.writeFileSync(shelf, whole, "latin1");
    await page.reload();
    await started(page);
    await go(page, "/rules");
    await rules.waitFor();
    equal(await notice.count(), 0, `control: with the shelf there is the page (${what})`);
    await go(page, "/");
  }
});

test("a chair whose module does not come: the strip after the wait, and the chair when it comes late", async (clean) => {
  const { page } = await withNeedlesIn(clean);
  await findChair(page);
  ok((await page.evaluate(() => location.hash)).startsWith("#/chair/"), "a start that leads to the chair");
  await dropWorker(page);
  let letGo;
  const stuck = new Promise((go) => { letGo = go; });
  await page.route("**/split_pages.wasm", async (route) => { await stuck; await route.continue(); });
  const from = Date.now();
  await page.reload({ waitUntil: "commit" });
  holdsTheNeedles(await broken(page), "start", "never comes");
  const took = Date.now() - from;
  ok(took >= 9500 && took < 13000, `by the watchdog: ${took} ms`);
  letGo();
  await started(page);
  equal(await page.evaluate(() => document.getElementById("broken").hidden), true, "it goes away");
  await findChair(page);
  equal(await sums(page), { inside: 3, out: 0, placed: 3 }, "the chair");

  // Today needs none of it.
  await go(page, "/");
  await page.unroute("**/split_pages.wasm");
  const never = new Promise(() => {});
  await page.route("**/split_pages.wasm", () => never);
  await dropWorker(page);
  await page.reload({ waitUntil: "commit" });
  await started(page);
  await page.locator("a[href^='#/chair/']").first().waitFor();
});

test("a store that is refused: the strip, and Reload goes on", async (clean) => {
  const { site, phone } = await withNeedlesIn(clean);
  const ways = {
    "opening throws": () => { IDBFactory.prototype.open = () => { throw new DOMException("no", "SecurityError"); }; },
    "a newer version was here": () => { const real = IDBFactory.prototype.open; IDBFactory.prototype.open = function () { return real.call(this, "newer", 1); }; },
    "there is none": () => { Object.defineProperty(window, "indexedDB", { get: () => undefined }); },
  };
  for (const old of phone.context.pages()) await old.close();
  for (const [what, refuse] of Object.entries(ways)) {
    const page = await phone.page();
    await page.goto(new URL("manifest.webmanifest", site.url).href);
    await page.evaluate(() => new Promise((done) => { const open = indexedDB.open("newer", 2); open.onsuccess = () => { open.result.close(); done(); }; }));
    await page.addInitScript(`if (!sessionStorage.mended) (${refuse})();`);
    await page.goto(site.url);
    holdsTheNeedles(await broken(page), what.startsWith("a newer") ? "newer" : "store", what);
    await page.evaluate(() => { sessionStorage.mended = "yes"; });
    await goesOn(page, what);
    await page.close();
  }
});

test("with no strip on the phone the static page does not say that none are in", async (clean) => {
  const { site, phone } = await setUp(clean);
  fs.rmSync(path.join(site.www, "pinfold-app_bg.wasm"));
  const got = await broken(await phone.page(site.url));
  equal([got.kind, got.strip, got.noStrip, got.appSeen], ["start", false, true, false], "no strip");
});

test("without the file of knowledge nothing is asked or planned, a chair opens, and loading again mends it", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await phone.page();
  let asked = 0;
  await page.route("**/knowledge.bin", (route) => { asked += 1; return route.abort(); });
  await page.goto(site.url);
  await started(page);
  await go(page, "/people");
  await page.fill("#name", "Wren Fold (invented)");
  await press(page, "Keep");
  await page.waitForFunction(() => location.hash.startsWith("#/person/"));
  const person = (await page.evaluate(() => location.hash)).split("/").pop();
  const rows = () => page.locator(".choice").count();
  for (const step of ["ask", "plan"]) {
    await go(page, `/${step}/${person}`);
    await page.getByText("Questions and points did not load").waitFor();
    equal(await rows(), 0, `questions shown on ${step}`);
  }
  ok(asked > 0, "the file was wanted");
  await openChair(page);
  await place(page, { needles: 2 });
  equal((await sums(page)).inside, 2, "a chair counts without it");
  // Control: with the file there the same page asks.
  await page.unroute("**/knowledge.bin");
  await go(page, `/ask/${person}`);
  await page.getByRole("button", { name: "Load again" }).click();
  await until("the questions", async () => (await rows()) > 20);
});
