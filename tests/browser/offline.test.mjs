// A phone that is switched on where there is no internet, with the server gone before the browser starts.
import { equal, fails, keptOffline, ok, say, setUp, started, test } from "./harness.mjs";
import { dropWorker, kept, openChair, place, signSays, sums, takeOut } from "./hand.mjs";

/** A phone that had the app, was switched off, and whose server is gone for good. */
async function coldPhone(clean, before = async () => {}) {
  const { site, phone } = await setUp(clean);
  await before(await keptOffline(await phone.page(site.url)));
  await phone.off();
  await site.stop();
  await phone.on();
  return { site, phone };
}

test("a cold start without a server opens, and a needle is counted and kept", async (clean) => {
  const { site, phone } = await coldPhone(clean);
  const from = Date.now();
  const page = await started(await phone.page(site.url));
  say(`opened ${Date.now() - from} ms after the address was given, server stopped before the browser started`);
  await openChair(page);
  await place(page, { needles: 2 });
  equal(await sums(page), { inside: 2, out: 0, placed: 2 }, "two in");
  await takeOut(page, 2);
  equal(await sums(page), { inside: 0, out: 2, placed: 2 }, "two out");
  await signSays(page, "saved");
  ok(Object.keys(await kept(page)).length >= 3, "the entries are in the database");
  equal(page.said.filter((line) => line.startsWith("thrown")), [], "nothing was thrown");
});

test("control: without the worker a cold start without a server fails", async (clean) => {
  const { site, phone } = await coldPhone(clean, dropWorker);
  const why = await fails("the start", () => phone.page(site.url));
  ok(/ERR_CONNECTION_REFUSED/.test(why.message), `it fails for want of a server: ${why.message}`);
});
