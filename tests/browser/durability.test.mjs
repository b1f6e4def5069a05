// What the browser promises for every transaction that keeps entries, and that one window writes.
import { equal, keptOffline, ok, say, setUp, started, test, until } from "./harness.mjs";
import { findChair, openChair, place, press, signSays, sums, takeOut, withNeedlesIn } from "./hand.mjs";

/** In the page, before the program: notes the promise of each transaction that writes. */
function notePromises() {
  const real = IDBDatabase.prototype.transaction;
  window.promises = [];
  IDBDatabase.prototype.transaction = function (...given) {
    const begun = real.apply(this, given);
    if (begun.mode === "readwrite") window.promises.push({ database: this.name, stores: [...begun.objectStoreNames], durability: begun.durability });
    return begun;
  };
}

test("every transaction that keeps entries is strict, as read back from the browser", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await phone.page();
  await page.addInitScript(notePromises);
  await page.goto(site.url);
  await keptOffline(page);
  await openChair(page);
  await place(page, { needles: 2 });
  await place(page);
  await takeOut(page, 2);
  await press(page, "Undo", { exact: true });
  await signSays(page, "saved");
  const all = await page.evaluate(() => window.promises);
  const entries = all.filter((one) => one.database === "pinfold" && one.stores.includes("rows"));
  ok(entries.length >= 5, `each press has one: ${entries.length}`);
  equal([...new Set(entries.map((one) => one.durability))], ["strict"], "the promise");
  // Control: the note tells a promise that is not strict.
  const other = await page.evaluate(() => new Promise((done) => {
    const open = indexedDB.open("other", 1);
    open.onupgradeneeded = () => open.result.createObjectStore("rows");
    open.onsuccess = () => { open.result.transaction("rows", "readwrite"); done(window.promises.at(-1).durability); };
  }));
  ok(other !== "strict", `control: a transaction begun without asking says "${other}"`);
  say(`${entries.length} transactions with entries, all strict; one begun without asking: ${other}`);
});

test("a second window says so, takes over, and the first lets go", async (clean) => {
  const { site, phone, page: first } = await withNeedlesIn(clean);
  const second = await started(await phone.page(site.url));
  const words = (page) => page.locator("main").innerText();
  await until("the second to say it", async () => (await words(second)).includes("Open in another window"));
  ok(!(await words(first)).includes("another window"), "control: the first does not");
  equal(await sums(first), { inside: 3, out: 0, placed: 3 }, "the first goes on");
  await press(second, "Take over here", { exact: true });
  await until("the first to say it", async () => (await words(first)).includes("Another window took over"));
  equal(await first.getByRole("button", { name: /^Placed/ }).count(), 0, "nothing can be pressed in the first");
  await findChair(second);
  equal(await sums(second), { inside: 3, out: 0, placed: 3 }, "the second has it all");
  await place(second);
  await signSays(second, "saved");
  // And back again.
  await first.bringToFront();
  await press(first, "Take over here", { exact: true });
  await findChair(first);
  equal(await sums(first), { inside: 4, out: 0, placed: 4 }, "back in the first");
  await until("the second to say it", async () => (await words(second)).includes("Another window took over"));
});
