// A new build put on the server: when it is taken, when it is not, and what becomes of a bad one.
import fs from "node:fs";
import path from "node:path";
import { built, cacheOf, equal, keptOffline, listOf, ok, say, setUp, sha256, started, test, until, variant } from "./harness.mjs";
import { closeChair, findChair, go, kept, press, sums, withNeedlesIn } from "./hand.mjs";
import { facts } from "./visit.mjs";

const buildOf = (page) => page.evaluate(() => document.documentElement.dataset.build);
const nameOf = (build) => cacheOf(build).slice("pinfold-".length);
const changed = (from = built) => variant({ "notices.txt": (text) => `${text}\nA later build.\n` }, { from });

/** Every cache and what lies in it: name to path to hash. */
const cached = async (page) => {
  const all = await page.evaluate(async () => {
    const found = {};
    for (const name of await caches.keys()) {
      const cache = await caches.open(name);
      found[name] = {};
      for (const request of await cache.keys()) {
        const digest = await crypto.subtle.digest("SHA-256", await (await cache.match(request)).arrayBuffer());
        found[name][new URL(request.url).pathname] = [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
      }
    }
    return found;
  });
  return all;
};

/** Lets the browser look for a new worker, whatever the app thinks of it; says what became of it. */
const lookForNew = (page) => page.evaluate(async () => {
  const registration = await navigator.serviceWorker.getRegistration();
  try { await registration.update(); } catch (error) { return `failed: ${error.name}`; }
  const fresh = registration.installing;
  if (!fresh) return registration.waiting ? "installed" : "nothing new";
  while (fresh.state === "installing") await new Promise((next) => fresh.addEventListener("statechange", next, { once: true }));
  return fresh.state;
});

/** The page in the worker's charge, as every start but the very first is. */
async function inCharge(page) {
  await page.reload();
  await started(page);
  await until("the worker to be in charge", () => page.evaluate(() => !!navigator.serviceWorker.controller));
}

const offer = (page) => page.getByRole("button", { name: "Take it now" });

test("a build deployed in mid-session is not taken, through reload and kill, until the chair is closed", async (clean) => {
  const { site, phone, page: first } = await withNeedlesIn(clean);
  let page = first;
  await inCharge(page);
  await findChair(page);
  const [before, data] = [await cached(page), await facts(page)];
  equal(before[cacheOf()], listOf(), "the running build is kept whole");
  const next = changed();
  site.deploy(next);

  equal(await page.evaluate(() => window.pinfold.update.check()), false, "the app does not look for a new build with needles in");
  equal(await lookForNew(page), "installed", "the browser itself has fetched the new build");
  const goesOn = async (when) => {
    equal(await buildOf(page), nameOf(built), `${when}: the build`);
    await findChair(page);
    equal(await sums(page), { inside: 3, out: 0, placed: 3 }, `${when}: the sums`);
    const now = await cached(page);
    for (const [name, files] of Object.entries(before)) equal(now[name], files, `${when}: nothing purged of ${name}`);
  };
  await goesOn("deployed");
  await go(page, "/");
  await until("the offer", () => offer(page).isVisible());
  await press(page, "Take it now");
  equal(await page.evaluate(() => window.pinfold.update.apply()), false, "the app refuses to take it");
  await goesOn("pressed with needles in");
  await page.reload();
  await started(page);
  await goesOn("reloaded");
  await site.stop();
  await page.reload();
  await started(page);
  await goesOn("reloaded without a server");
  await phone.kill();
  await phone.on();
  page = await started(await phone.page(site.url));
  await goesOn("killed and started without a server");
  await site.start();

  // Control: with nothing open the same press takes it.
  await closeChair(page);
  await go(page, "/");
  await until("the offer", () => offer(page).isVisible());
  await press(page, "Take it now");
  await until("the new build to run", async () => (await buildOf(page)) === nameOf(next));
  await started(page);
  await until("the old build's files to go", async () => !(cacheOf() in await cached(page)));
  equal((await cached(page))[cacheOf(next)], listOf(next), "the new build is kept whole");
  // By now the closed session is packed away.
  const after = new Map((await facts(page)).map((fact) => [fact.id, fact]));
  ok(data.length > 0, "control: something was recorded");
  for (const fact of data) equal(after.get(fact.id), fact, "what was recorded is untouched");
  await site.stop();
  await page.reload();
  await started(page);
  equal(await buildOf(page), nameOf(next), "and it starts without a server");
  say(`${Object.keys(listOf()).length} files, ${data.length} entries; caches at the end: ${Object.keys(await cached(page)).join(", ")}`);
});

test("control: with nothing open a new build is found, offered, and taken by a press", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await keptOffline(await phone.page(site.url));
  await inCharge(page);
  const next = changed();
  site.deploy(next);
  equal(await page.evaluate(() => window.pinfold.update.check().then(() => navigator.serviceWorker.getRegistration()).then((r) => !!(r.installing || r.waiting))), true, "the app looks for it");
  await until("the offer", () => offer(page).isVisible());
  equal(await buildOf(page), nameOf(built), "not taken by itself");
  await press(page, "Take it now");
  await until("the new build to run", async () => (await buildOf(page)) === nameOf(next));
});

test("a build with a file missing, or one that is not its own, never installs; the same build whole does", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await keptOffline(await phone.page(site.url));
  await inCharge(page);
  const whole = changed();
  const missing = variant({ "notices.txt": null }, { from: whole, list: false });
  const wrong = variant({ "notices.txt": (text) => `${text}.` }, { from: whole, list: false });
  for (const [what, bad] of [["missing", missing], ["not its own", wrong]]) {
    site.deploy(bad);
    equal(await lookForNew(page), "redundant", `one file ${what}`);
    equal(await page.evaluate(() => window.pinfold.update.waiting), false, `${what}: nothing is offered`);
    ok(!(cacheOf(whole) in await cached(page)), `${what}: nothing of it is kept`);
    await site.stop();
    await page.reload();
    await started(page);
    equal(await buildOf(page), nameOf(built), `${what}: the old build goes on without a server`);
    await site.start();
  }
  site.deploy(whole);
  equal(await lookForNew(page), "installed", "control: the whole build");
});

test("kill-sw.js in the worker's place signs it off and keeps what was recorded", async (clean) => {
  const { site, page } = await withNeedlesIn(clean);
  await inCharge(page);
  const data = await kept(page);
  ok(Object.keys(data).length >= 3, "there is something recorded");
  ok(cacheOf() in await cached(page), "and something cached");
  const next = changed();
  site.deploy(next);
  fs.copyFileSync(path.join(next, "kill-sw.js"), path.join(site.www, "sw.js"));
  await lookForNew(page);
  await until("the worker to be gone", () => page.evaluate(async () => (await navigator.serviceWorker.getRegistrations()).length === 0 && (await caches.keys()).length === 0));
  equal(await kept(page), data, "the journal is untouched");
  await page.reload();
  await started(page);
  equal(await buildOf(page), nameOf(next), "the next load comes from the server");
  await findChair(page);
  equal(await sums(page), { inside: 3, out: 0, placed: 3 }, "the needles are counted on");
  // A good build deployed after it is kept again.
  site.deploy(next);
  await page.reload();
  await keptOffline(page);
  equal((await cached(page))[cacheOf(next)][`/notices.txt`], sha256(fs.readFileSync(path.join(next, "notices.txt"))), "a good build after it is kept");
});
