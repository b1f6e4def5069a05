// What the phone does at the chair: a pedal, sound, the battery, two presses for a held one, clocks
// without seconds, and coming back to it.
import { equal, keptOffline, ok, setUp, sleep, started, test, until } from "./harness.mjs";
import { clearCard, findChair, go, openChair, place, press, sums } from "./hand.mjs";
import { alone, facts, saved, thrown } from "./visit.mjs";

/** A chair with `needles` in the first region of the list; the page holds what `before` fakes. */
async function chair(clean, needles, before) {
  const { site, phone } = await setUp(clean);
  await (await keptOffline(await phone.page(site.url))).close();
  const page = await phone.page();
  if (before) await page.addInitScript(before);
  await page.goto(site.url);
  await started(page);
  await openChair(page);
  if (needles) await place(page, { needles, region: 0 });
  return { page, site, phone };
}

const settings = async (page) => {
  await go(page, "/settings");
  await page.locator("#pedal").waitFor();
  await sleep(350);
};
const choose = async (page, group, text) => {
  await page.getByRole("group", { name: group, exact: true }).getByRole("button", { name: text, exact: true }).click();
  await saved(page);
};
const learn = async (page, key) => {
  await settings(page);
  await page.getByRole("button", { name: "Learn the pedal's key" }).click();
  await page.keyboard.press(key);
};
const learned = (page) => page.locator("#pedal").innerText();
/** One stroke, and the wait after which the next one counts. */
const stroke = async (page, key) => {
  await page.keyboard.press(key);
  await sleep(300);
};

test("a pedal: its key is learned, presses the slab, and nothing that is held, typed or under a sheet", async (clean) => {
  const { page } = await chair(clean, 2);
  const { placed } = await sums(page);
  await stroke(page, "b");
  equal((await sums(page)).placed, placed, "control: before it is learned the key does nothing");
  await learn(page, "Tab");
  await page.getByText("let the pedal send another key").waitFor();
  await page.keyboard.press("Escape");
  equal(await learned(page), "No key is learned.", "Esc leaves it as it was");
  await learn(page, "b");
  await until("the key's name", async () => (await learned(page)) === "b");
  await saved(page);
  equal((await facts(page)).filter((f) => f.kind === "practice.set").map((f) => [f.body.name, f.body.value]), [["pedal", "b"]], "what was written down");

  await findChair(page);
  await page.getByRole("button", { name: "Placing", exact: true }).click();
  const now = async (n, words) => until(`${words}: ${n} placed, not ${(await sums(page)).placed}`, async () => (await sums(page)).placed === n, 3000);
  await stroke(page, "x");
  await now(placed, "another key");
  await stroke(page, "b");
  await now(placed + 1, "the pedal");
  await page.keyboard.press("b");
  await page.keyboard.press("b");
  await sleep(300);
  await now(placed + 2, "two strokes of one foot");
  for (let n = 0; n < 6; n += 1) { await page.keyboard.down("b"); await sleep(70); }
  await page.keyboard.up("b");
  await sleep(300);
  await now(placed + 3, "held down");
  await press(page, "Something else", { exact: true });
  await stroke(page, "b");
  await now(placed + 3, "under a sheet");
  await page.locator("#lot").focus();
  await stroke(page, "b");
  equal(await page.locator("#lot").inputValue(), "b", "in a field it types");
  await now(placed + 3, "in a field");
  await page.keyboard.press("Escape");

  // A pedal that sends the space bar: it presses the slab and not what has the focus.
  await learn(page, "Space");
  await until("the key's name", async () => (await learned(page)) === "Space");
  await findChair(page);
  await page.getByRole("button", { name: "Placing", exact: true }).click();
  await page.getByRole("button", { name: "Undo", exact: true }).focus();
  await stroke(page, "Space");
  await now(placed + 4, "the slab, not Undo");
  await press(page, "Unwell", { exact: true });
  const hold = page.locator("dialog[open] .hold");
  await hold.focus();
  await stroke(page, "Space");
  equal(await hold.evaluate((e) => e.className.includes("armed")), false, "a held act is never the pedal's");
  await stroke(page, "Enter");
  equal(await hold.evaluate((e) => e.className.includes("armed")), true, "control: another key arms it");
  await page.keyboard.press("Escape");
  await page.locator("dialog[open]").getByRole("button", { name: "Back" }).click();

  // Taking out: it opens the region; by region it does nothing, one by one it takes out the next.
  await page.getByRole("button", { name: "Taking out", exact: true }).click();
  await stroke(page, "Space");
  await page.waitForSelector(".keys");
  const out = async () => (await facts(page)).filter((f) => f.kind.startsWith("needle.") && f.kind !== "needle.placed").length;
  await stroke(page, "Space");
  equal(await out(), 0, "by region the pedal does nothing");
  await press(page, "One by one", { exact: true });
  await stroke(page, "Space");
  await page.getByText("1 counted out here").waitFor();
  await go(page, "/settings");
  await page.getByRole("button", { name: "Forget this key" }).click();
  await until("no key", async () => (await learned(page)) === "No key is learned.");
  equal(thrown(page), [], "nothing was thrown");
}, { seconds: 180 });

test("a whole session by the pedal's key: twelve needles in by region and out one by one, counted and closed", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await learn(page, "b");
  await until("the key's name", async () => (await learned(page)) === "b");
  await choose(page, "Taking out", "one by one");
  await go(page, "/");
  await visit.meet("Pipit Wold (invented)", "1979-03-08");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.plan("Short first visit");
  await visit.sit();
  await visit.press("Strips opened, as planned");
  const slab = page.locator(".slab").first();
  let strokes = 0;
  // Never waits for what the other page has.
  const shows = async () => JSON.stringify([page.url(), await page.locator(".count .now, .slab").allInnerTexts()]);
  const by = async (what) => {
    const before = await shows();
    await stroke(page, "b");
    strokes += 1;
    await until(what, async () => (await shows()) !== before, 5000);
  };
  while ((await slab.innerText()).startsWith("Placed")) await by("a region to be in");
  equal(await visit.inside(), 12, "all are in by the pedal");
  const allOut = async () => page.url().includes("/chair/") && (await page.locator(".count .now").allInnerTexts())[0] === "0";
  for (let n = 0; n < 40 && !(await allOut()); n += 1) await by("a needle to be out, or its region to open");
  equal(await visit.inside(), 0, "and out");
  const here = await facts(page);
  const out = here.filter((fact) => fact.kind === "needle.out").flatMap((fact) => fact.body.needles);
  equal(out.map((span) => span.to - span.from + 1), Array.from({ length: 12 }, () => 1), "each by a stroke of its own");
  await visit.count();
  await visit.close();
  ok(strokes >= 13, `strokes: ${strokes}`);
  equal(thrown(page), [], "nothing was thrown");
}, { seconds: 180 });

/** In the page: a clock that can be moved, an ear, and a page that can go out of sight. */
function fakes() {
  window.shift = 0;
  window.tones = 0;
  window.shakes = 0;
  const real = Date.now.bind(Date);
  Date.now = () => real() + window.shift;
  const node = () => ({ connect() {}, frequency: {}, gain: { setValueAtTime() {}, linearRampToValueAtTime() {} }, start() { window.tones += 1; }, stop() {} });
  window.AudioContext = class {
    constructor() { this.state = "suspended"; this.currentTime = 0; this.destination = {}; }
    resume() { this.state = "running"; return Promise.resolve(); }
    createOscillator() { return node(); }
    createGain() { return node(); }
  };
  navigator.vibrate = () => { window.shakes += 1; return true; };
  let shown = "visible";
  Object.defineProperty(document, "visibilityState", { get: () => shown });
  window.see = (what) => { shown = what; document.dispatchEvent(new Event("visibilitychange")); };
}
/** The phone lies dark for so many minutes. */
const asleep = async (page, minutes) => {
  await page.evaluate((ms) => { window.see("hidden"); window.shift += ms; window.see("visible"); }, minutes * 60000);
  await sleep(250);
};

test("back at the chair: a line, a card, one tone for all that fell due; off until it is chosen", async (clean) => {
  const { page } = await chair(clean, 3, fakes);
  await place(page, { needles: 2, region: 3 });
  const card = page.locator("dialog[open]");
  const heard = () => page.evaluate(() => [window.tones, window.shakes]);
  await asleep(page, 0);
  equal(await card.count(), 0, "control: no absence, no card");
  await asleep(page, 21);
  await card.getByText("Away 21 min. You were at the chair.").waitFor();
  const text = await card.innerText();
  ok(/in now: .* 3, .* 2\./.test(text) && /Due now: .*1 min over/.test(text) && /Next: Take out/.test(text), text);
  equal(await heard(), [0, 0], "control: sound is off until it is chosen");
  await clearCard(page);
  equal(await card.count(), 0, "one press clears it");
  await asleep(page, 0.2);
  await page.getByText("Away 12 s.").waitFor();
  equal(await card.count(), 0, "a short absence is a line");
  await page.getByRole("button", { name: "Seen", exact: true }).filter({ visible: true }).click();

  await settings(page);
  await choose(page, "Sound when a clock is due", "soft");
  await choose(page, "Vibration when a clock is due", "on");
  await page.getByRole("button", { name: "Try it" }).click();
  await until("the tone that is tried", async () => (await heard())[0] === 1);
  await findChair(page);
  await asleep(page, 0);
  equal(await heard(), [1, 1], "what was due before is not heard again");
  await asleep(page, 3);
  equal(await heard(), [2, 2], "three minutes over: one tone for both regions");
  await clearCard(page);
  await asleep(page, 0);
  equal(await heard(), [2, 2], "and no more");

  // Out of a region the card tells every number but the one that is asked for.
  await press(page, "Taking out", { exact: true });
  await press(page, /^Take out /);
  await page.waitForSelector(".keys");
  await asleep(page, 1);
  await card.getByText("not counted yet").first().waitFor();
  const asked = (await card.innerText()).match(/in now: (.*)\./)[1];
  ok(/not counted yet/.test(asked) && /2$/.test(asked) && !/3/.test(asked), asked);
  await clearCard(page);
  // The clock is moved back while the page is in sight.
  await page.evaluate(() => { window.shift -= 5 * 60000; });
  await page.getByText("was moved 4 min back").or(page.getByText("was moved 5 min back")).first().waitFor();
  equal(thrown(page), [], "nothing was thrown");
}, { seconds: 180 });

test("a restart with a chair open is a card on every page of the chair, and a new chair has none", async (clean) => {
  const { page } = await chair(clean, 3);
  const card = page.locator("dialog[open]");
  equal(await card.count(), 0, "control: a chair opened in this run has no card");
  await saved(page);
  const session = (await page.evaluate(() => location.hash)).split("/")[2];
  for (const where of ["chair", "count"]) {
    await go(page, `/${where}/${session}`);
    await page.reload();
    await started(page);
    await card.getByText("Started again.").waitFor();
    equal(/in now: .*3/.test(await card.innerText()), where === "chair", "the count is told no number");
  }
  await clearCard(page);
  equal(await card.count(), 0, "one press clears it");
  equal(thrown(page), [], "nothing was thrown");
});

test("a low battery is said above the counts, which do not move; two presses for a held one; whole minutes", async (clean) => {
  const { page } = await chair(clean, 3, () => {
    window.battery = Object.assign(new EventTarget(), { level: 0.5, charging: false });
    navigator.getBattery = () => Promise.resolve(window.battery);
  });
  const line = page.locator("p.phone");
  const top = () => page.locator(".count").evaluate((e) => e.getBoundingClientRect().top);
  await sleep(300);
  const before = await top();
  ok(!(await line.innerText()).includes("Battery"), "control: half full is not said");
  ok(/screen/.test(await line.innerText()), `what the screen does is said: ${await line.innerText()}`);
  const set = (state) => page.evaluate((s) => { Object.assign(window.battery, s); for (const kind of ["levelchange", "chargingchange"]) window.battery.dispatchEvent(new Event(kind)); }, state);
  await set({ level: 0.14 });
  await page.getByText("Battery 14 %: plug in").waitFor();
  equal(await top(), before, "the counts have not moved");
  ok(await line.evaluate((e) => e.getBoundingClientRect().bottom <= document.querySelector(".count").getBoundingClientRect().top), "it stands above them");
  await set({ charging: true });
  await until("nothing said while charging", async () => !(await line.innerText()).includes("Battery"));

  const armed = async () => {
    await press(page, "Unwell", { exact: true });
    const hold = page.locator("dialog[open] .hold");
    await hold.click();
    await sleep(100);
    const is = await hold.evaluate((e) => e.className.includes("armed"));
    await sleep(350);
    await page.locator("dialog[open]").getByRole("button", { name: "Back" }).click();
    await sleep(350);
    return is;
  };
  equal(await armed(), false, "control: a touch alone arms nothing");
  await press(page, "Taking out", { exact: true });
  ok(/\d+:\d\d/.test(await page.locator(".call .clock").innerText()), "control: minutes and seconds");
  await settings(page);
  await choose(page, "Where a press is held down", "press twice");
  await choose(page, "Clock figures", "whole minutes only");
  await choose(page, "Taking out", "one by one");
  await findChair(page);
  equal(await armed(), true, "where two presses are the rule, one arms");
  await press(page, "Taking out", { exact: true });
  const figure = (await page.locator(".call .clock").innerText()).replace(/\s+/g, " ");
  ok(/\b(19|20) min/.test(figure) && !figure.includes(":"), figure);
  await press(page, /^Take out /);
  await page.getByRole("button", { name: /^Took out/ }).waitFor();
  equal(thrown(page), [], "nothing was thrown");
});

test("a browser without sound or vibration says so", async (clean) => {
  const { page } = await chair(clean, 0, () => {
    delete window.AudioContext;
    delete window.webkitAudioContext;
    delete Navigator.prototype.vibrate;
  });
  await settings(page);
  await page.getByText("No sound in this browser.").waitFor();
  await page.getByText("No vibration in this browser.").waitFor();
  equal(thrown(page), [], "nothing was thrown");
});
