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
import { dice, ok, say, setUp, Site, sleep, started, test, until } from "./harness.mjs";
import { findChair, kept, openChair, place, placing, seal, signSays, sums, takeOut, unlock } from "./hand.mjs";

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

for (const [sealed, kills] of [[false, KILLS], [true, Math.ceil(KILLS / 2)]]) test(`killed ${kills} times${sealed ? ", sealed" : ""}: what was shown as saved is there again`, async (clean) => {
  say(`seed ${SEED}, ${kills} kills`);
  const random = dice(SEED);
  const { site, phone } = await setUp(clean);
  const control = await controlSite(clean);
  const total = { presses: 0, shown: 0, beyond: 0, unsaved: 0, controlPresses: 0, controlLost: 0, controlRounds: 0 };
  // Of the round before: what was last shown as saved, and the presses the control called saved.
  let [last, called] = [{ inside: 0, out: 0, placed: 0 }, 0];
  for (let round = 0; round <= kills; round++) {
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
    if (round === kills) {
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
  say(`control, localStorage alone: ${total.controlLost} of ${total.controlPresses} presses lost, in ${total.controlRounds} of ${kills} rounds`);
  ok(total.shown > 0, "something was shown as saved before a kill");
  ok(total.controlLost > 0, "control: a store on localStorage alone loses what it called saved");
}, { seconds: 60 + kills * 25 });
