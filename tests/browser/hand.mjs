// The hand at the chair: what every test of a session does, named once. A page may change its looks;
// then this file changes and the tests do not.
import { hold, keptOffline, setUp, sleep, tap, until } from "./harness.mjs";

/** A knuckle that lands twice within 300 ms counts once, so a hand waits a little longer. */
const PACE_MS = 320;

/** Presses the first button with this name that can be seen, with a finger. */
export async function press(page, name, { exact = false } = {}) {
  const button = page.getByRole("button", { name, exact }).filter({ visible: true }).first();
  await button.waitFor();
  await sleep(Math.max(0, (page.pressed ?? 0) + PACE_MS - Date.now()));
  await tap(page, button);
  page.pressed = Date.now();
}

/** Goes to a page of the app by its address after the #. */
export const go = (page, hash) => page.evaluate((to) => { location.hash = to; }, hash);

/** Opens a chair with no plan: two presses from Today. */
export async function openChair(page) {
  await go(page, "/count-only");
  await press(page, "Start", { exact: true });
  await page.waitForSelector(".count .now");
}

/** After a restart or a long absence a card lies over the chair: one press clears it. */
export async function clearCard(page) {
  // A busy machine draws it late, and what is tapped before that is on the card.
  const on = page.locator("dialog[open]").getByRole("button", { name: "Go on", exact: true });
  for (let n = 0; n < 8 && !(await on.count()); n += 1) await sleep(100);
  if (!(await on.count())) return;
  await on.click();
  await sleep(PACE_MS);
}

/** Back to the open chair from wherever a start leads. */
export async function findChair(page) {
  if (await page.locator(".count .now").count() === 0) {
    await go(page, "/");
    await page.locator("a[href^='#/chair/']").first().click();
  }
  await page.waitForSelector(".count .now");
  await clearCard(page);
}

/** Turns the chair to placing. */
export async function placing(page) {
  if (await page.locator("select#where").count() === 0) await press(page, "Placing", { exact: true });
  const seen = () => page.locator("main").innerText().catch(() => "nothing");
  await page.waitForSelector("select#where").catch(async (why) => { throw new Error(`no placing: ${why.message.split("\n")[0]}; the page says: ${(await seen()).slice(0, 600)}`); });
}

/** Places needles in a region (by its number in the list, else in the one that comes next). */
export async function place(page, { needles = 1, region } = {}) {
  await placing(page);
  if (region !== undefined) await page.locator("select#where").selectOption({ index: region });
  for (let n = 1; n < needles; n++) await press(page, "one more", { exact: true });
  const before = (await sums(page)).placed;
  await press(page, /^Placed \d/);
  await until("the needles to be counted", async () => (await sums(page)).placed > before);
}

/** Takes a region out: the one whose clock is next. Says the number twice if it is asked twice. */
export async function takeOut(page, needles = 1) {
  if (await page.locator("select#where").count() > 0) await press(page, "Taking out", { exact: true });
  await press(page, /^Take out /);
  await page.waitForSelector(".keys");
  while (await page.locator(".count .now").count() === 0) {
    await press(page, String(needles), { exact: true });
    await sleep(100);
  }
}

/** Takes out what is in, counts, and closes. */
export async function closeChair(page) {
  await findChair(page);
  while ((await sums(page)).inside > 0) {
    const clocks = (await sums(page)).inside;
    await takeOut(page, clocks);
  }
  const { placed } = await sums(page);
  await press(page, "Count", { exact: true });
  // One visit in ten asks for the whole tray, blind.
  await page.getByRole("group", { name: "Swept by hand" }).waitFor();
  await sleep(150);
  const question = page.locator(".question").filter({ visible: true });
  for (const [asked, n] of [["full tens", Math.floor(placed / 10)], ["and over", placed % 10]]) {
    if (!(await question.count()) || !(await question.innerText()).includes(asked)) continue;
    await press(page, String(n), { exact: true });
    await until("the next question", async () => !(await question.count()) || !(await question.innerText()).includes(asked));
  }
  for (const tick of await page.getByRole("group", { name: "Swept by hand" }).getByRole("button").all()) {
    await sleep(PACE_MS);
    await tap(page, tick);
  }
  await page.fill("#words", "counted by hand, nothing left");
  await hold(page, page.getByRole("button", { name: /^Close session/ }), 1500);
  await page.waitForFunction(() => !location.hash.startsWith("#/count/"));
  // For a moment after a held act no press counts: the finger that lifts must not press what came beneath.
  await sleep(700);
}

/** The sums the chair shows. */
export const sums = (page) => page.evaluate(() => {
  const [inside, out, placed] = [...document.querySelectorAll(".count .num")].map((one) => Number(one.textContent));
  return { inside, out, placed };
});

/** The saved sign: "saved", "saving" or "not saved". */
export const sign = (page) => page.evaluate(() => document.querySelector(".saved")?.textContent.trim().match(/not saved|saved|saving/)?.[0] ?? "none");
export const signSays = (page, word, ms) => until(`the sign to say "${word}"`, async () => (await sign(page)) === word, ms);

/** Every entry in the database, key to text. */
export const kept = (page, name = "pinfold") => page.evaluate((of) => new Promise((done, fail) => {
  const open = indexedDB.open(of);
  open.onerror = () => fail(open.error);
  open.onsuccess = () => {
    const rows = open.result.transaction("rows").objectStore("rows");
    const [keys, texts] = [rows.getAllKeys(), rows.getAll()];
    texts.onsuccess = () => { open.result.close(); done(Object.fromEntries(keys.result.map((key, at) => [key, texts.result[at]]))); };
    texts.onerror = () => fail(texts.error);
  };
}), name);

/** A phone that keeps the app offline, with a chair open and needles in two regions, all saved. */
export async function withNeedlesIn(clean, { needles = [2, 1], ...rest } = {}) {
  const { site, phone } = await setUp(clean, rest);
  const page = await keptOffline(await phone.page(site.url));
  await openChair(page);
  for (const n of needles) await place(page, { needles: n });
  await signSays(page, "saved");
  return { site, phone, page };
}

/** Takes the worker and its files off the phone: a phone that never had them. Data stays. */
export const dropWorker = (page) => page.evaluate(async () => {
  for (const one of await navigator.serviceWorker.getRegistrations()) await one.unregister();
  for (const name of await caches.keys()) await caches.delete(name);
});

/** The static page that shows when all else breaks: its cause, and what it lists. */
export async function broken(page, ms = 20000) {
  await page.waitForSelector("#broken", { state: "visible", timeout: ms });
  return page.evaluate(() => {
    const rows = (id) => [...document.querySelectorAll(`#${id} li`)].map((li) => [li.children[0].textContent, li.children[1].textContent]);
    const shown = (id) => !document.getElementById(id).hidden;
    return {
      kind: document.documentElement.getAttribute("data-broken"),
      strip: shown("broken-strip"), noStrip: shown("broken-no-strip"),
      total: Number(document.getElementById("broken-total").textContent), inside: rows("broken-in"), due: rows("broken-due"),
      appSeen: [...document.querySelectorAll("body > :not(#broken)")].some((one) => one.getClientRects().length > 0),
    };
  });
}

/** A passphrase for tests. Nobody may use it. */
export const PASSPHRASE = "a stile over the dry wall";

/** Sets a passphrase, through the pages; gives back the recovery code as it was shown. */
export async function seal(page, passphrase = PASSPHRASE) {
  await go(page, "/seal");
  await page.fill("#new", passphrase);
  await page.fill("#again", passphrase);
  await press(page, "Go on", { exact: true });
  const code = (await page.locator("b.code").innerText()).trim();
  await press(page, "It is on paper", { exact: true });
  const groups = code.split("-");
  await page.fill("#second-group", groups[1]);
  await page.fill("#last-group", groups.at(-1).toLowerCase());
  await press(page, "Seal this practice", { exact: true });
  await until("the practice to be sealed", async () => (await page.locator("main [role=status]").first().innerText()).startsWith("Sealed."), 60000);
  return code;
}

/** The locked page. */
export const locked = (page) => page.locator("h1").filter({ hasText: /^Locked$/ }).waitFor();

/** Types a passphrase and waits for what becomes of it: nothing if it opened, else the words. */
export async function unlock(page, passphrase = PASSPHRASE) {
  await locked(page);
  await page.fill("#passphrase", passphrase);
  await press(page, "Unlock", { exact: true });
  return until("the passphrase to be tried", () => page.evaluate(() => {
    if (!document.querySelector("#passphrase")) return { opened: true };
    const words = document.querySelector("#passphrase-wrong").innerText;
    return words ? { opened: false, words } : undefined;
  }), 60000);
}

/** Every row of a shelf, key to text, read past the app. */
export const shelf = (page, name, of = "pinfold") => page.evaluate(([of, name]) => new Promise((done, fail) => {
  const open = indexedDB.open(of);
  open.onerror = () => fail(open.error);
  open.onsuccess = () => {
    const rows = open.result.transaction(name).objectStore(name);
    const [keys, texts] = [rows.getAllKeys(), rows.getAll()];
    texts.onsuccess = () => { open.result.close(); done(Object.fromEntries(keys.result.map((key, at) => [key, texts.result[at]]))); };
    texts.onerror = () => fail(texts.error);
  };
}), [of, name]);

/** From now on the page's writing transactions over all of these shelves are taken back; none named: none is. */
export const refuse = (page, ...shelves) => page.evaluate((shelves) => {
  if (!window.givenTransaction) {
    window.givenTransaction = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (names, mode, options) {
      const begun = window.givenTransaction.call(this, names, mode, options);
      const all = window.refusedShelves;
      if (mode === "readwrite" && all.length > 0 && all.every((one) => [...names].includes(one))) {
        window.refusals = (window.refusals ?? 0) + 1;
        begun.abort();
      }
      return begun;
    };
  }
  window.refusedShelves = shelves;
}, shelves);
