// The browser killed by its process id at random moments, again and again on one profile: what was
// shown as saved must be there at the next start. Beside it in the same browser, and killed by the
// same blow, a page that keeps its presses in localStorage alone and calls them saved at once.
//
//   PINFOLD_KILLS=200 PINFOLD_SEED=7 node tests/browser/run.mjs killed
//
// A killed process is not a phone without power: what the browser has handed to the system survives
// here. For the disk itself there is only the promise that is read back in durability.test.mjs.
import fs from "node:fs";
import path from "node:path";
import { dice, equal, ok, say, setUp, Site, sleep, started, test, until } from "./harness.mjs";
import { findChair, go, kept, openChair, place, placing, press, seal, shelf, signSays, sums, takeOut, unlock } from "./hand.mjs";

const KILLS = Number(process.env.PINFOLD_KILLS || 20);
const SEED = Number(process.env.PINFOLD_SEED || Math.floor(Math.random() * 2 ** 32));
/** The longest a round is left to run, in milliseconds: at a hand's pace, and in a burst of presses. */
const LONGEST = { hand: 2600, burst: 500 };

/** In the page: presses faster than a hand can, so that the blow falls while writing is under way. */
async function burst() {
  for (let n = 0; ; n++) {
    const where = document.querySelector("select#where");
    where.selectedIndex = n % 8;
    where.dispatchEvent(new Event("change", { bubbles: true }));
    // A breath now and then, long enough for "saved" to be shown.
    await new Promise((next) => setTimeout(next, n % 5 === 4 ? 60 : 8));
    document.querySelector(".slab").click();
  }
}

/** In the page: tells of every picture in which the sums or the saved sign changed. */
function tellWhatIsShown() {
  let told = "";
  const look = () => {
    const figures = [...document.querySelectorAll(".count .num")].map((one) => Number(one.textContent));
    const sign = document.querySelector(".saved")?.textContent ?? "";
    if (figures.length !== 3) return;
    const [inside, out, placed] = figures;
    const now = JSON.stringify({ inside, out, placed, saved: /^\s*saved/.test(sign) });
    if (now !== told) console.debug(`shown ${(told = now)}`);
  };
  // At the picture and not at the change: between two changes stands what nobody sees.
  new MutationObserver(() => requestAnimationFrame(look)).observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
}

/** The control: the same promise made on a localStorage key per press. */
async function controlSite(clean) {
  const site = new Site({ policy: false });
  fs.writeFileSync(path.join(site.www, "index.html"), "<!doctype html><title>control</title>");
  await site.start();
  clean(() => site.process.end());
  return site;
}
const pressControl = (page) => page.evaluate(() => {
  localStorage.setItem(`press.${localStorage.length}`, "x".repeat(400));
  return localStorage.length;
});

for (const sealed of [false, true]) test(`killed ${KILLS} times${sealed ? ", sealed" : ""}: what was shown as saved is there again`, async (clean) => {
  say(`seed ${SEED}, ${KILLS} kills`);
  const random = dice(SEED);
  const { site, phone } = await setUp(clean);
  const control = await controlSite(clean);
  const total = { presses: 0, shown: 0, beyond: 0, unsaved: 0, controlPresses: 0, controlLost: 0, controlRounds: 0 };
  // Of the round before: what was last shown as saved, and the presses the control called saved.
  let [last, called] = [{ inside: 0, out: 0, placed: 0 }, 0];
  for (let round = 0; round <= KILLS; round++) {
    if (round > 0) await phone.on();
    const other = await phone.page(control.url);
    const left = await other.evaluate(() => localStorage.length);
    total.controlLost += Math.max(0, called - left);
    total.controlRounds += Number(left < called);
    called = left;

    const page = await phone.page();
    await page.addInitScript(tellWhatIsShown);
    await page.goto(site.url);
    await started(page);
    if (sealed && round === 0) await seal(page);
    else if (sealed) ok((await unlock(page)).opened, `round ${round}: it opens, seed ${SEED}`);
    await (round === 0 ? openChair(page) : findChair(page));
    // Without a chair that is kept there is nothing to come back to.
    if (round === 0) await until("the chair to be kept", async () => Object.keys(await kept(page)).length > 0);
    const back = await sums(page);
    ok(back.placed >= last.placed && back.out >= last.out && back.inside === back.placed - back.out,
      `round ${round}: shown as saved ${JSON.stringify(last)}, after the kill ${JSON.stringify(back)}, seed ${SEED}`);
    if (round > 0) total.beyond += back.placed + back.out - last.placed - last.out;
    if (round === KILLS) {
      await place(page);
      await signSays(page, "saved");
      say(`at the end ${JSON.stringify(await sums(page))}`);
      break;
    }

    let [saved, shown] = [back, back];
    page.on("console", (message) => {
      const text = message.text();
      if (!text.startsWith("shown ")) return;
      shown = JSON.parse(text.slice(6));
      if (shown.saved) saved = shown;
    });
    let alive = true;
    const way = round % 2 === 0 ? "hand" : "burst";
    if (way === "burst") await placing(page);
    called = await pressControl(other);
    total.controlPresses += 1;
    const killed = sleep(random() * LONGEST[way]).then(() => { alive = false; return phone.kill(); });
    while (alive) {
      try {
        if (way === "burst") await page.evaluate(burst);
        else if ((await sums(page)).inside > 2 && random() < 0.3) await takeOut(page);
        else await place(page, { region: Math.floor(random() * 8) });
        total.presses += 1;
        called = await pressControl(other);
        total.controlPresses += 1;
      } catch (error) {
        if (alive) throw error;
      }
    }
    await killed;
    total.shown += Number(saved !== back);
    total.unsaved += Number(!shown.saved && shown !== back);
    last = saved;
  }
  say(`${total.presses} presses at a hand's pace; ${total.shown} rounds showed something new as saved; ${total.unsaved} kills fell while the last press was not saved yet`);
  say(`lost of what was shown as saved: 0; come back beyond it: ${total.beyond}`);
  say(`control, localStorage alone: ${total.controlLost} of ${total.controlPresses} presses lost, in ${total.controlRounds} of ${KILLS} rounds`);
  ok(total.shown > 0, "something was shown as saved before a kill");
  ok(total.controlLost > 0, "control: a store on localStorage alone loses what it called saved");
}, { seconds: 60 + KILLS * 25 });

/** People in a file's worth: enough for a blow to fall while they are being written. */
const BROUGHT = 600;
/** A copy from another phone: so many people of one replica, by a name that no round has twice. */
function copyFrom(round) {
  const replica = (0xabc000 + round).toString(16).padStart(32, "0");
  const person = (n) => {
    const id = `${n + 1}-${replica}`;
    return { id, at: { wall: 1_790_000_000_000 + n * 60_000, mono: n * 60_000, zone: 60 }, stream: `p:${id}`, key: `p:${id}`, kind: "person.named", body: { name: `Lark ${round}.${n} (invented)` } };
  };
  const lines = [{ pinfold: "journal", format: 1 }, ...Array.from({ length: BROUGHT }, (_, n) => person(n))];
  return { replica, text: lines.map((line) => `${JSON.stringify(line)}\n`).join("") };
}

/** In the control's page: the same rows, each in a transaction of its own, as an import must not be. */
async function rowByRow(rows) {
  const db = await new Promise((done) => {
    const open = indexedDB.open("control", 1);
    open.onupgradeneeded = () => open.result.createObjectStore("rows");
    open.onsuccess = () => done(open.result);
  });
  for (const [key, text] of rows) {
    await new Promise((done) => {
      const writing = db.transaction("rows", "readwrite");
      writing.objectStore("rows").put(text, key);
      writing.oncomplete = done;
    });
  }
}
const rowsOfControl = (page) => page.evaluate(() => new Promise((done) => {
  const open = indexedDB.open("control", 1);
  open.onupgradeneeded = () => open.result.createObjectStore("rows");
  open.onsuccess = () => {
    const all = open.result.transaction("rows").objectStore("rows").getAllKeys();
    all.onsuccess = () => { open.result.close(); done(all.result); };
  };
}));

test(`killed ${KILLS} times during an import, sealed: all of it or nothing, and what was there stays`, async (clean) => {
  say(`seed ${SEED}, ${KILLS} kills`);
  const random = dice(SEED);
  const { site, phone } = await setUp(clean);
  const control = await controlSite(clean);
  const total = { whole: 0, none: 0, torn: 0 };
  // How many of a copy's facts are here, as rows or packed away; keys of people do not count.
  const all = async (from) => [...Object.keys(await kept(from)), ...Object.keys(await shelf(from, "packs"))].filter((key) => !key.startsWith("key."));
  const of = (keys, replica) => new Set(keys.map((key) => key.match(new RegExp(`(\\d+)-${replica}`))?.[1]).filter(Boolean).map(Number)).size;
  let page = await started(await phone.page(site.url));
  await seal(page);
  await openChair(page);
  await place(page, { needles: 3 });
  await signSays(page, "saved");
  // How long it takes when nothing happens: the blows fall within that.
  let longest = 0;
  const whole = new Map();
  for (let round = 0; round <= KILLS; round++) {
    const { replica, text } = copyFrom(round);
    await go(page, "/copies");
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), press(page, /^Bring a copy in/)]);
    await chooser.setFiles({ name: "other.txt", mimeType: "text/plain", buffer: Buffer.from(text) });
    await page.locator("h2").filter({ hasText: "What this copy is" }).waitFor();
    const other = await phone.page(control.url);
    await rowsOfControl(other);
    await page.bringToFront();
    await sleep(350); // A second press so soon is the same knuckle.
    const bring = page.getByRole("button", { name: "Bring it in" });
    const begun = Date.now();
    const pressed = bring.click().catch(() => {});
    const tearing = other.evaluate(rowByRow, text.trim().split("\n").slice(1).map((line, n) => [`${replica}.${n}`, line])).catch(() => {});
    if (round === 0) {
      await page.locator("h2").filter({ hasText: "What this copy is" }).waitFor({ state: "detached" });
      longest = Date.now() - begun;
      say(`${BROUGHT} people are brought in after ${longest} ms`);
    } else {
      // It takes longer with what earlier rounds brought.
      await sleep(random() * longest * 1.6);
    }
    await phone.kill();
    await Promise.all([pressed, tearing]);
    await phone.on();
    const torn = (await rowsOfControl(await phone.page(control.url))).filter((key) => key.startsWith(replica)).length;
    total.torn += Number(torn > 0 && torn < BROUGHT);
    page = await started(await phone.page(site.url));
    const keys = await all(page);
    const here = of(keys, replica);
    ok(here === 0 || here === BROUGHT, `round ${round}: ${here} rows of ${BROUGHT} people, seed ${SEED}`);
    for (const [before, rows] of whole) equal(of(keys, before), rows, `round ${round}: what an earlier copy brought, seed ${SEED}`);
    if (here > 0) whole.set(replica, here);
    total.whole += Number(here > 0);
    total.none += Number(here === 0);
    ok((await unlock(page)).opened, `round ${round}: it opens, seed ${SEED}`);
    await findChair(page);
    equal((await sums(page)).inside, 3, `round ${round}: the needles that are in, seed ${SEED}`);
  }
  await go(page, "/people");
  await until("the people", async () => (await page.locator("main").innerText()).includes("Lark 0."));
  say(`whole ${total.whole}, nothing ${total.none} of ${KILLS + 1}; the control, row by row, was torn in ${total.torn}`);
  ok(total.whole >= 1 && total.torn > 0, "control: rows that are written one by one are torn by the same blows");
}, { seconds: 90 + KILLS * 15 });

/** What a blow between the head and the text of a record leaves at the end of a log. */
function tearLog(phone, url) {
  const folder = path.join(phone.profile, "Default", "IndexedDB", `http_localhost_${new URL(url).port}.indexeddb.leveldb`);
  const log = fs.readdirSync(folder).find((name) => name.endsWith(".log"));
  const head = Buffer.alloc(7);
  head.writeUInt32LE(0x5eed5eed, 0);
  head.writeUInt16LE(427, 4);
  head[6] = 1;
  fs.appendFileSync(path.join(folder, log), head);
}

test("a log torn by a kill: the browser clears the database away, and the second copy is put in its place", async (clean) => {
  for (const copied of [false, true]) {
    const { site, phone } = await setUp(clean);
    const start = async () => {
      const page = await phone.page();
      // The control: a browser that has no buckets, and so no second copy.
      if (!copied) await page.addInitScript(() => Object.defineProperty(Navigator.prototype, "storageBuckets", { value: undefined }));
      await page.goto(site.url);
      return started(page);
    };
    let page = await start();
    await openChair(page);
    await place(page, { needles: 2 });
    await signSays(page, "saved");
    await until("it to be said that rows were kept", () => page.evaluate(() => localStorage.getItem("pinfold.kept") === "true"));
    await phone.off();
    tearLog(phone, site.url);
    await phone.on();
    page = await start();
    await findChair(page);
    equal((await sums(page)).inside, 2, "the first start after the blow reads everything");
    await place(page);
    await signSays(page, "saved");
    await phone.off();
    await phone.on();
    page = await start();
    await go(page, "/");
    if (copied) {
      await page.getByText("This browser had lost its store").waitFor();
      await findChair(page);
      equal(await sums(page), { inside: 3, out: 0, placed: 3 }, "put back, with what came after the blow");
      await place(page);
      await signSays(page, "saved");
    } else {
      await page.getByText("This browser has lost what was kept here").waitFor();
      equal(await page.locator("a[href^='#/chair/']").count(), 0, "control: without a second copy the chair is gone");
    }
    await phone.off();
  }
}, { seconds: 180 });

test("a second copy that cannot be read is not written over: nothing opens, and Reload puts it back", async (clean) => {
  for (const known of [false, true]) {
    const { site, phone } = await setUp(clean);
    let page = await started(await phone.page(site.url));
    await openChair(page);
    await place(page, { needles: 2 });
    await signSays(page, "saved");
    await until("the copy to hold all of it", () => page.evaluate(() => localStorage.getItem("pinfold.mirrored") === "true"));
    // The database is cleared away, and the copy does not open.
    await page.goto(new URL("manifest.webmanifest", site.url).href);
    await page.evaluate((forget) => new Promise((done) => {
      if (forget) localStorage.removeItem("pinfold.mirrored");
      indexedDB.deleteDatabase("pinfold").onsuccess = done;
    }), !known);
    await page.close();
    page = await phone.page();
    await page.addInitScript(() => {
      if (!sessionStorage.mended) StorageBucketManager.prototype.open = () => Promise.reject(new DOMException("no", "UnknownError"));
    });
    await page.goto(site.url);
    if (!known) {
      // Control: where nothing says that there is a copy, the same fault opens an empty practice.
      await started(page);
      equal(await page.locator("a[href^='#/chair/']").count(), 0, "control: the chair is not there");
      await phone.off();
      continue;
    }
    await page.locator("#broken").waitFor();
    await page.evaluate(() => { sessionStorage.mended = "yes"; });
    await page.reload();
    await started(page);
    await findChair(page);
    equal((await sums(page)).inside, 2, "put back");
    await phone.off();
  }
}, { seconds: 120 });
