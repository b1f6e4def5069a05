// A phone with no room left. The quota is overridden through the debugger: the browser then refuses
// the database's transactions as it does on a full disk.
import { equal, limitStorage, ok, say, sleep, started, test } from "./harness.mjs";
import { findChair, kept, place, press, sign, signSays, sums, withNeedlesIn } from "./hand.mjs";

const tail = (page) => page.evaluate(() => Object.keys(localStorage).filter((name) => name.startsWith("pinfold.tail.")).map((name) => name.slice("pinfold.tail.".length)));

/** A phone with needles in that was switched off and on, and has found itself full. */
async function fullPhone(clean) {
  const { site, phone } = await withNeedlesIn(clean);
  await phone.off();
  await phone.on();
  const page = await phone.page();
  await limitStorage(page, site.url, 1);
  await page.goto(site.url);
  await findChair(await started(page));
  return { site, phone, page };
}
const fromKey = (keys, text) => keys.filter((key) => text[key] !== undefined);

test("control: with room left a press is saved", async (clean) => {
  const { site, page } = await fullPhone(clean);
  await limitStorage(page, site.url);
  await place(page);
  await signSays(page, "saved", 2000);
  equal(await tail(page), [], "nothing waits");
});

for (const way of ["by itself", "by Save again"]) {
  test(`a full phone: not saved, counted all the same, and saved ${way} under the same keys`, async (clean) => {
    const { site, phone, page } = await fullPhone(clean);
    const before = Object.keys(await kept(page));
    await place(page, { needles: 2 });
    await signSays(page, "not saved");
    await page.getByRole("button", { name: "Save again" }).waitFor();
    equal(await sums(page), { inside: 5, out: 0, placed: 5 }, "counted all the same");
    await place(page);
    equal(await sums(page), { inside: 6, out: 0, placed: 6 }, "and so is the next");
    const waiting = await tail(page);
    ok(waiting.length >= 2, `what is not saved lies in the tail: ${waiting}`);
    equal(fromKey(waiting, await kept(page)), [], "control: none of it is in the database");
    if (way === "by Save again") {
      // So often refused that the next try of its own is far away.
      await sleep(4000);
      await press(page, "Save again", { exact: true });
      await sleep(300);
      equal(await sign(page), "not saved", "Save again with no room is refused too");
    }
    await limitStorage(page, site.url);
    const from = Date.now();
    if (way === "by Save again") await press(page, "Save again", { exact: true });
    await signSays(page, "saved", way === "by itself" ? 35000 : 1500);
    const took = Date.now() - from;
    const now = await kept(page);
    equal(Object.keys(now).sort(), [...before, ...waiting].sort(), "the same keys, each once");
    equal(await tail(page), [], "nothing waits any more");
    await phone.kill();
    await phone.on();
    const again = await started(await phone.page(site.url));
    await findChair(again);
    equal(await sums(again), { inside: 6, out: 0, placed: 6 }, "after a kill");
    say(`${waiting.length} entries waited; saved ${way} ${took} ms after there was room`);
  });
}

/** In the page: counts the pictures that say "saved" while something still waits in the tail. */
function noteFalseWords() {
  window.falselySaved = 0;
  const look = () => {
    const waits = Object.keys(localStorage).some((name) => name.startsWith("pinfold.tail."));
    if (waits && /^\s*saved/.test(document.querySelector(".saved")?.textContent ?? "")) window.falselySaved += 1;
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

test("a full phone, killed before there is room: what the tail had time to keep comes back, and is not called saved", async (clean) => {
  const { site, phone, page } = await fullPhone(clean);
  await place(page, { needles: 2 });
  await signSays(page, "not saved");
  // The browser writes the tail down when it sees fit, within some seconds: it is no promise.
  await sleep(8000);
  await phone.kill();
  await phone.on();
  const again = await phone.page();
  await again.addInitScript(noteFalseWords);
  await limitStorage(again, site.url, 1);
  await again.goto(site.url);
  await findChair(await started(again));
  equal(await sums(again), { inside: 5, out: 0, placed: 5 }, "from the tail");
  await signSays(again, "not saved");
  equal(await again.evaluate(() => window.falselySaved), 0, 'pictures that said "saved" while something waited');
  await limitStorage(again, site.url);
  await signSays(again, "saved");
  equal(await tail(again), [], "and saved now");
});
