// The chair as it is read, pressed and left lying: figures at 80 cm, sizes of what is pressed, what a
// tap changes, what it costs to wait, what it keeps in memory, and what is true after an absence.
//
// The figures are those of the project's own notes on looks, each with its sources there: 1 CSS px is
// 0.166 mm on a 6.1 in phone 390 px wide; text that matters fills 20 minutes of arc at 80 cm and never
// under 16; 48 px is the least target, 64 px at the chair, 120 px for the press repeated per needle.
import { equal, keptOffline, ok, say, setUp, sleep, started, test, until } from "./harness.mjs";
import { facts, saved, thrown, Touch, Visit } from "./visit.mjs";
import { go, kept, openChair, signSays, sums } from "./hand.mjs";

// --- the ways a phone shows a page ---------------------------------------------------------------

/** Widths and heights of small and usual phones, CSS px. */
const SIZES = [[390, 844], [360, 780], [320, 640]];

/** `act` on the page at each size, at usual and doubled text, in both directions. */
async function eachWay(page, act) {
  const frame = () => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  for (const percent of [100, 200]) {
    await page.cdp.send("Page.setFontSizes", { fontSizes: { standard: 16 * percent / 100, fixed: 13 * percent / 100 } });
    for (const [width, height] of SIZES) {
      await page.cdp.send("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: 2, mobile: true });
      for (const dir of ["ltr", "rtl"]) {
        await page.evaluate((to) => { document.documentElement.dir = to; }, dir);
        await frame();
        await act(`${width} px, ${percent} % text, ${dir}`, { width, percent, dir });
      }
    }
  }
  await page.cdp.send("Page.setFontSizes", { fontSizes: { standard: 16, fixed: 13 } });
  await page.cdp.send("Emulation.setDeviceMetricsOverride", { width: 390, height: 844, deviceScaleFactor: 2, mobile: true });
  await page.evaluate(() => document.documentElement.removeAttribute("dir"));
  await frame();
}

/** By how much the page, or the sheet over it, is wider than the phone. */
const sideways = (page, width) => page.evaluate((wide) => {
  const sheet = document.querySelector("dialog[open]");
  return Math.max(document.documentElement.scrollWidth - wide, sheet ? sheet.scrollWidth - sheet.clientWidth : 0);
}, width);

/** A style that an injected fault or a control needs, past the page's policy; gives back its end. */
async function styled(page, css) {
  const sheet = await page.evaluateHandle((text) => {
    const one = new CSSStyleSheet();
    one.replaceSync(text);
    document.adoptedStyleSheets.push(one);
    return one;
  }, css);
  return () => sheet.evaluate((one) => { document.adoptedStyleSheets = document.adoptedStyleSheets.filter((other) => other !== one); });
}

// --- a hand that knows names only ----------------------------------------------------------------

/** Presses by role and name, as a screen reader or a switch does: a click without a pointer or a place. */
class Names {
  constructor(page) { this.page = page; }
  the(role, name) { return this.page.getByRole(role, { name, exact: typeof name === "string" }).first(); }
  async press(name, role = "button") {
    const target = this.the(role, name);
    await target.waitFor({ timeout: 10000 });
    await target.evaluate((element) => element.click());
  }
  async choose(name, at) { await this.the("combobox", name).selectOption({ index: at }); }
  /** Opens a chair without a plan, from Today. */
  async open() {
    await this.press("Today", "link");
    await this.press(/^Count only/);
    await this.press("Start");
    await this.the("region", "Needles").waitFor();
  }
  async packet(held) {
    await this.press("Something else");
    // Several counters of the sheet have presses of this name; that of the packet is the last.
    const more = this.the("dialog", "Something else").getByRole("button", { name: "one more" }).last();
    for (let n = 10; n < held; n += 1) await more.evaluate((element) => element.click());
    await this.press("Packet opened");
  }
  async placing() { await this.press("Placing"); await this.the("combobox", "Where").waitFor(); }
  async place(region, needles) {
    await this.choose("Where", region);
    for (let n = 1; n < needles; n += 1) await this.press("one more");
    const before = await sums(this.page);
    await this.press(new RegExp(`^Placed ${needles}, `));
    await until("the needles to be counted", async () => (await sums(this.page)).placed === before.placed + needles);
  }
  async takeOut(needles) {
    await this.press(/^Take out /);
    await this.the("heading", /how many/).waitFor();
    await this.press(String(needles));
    await this.the("region", "Needles").waitFor();
  }
  /** Counts what is left of one packet, and the tray where it is asked for, sweeps, closes by the two-press road. */
  async close(left, used) {
    await this.press("Count");
    await this.the("heading", "Count").waitFor();
    const asked = () => this.page.locator(".question").filter({ visible: true }).allInnerTexts().then((all) => all.join());
    const strips = await asked();
    await this.press(String(left));
    await until("the strips to be counted", async () => (await asked()) !== strips);
    // In some visits the whole tray is counted, blind.
    if (/full tens/.test(await asked())) {
      await this.press(String(Math.floor(used / 10)));
      await until("what is over to be asked", async () => /and over/.test(await asked()));
      await this.press(String(used % 10));
    }
    for (const name of await this.the("group", "Swept by hand").getByRole("button").allInnerTexts()) await this.press(name.trim());
    const end = /^Close session/;
    await this.page.getByText("adds up").waitFor({ timeout: 10000 });
    await this.press(end);
    await this.page.getByText(/Press again/).waitFor();
    await sleep(700);
    await this.the("button", /^(Close session|Press again)/).evaluate((element) => element.click());
    await until("the session to be closed", () => this.page.evaluate(() => !location.hash.startsWith("#/count/")));
  }
}

/** A clock that can be moved on: `forward(ms)` both clocks, or the wall clock alone as while a phone sleeps. */
const movable = (page) => page.addInitScript(() => {
  const [wall, steady, Real] = [Date.now.bind(Date), performance.now.bind(performance), Date];
  const by = { wall: 0, mono: 0 };
  window.forward = (ms, slept = false) => { by.wall += ms; if (!slept) by.mono += ms; };
  performance.now = () => steady() + by.mono;
  window.Date = class extends Real {
    constructor(...args) { if (args.length) super(...args); else super(wall() + by.wall); }
    static now() { return wall() + by.wall; }
  };
});

/** A phone with the app on it, and a hand that knows names; `before` runs on the page before the app. */
async function phoneWith(clean, before = async () => {}) {
  const { site, phone } = await setUp(clean);
  const page = await phone.page();
  await before(page);
  await page.goto(site.url);
  await keptOffline(page);
  return { site, phone, page, names: new Names(page) };
}

/** Seventy needles in six regions, six clocks, all saved. */
const SEVENTY = [12, 12, 12, 12, 11, 11];
async function seventy(page, names) {
  await openChair(page);
  for (const [at, n] of SEVENTY.entries()) await names.place(at, n);
  equal(await sums(page), { inside: 70, out: 0, placed: 70 }, "needles in");
  await names.press("Taking out");
  await signSays(page, "saved");
}

// --- read at 80 cm ---------------------------------------------------------------------------------

const MM_PER_PX = 0.166;
const CAPITAL = 0.711; // capital height in em

/** What is read from the chair, and the least minutes of arc it may fill at 80 cm. */
const CHAIR_FIGURES = [
  ["in now", ".count .now", 20], ["out", ".count dd.out", 20], ["placed in all", ".count dl div:last-child dd", 20],
  ["the next clock", ".call .clock bdi", 20], ["whose clock it is", ".call h2", 20], ["the slab", ".slab > span", 16],
  // Read in the hand: the notes set waiting clocks in the size of row titles, 10.2 minutes of arc.
  ["a waiting clock", ".waiting li:not(.rest) b", 10],
];
const REGION_FIGURES = [["what is asked", ".question", 16], ["the region that is asked", ".question small", 16], ["a number key", ".keys:not(.pad) .press:not(.word)", 16]];
const ONE_FIGURES = [["the repeated press", ".slab.again > span", 16]];

/** The figures that are too small, are not there, or do not fit across the phone. */
async function tooSmall(page, figures, width) {
  const seen = await page.evaluate(([list, wide]) => list.map(([, selector]) => {
    const element = [...document.querySelectorAll(selector)].find((one) => one.checkVisibility() && one.getClientRects().length > 0);
    if (!element) return undefined;
    const style = getComputedStyle(element);
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const box = element.getBoundingClientRect();
    return { px: parseFloat(style.fontSize), capital: pen.measureText("H").actualBoundingBoxAscent, inside: box.left >= -0.5 && box.right <= wide + 0.5 };
  }), [figures, width]);
  return figures.map(([name, , least], at) => {
    const one = seen[at];
    if (!one) return { name, arcmin: 0, fault: `${name} is not there` };
    // The smaller of the font's own capital and the notes' figure, so that another font changes nothing.
    const mm = MM_PER_PX * Math.min(one.capital, one.px * CAPITAL);
    const arcmin = Math.atan(mm / 800) * (180 / Math.PI) * 60;
    const fault = !one.inside ? `${name} does not fit across` : arcmin < least ? `${name}: ${arcmin.toFixed(1)} minutes of arc, at least ${least}` : undefined;
    return { name, arcmin, px: one.px, fault };
  });
}

test("what matters at the chair is readable at 80 cm, at any width, text size and direction", async (clean) => {
  const { page, names } = await phoneWith(clean);
  await seventy(page, names);
  await page.emulateMedia({ reducedMotion: "reduce" });
  const faults = [];
  const least = new Map();
  const look = async (figures) => eachWay(page, async (way, { width }) => {
    for (const one of await tooSmall(page, figures, width)) {
      if (one.fault) faults.push(`${way}: ${one.fault}`);
      if (one.arcmin < (least.get(one.name)?.arcmin ?? Infinity)) least.set(one.name, one);
    }
    const over = await sideways(page, width);
    if (over > 0) faults.push(`${way}: ${over} px sideways`);
  });
  await look(CHAIR_FIGURES);
  await names.press(/^Take out /);
  await names.the("heading", /how many/).waitFor();
  await look(REGION_FIGURES);
  await names.press("One by one");
  await look(ONE_FIGURES);
  await names.press("Leave it open");
  await page.waitForSelector(".count .now");
  say([...least].map(([name, one]) => `${name} ${one.arcmin.toFixed(1)}'`).join(", "));
  // Controls: a figure of 12 px and a line that is too wide are found.
  const end = await styled(page, ".count dd.out { font-size: 12px !important; } .sum { inline-size: 500px; }");
  const found = (await tooSmall(page, CHAIR_FIGURES, 390)).filter((one) => one.fault).map((one) => one.name);
  equal(found, ["out"], "control: 12 px is too small");
  ok(await sideways(page, 390) > 0, "control: a line of 500 px scrolls sideways");
  await end();
  equal(faults, [], "faults");
}, { seconds: 240 });

/** The counts that go over more than one line, out of the page, or over one another. */
const brokenCounts = (page) => page.evaluate(() => {
  const all = [...document.querySelectorAll(".count .num, .count dt")];
  const boxes = all.map((one) => {
    const range = document.createRange();
    range.selectNodeContents(one);
    const { left, right, top, bottom } = range.getBoundingClientRect();
    // Figures are no higher than capitals: three quarters of the size, about the middle.
    const half = parseFloat(getComputedStyle(one).fontSize) * 0.37;
    const middle = (top + bottom) / 2;
    const lines = new Set([...range.getClientRects()].map((line) => Math.round(line.top))).size;
    return { text: one.textContent, lines, left, right, top: middle - half, bottom: middle + half };
  });
  const over = (a, b) => a !== b && a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom && b.top < a.bottom;
  return boxes.filter((one) => (one.lines !== 1 && /^\d+$/.test(one.text)) || one.left < 0 || one.right > innerWidth || boxes.some((other) => over(one, other))).map((one) => one.text);
});

test("a hundred needles and more are one number in one line", async (clean) => {
  const { page } = await phoneWith(clean);
  await go(page, "/count-only");
  await page.getByRole("button", { name: "Start", exact: true }).click();
  await page.waitForSelector("select#where");
  await page.evaluate(async () => {
    const where = document.querySelector("select#where");
    for (let n = 0; n < 124; n += 1) {
      where.selectedIndex = n % 8;
      where.dispatchEvent(new Event("change", { bubbles: true }));
      await new Promise((next) => setTimeout(next, 15));
      document.querySelector(".slab").click();
    }
  });
  await until("all of them", async () => (await sums(page)).placed === 124);
  const faults = [];
  await eachWay(page, async (way) => { for (const text of await brokenCounts(page)) faults.push(`${way}: ${text}`); });
  const end = await styled(page, ".count .num { white-space: normal !important; overflow-wrap: anywhere; inline-size: 1.3ch; }");
  ok((await brokenCounts(page)).length > 0, "control: a number in two lines is found");
  await end();
  equal(faults, [], "faults");
}, { seconds: 120 });

// --- what is pressed -------------------------------------------------------------------------------

/** What can be pressed and is smaller than `least` in its smaller side; the repeated press has its own. */
const tooNarrow = (page, least) => page.evaluate((most) => {
  const sheet = document.querySelector("dialog[open]");
  const all = [...(sheet ?? document).querySelectorAll("button, a[href], input, select, textarea, summary, [role=button], [tabindex='0']")];
  const shown = all.filter((one) => one.checkVisibility({ visibilityProperty: true }) && one.getClientRects().length > 0 && !one.closest("#broken"));
  const faults = shown.flatMap((one) => {
    const { width, height } = one.getBoundingClientRect();
    const wanted = one.matches(".slab.again") ? 120 : most;
    const name = `${one.localName}${one.id ? `#${one.id}` : ""}${[...one.classList].map((c) => `.${c}`).join("")} "${one.innerText.trim().replace(/\s+/g, " ").slice(0, 24)}"`;
    return Math.min(width, height) < wanted - 0.5 ? [`${name} ${Math.round(width)} x ${Math.round(height)}, at least ${wanted}`] : [];
  });
  return { faults, seen: shown.length };
}, least);

/** A button of 40 px, and its end. */
const narrowOne = async (page) => {
  const one = await page.evaluateHandle(() => {
    const button = document.createElement("button");
    button.id = "narrow";
    button.textContent = "narrow";
    (document.querySelector("dialog[open]") ?? document.querySelector("main")).append(button);
    return button;
  });
  const end = await styled(page, "#narrow { inline-size: 40px; block-size: 40px; }");
  return async () => { await one.evaluate((button) => button.remove()); await end(); };
};

/** A collector of targets that are too small and pages that scroll sideways, state by state. */
function targets(page, least) {
  const found = new Map();
  let seen = 0;
  return {
    async look(state) {
      await eachWay(page, async (way, { width }) => {
        const { faults, seen: some } = await tooNarrow(page, least);
        ok(some > 0, `control: ${state} has something to press`);
        seen += some;
        const over = await sideways(page, width);
        for (const fault of [...faults, ...(over > 0 ? [`${over} px sideways`] : [])]) found.set(`${state}: ${fault.replace(/ \d+ x \d+/, "")}`, `${fault} (${way})`);
      });
    },
    async control() {
      const end = await narrowOne(page);
      ok((await tooNarrow(page, least)).faults.some((one) => one.startsWith("button#narrow")), "control: a press of 40 px is found");
      await end();
    },
    end() {
      say(`${seen} targets looked at`);
      equal([...found].map(([state, fault]) => `${state} [${fault}]`), [], "too small, or sideways");
    },
  };
}

test("nothing that is pressed at the chair is under 64 px, and the repeated press is 120 px", async (clean) => {
  const { page, names } = await phoneWith(clean);
  const { look, control, end } = targets(page, 64);
  await page.emulateMedia({ reducedMotion: "reduce" });
  await openChair(page);
  await look("chair, placing");
  await control();
  await names.packet(30);
  for (let at = 0; at < 6; at += 1) await names.place(at, 3);
  await look("chair, placing, clocks running");
  await names.press("Taking out");
  await look("chair, taking out");
  await names.press("Something else");
  await page.evaluate(() => { for (const one of document.querySelectorAll("dialog[open] details")) one.open = true; });
  await look("something else");
  await control();
  await names.press(/^Wipe the glass/);
  await page.waitForSelector(".wiping");
  await look("the glass is wiped");
  await names.press("Unwell");
  await page.evaluate(() => { for (const one of document.querySelectorAll("dialog[open] details")) one.open = true; });
  await look("unwell");
  await names.press("Back");
  await names.press(/^Take out /);
  await names.the("heading", /how many/).waitFor();
  await look("region, keys");
  await names.press("more");
  await look("region, digits");
  for (const key of ["9", "that many"]) await names.press(key);
  await page.getByText("Look again here").waitFor();
  await look("region, asked again");
  await names.press("One by one");
  await look("region, one by one");
  await names.press("Leave it open");
  await page.waitForSelector(".count .now");
  while ((await sums(page)).inside > 0) await names.takeOut(3);
  await names.press("Count");
  await names.the("heading", "Count").waitFor();
  await look("count, keys");
  await names.press("11");
  // A region that was answered twice makes the whole tray be counted, blind: full tens, then what is over.
  for (const [asked, n] of [["full tens", "1"], ["and over", "8"]]) {
    await until(asked, async () => (await page.locator(".question").innerText()).includes(asked));
    await look(`count, ${asked}`);
    await names.press(n);
  }
  await page.locator(".terms").waitFor();
  await look("count, sums that differ");
  await names.press("Count the strips again");
  await names.press("12");
  for (const name of await names.the("group", "Swept by hand").getByRole("button").allInnerTexts()) await names.press(name.trim());
  await page.getByText("adds up").waitFor();
  await look("count, sums that add up");
  await control();
  end();
}, { seconds: 300 });

test("nothing that is pressed on a page of the desk is under 48 px", async (clean) => {
  const { page } = await phoneWith(clean);
  const { look, control, end } = targets(page, 48);
  await page.emulateMedia({ reducedMotion: "reduce" });
  const visit = new Visit(page, new Touch(page));
  await look("Today, first");
  await control();
  await visit.emergencyNumber("112");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await look("person");
  const person = (await facts(page)).find((fact) => fact.kind === "person.named").id;
  await visit.step("Ask");
  await page.locator(".q").first().waitFor();
  await look("ask");
  await visit.askAtOnce();
  await look("ask, answered");
  await visit.look("Dry skin.");
  await look("plan, nothing chosen");
  await visit.plan("Full return visit");
  await look("plan");
  const at = async (name, hash) => {
    await go(page, hash);
    await sleep(250);
    await page.evaluate(() => { for (const one of document.querySelectorAll("details")) one.open = true; });
    await look(name);
  };
  await at("look", `/look/${person}`);
  for (const name of ["", "people", "settings", "copies", "about", "count-only", "atlas", "point/ST6", "procedures", "copy-of/first_short", "own-points", "exports", "rules", "own-rules"]) await at(name || "Today", `/${name}`);
  for (const name of ["tape", "exports", "next"]) await at(name, `/${name}/${person}`);
  await go(page, `/plan/${person}`);
  await visit.sit();
  const session = decodeURIComponent(page.url().split("/").pop());
  await at("write", `/write/${session}`);
  await at("Today, a chair open", "/");
  await at("people, a chair pinned", "/people");
  await at("in the patient's hand", `/hand/${person}`);
  end();
}, { seconds: 300 });

// --- what a tap changes ----------------------------------------------------------------------------

/** In the page: notes each change of the document as one line: what changed, and where. */
const watchChanges = (page) => page.evaluate(() => {
  const where = (node) => {
    const own = node.nodeType === Node.ELEMENT_NODE ? node : node.parentElement;
    const one = (e) => e.localName + [...e.classList].filter((c) => !["due", "soon", "over"].includes(c)).map((c) => `.${c}`).join("");
    const chain = [];
    for (let e = own; e && e !== document.body; e = e.parentElement) chain.unshift(one(e));
    return chain.slice(-3).join(" > ") || own?.localName;
  };
  window.changes = [];
  const note = (list) => {
    for (const one of list) {
      // A text put in the place of a text is a text that changed; anything else is a node built or thrown away.
      const kind = one.type === "attributes" ? `@${one.attributeName}` : one.type === "characterData" ? "text"
        : [...one.addedNodes, ...one.removedNodes].every((n) => n.nodeType === Node.TEXT_NODE) ? "text" : `nodes ${[...one.addedNodes].map((n) => `+${n.nodeName}`)}${[...one.removedNodes].map((n) => `-${n.nodeName}`)}`;
      window.changes.push(`${kind} of ${where(one.target)}`);
    }
  };
  window.watcher = new MutationObserver(note);
  window.watcher.observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
  window.seenChanges = () => { note(window.watcher.takeRecords()); return window.changes.splice(0); };
});
const changes = async (page) => {
  const all = await page.evaluate(() => window.seenChanges());
  return Object.fromEntries([...new Set(all)].sort().map((one) => [one, all.filter((other) => other === one).length]));
};

test("a tap and a tick change their own texts and nothing else, with 70 needles and six clocks", async (clean) => {
  const { page, names } = await phoneWith(clean, movable);
  await seventy(page, names);
  await watchChanges(page);
  /** What `act` changed is `must`, each of it, and nothing beyond `must` and `may`. */
  const only = async (what, act, must, may = []) => {
    await sleep(1100);
    await changes(page);
    await act();
    const found = await changes(page);
    equal(Object.keys(found).filter((one) => ![...must, ...may].includes(one)), [], `${what}: changed beside its own`);
    equal(must.filter((one) => !found[one]), [], `${what}: not changed`);
    say(`${what}: ${Object.values(found).reduce((a, b) => a + b, 0)} changes in ${Object.keys(found).length} places`);
    return found;
  };
  const SIGN = ["text of header.strip.column > span.end > span.saved", "@d of span.saved > svg > path.full"];
  const CLOCK = "text of section.call > div.num.clock > bdi";
  const WICKS = ["@style of main.column > section.call > span.wick", "@style of ol.waiting.doors > li > span.wick.thin"];
  // Words for the clocks that are folded away: there, but not shown while taking out.
  const TICK = [...WICKS, "text of a.waits > b > bdi", "text of main.column > ol.waiting.doors > li.rest"];
  await only("three ticks", () => sleep(3000), [CLOCK], TICK);
  const minute = await only("a minute passes", async () => { await page.evaluate(() => window.forward(61000)); await sleep(1200); }, [CLOCK, "text of a.waits > b > bdi"], TICK);
  ok(minute["text of a.waits > b > bdi"] === 5, `each of the five clocks that wait changes its own words: ${JSON.stringify(minute)}`);
  await names.press("Something else");
  await sleep(300);
  await only("one fell out", async () => { await names.press(/^Fell out/); await signSays(page, "saved"); await sleep(200); }, [
    "text of main.column > section.count > div.num.now", "text of dl > div > dd.num.out", "text of main.column > p.sum > bdi",
    "@d of div.wide > svg.rail > path.in", "@d of div.wide > svg.rail > path.out", "@aria-label of section.count > div.wide > svg.rail",
    "text of div.column > p > b", // the sheet says that it is noted
    ...SIGN,
  ], [CLOCK, ...TICK]);
  await names.the("dialog", "Something else").getByRole("button", { name: "Back" }).evaluate((back) => back.click());
  await names.press(/^Take out /);
  await names.the("heading", /how many/).waitFor();
  await names.press("One by one");
  await page.waitForSelector(".slab.again");
  // Needles that nobody named a point for: the press keeps its words, and says how many are out here.
  await only("one of 69 out, one by one", async () => { await names.press(/^Took out/); await signSays(page, "saved"); await sleep(1200); }, [
    "text of main.column.stack > button.slab.again > small", "text of main.column.stack > p.note > span.saved", SIGN[1],
  ]);
  // Control: a list that is built anew is noticed.
  await page.evaluate(() => { const list = document.querySelector(".foot .row"); list.replaceChildren(...[...list.children].map((one) => one.cloneNode(true))); });
  ok(Object.keys(await changes(page)).some((one) => one.startsWith("nodes ") && one.includes("-BUTTON")), "control: a list built anew is noticed");
  equal(thrown(page), [], "nothing was thrown");
}, { seconds: 120 });

// --- what it costs to wait -------------------------------------------------------------------------

/** Seconds the page's main thread has worked, by the clock the metrics were enabled with. */
const taskTime = async (page) => (await page.cdp.send("Performance.getMetrics")).metrics.find((one) => one.name === "TaskDuration").value;

/** Per cent of one core that the page's main thread worked over `seconds`, by the thread's own clock; the
    renderer's whole process beside it. */
async function working(phone, page, seconds) {
  const browser = await phone.browser.newBrowserCDPSession();
  const all = async () => (await browser.send("SystemInfo.getProcessInfo")).processInfo.filter((one) => one.type === "renderer").reduce((sum, one) => sum + one.cpuTime, 0);
  await page.cdp.send("Performance.enable", { timeDomain: "threadTicks" });
  const [before, process] = [await taskTime(page), await all()];
  await sleep(seconds * 1000);
  const used = { main: (await taskTime(page) - before) / seconds * 100, process: (await all() - process) / seconds * 100 };
  await page.cdp.send("Performance.disable");
  await browser.detach();
  return used;
}

test("six clocks that run cost under 2 % of one core", async (clean) => {
  const { phone, page, names } = await phoneWith(clean);
  await seventy(page, names);
  for (const other of phone.context.pages()) if (other !== page) await other.close();
  await page.bringToFront();
  await sleep(2000);
  const idle = await working(phone, page, 20);
  // Control: 5 ms of work in each 100 ms, in steps that the thread's own clock has timed.
  await page.evaluate(() => {
    window.busy = (steps) => { let x = 1; for (let n = 0; n < steps; n += 1) x = (x * 16807) % 2147483647; window.last = x; };
    for (let n = 0; n < 300; n += 1) window.busy(100000);
  });
  await page.cdp.send("Performance.enable", { timeDomain: "threadTicks" });
  const from = await taskTime(page);
  await page.evaluate(() => { for (let n = 0; n < 300; n += 1) window.busy(100000); });
  const perStep = (await taskTime(page) - from) / 30e6;
  await page.cdp.send("Performance.disable");
  await page.evaluate((steps) => { setInterval(() => window.busy(steps), 100); }, Math.round(0.005 / perStep));
  await sleep(1000);
  const busy = await working(phone, page, 10);
  say(`waiting: main thread ${idle.main.toFixed(2)} %, its process ${idle.process.toFixed(2)} % of one core; with 5 % of work put in: ${busy.main.toFixed(2)} %, ${busy.process.toFixed(2)} %`);
  ok(busy.main > idle.main + 3, "control: a loop of 5 % is found");
  ok(idle.main > 0.005, "control: the clocks were drawn meanwhile");
  ok(idle.main < 2, `six clocks cost ${idle.main.toFixed(2)} % of a core`);
  ok(idle.process < 2, `the page's process costs ${idle.process.toFixed(2)} % of a core`);
}, { seconds: 120 });

// --- what it keeps -----------------------------------------------------------------------------------

const holdsWasm = (page) => page.addInitScript(() => {
  window.memories = new Set();
  const keep = (instance, imports) => {
    for (const group of [instance.exports, ...Object.values(imports ?? {})]) for (const one of Object.values(group)) if (one instanceof WebAssembly.Memory) window.memories.add(one);
  };
  for (const name of ["instantiate", "instantiateStreaming"]) {
    const real = WebAssembly[name].bind(WebAssembly);
    WebAssembly[name] = async (from, imports) => {
      const made = await real(from, imports);
      keep(made.instance ?? made, imports);
      return made;
    };
  }
});

/** What the page holds after everything that can go has gone. */
async function holds(page) {
  for (let n = 0; n < 3; n += 1) {
    await page.cdp.send("HeapProfiler.collectGarbage");
    await sleep(200);
  }
  const { usedSize } = await page.cdp.send("Runtime.getHeapUsage");
  const { nodes, jsEventListeners } = await page.cdp.send("Memory.getDOMCounters");
  const wasm = await page.evaluate(() => [...window.memories].reduce((sum, one) => sum + one.buffer.byteLength, 0));
  return { heap: usedSize, wasm, nodes, listeners: jsEventListeners };
}

/** One session of 24 needles in six regions, 30 minutes by the clock, from Today to closed. */
async function halfHour(page, names) {
  await names.open();
  await names.packet(25);
  for (let at = 0; at < 6; at += 1) {
    await names.place(at, 4);
    await page.evaluate(() => window.forward(60000));
  }
  await page.evaluate(() => window.forward(16 * 60000));
  await names.press("Taking out");
  for (let at = 0; at < 6; at += 1) {
    await names.takeOut(4);
    await page.evaluate(() => window.forward(75000));
  }
  await names.close(1, 24);
  await saved(page);
  await page.evaluate(() => window.forward(30000));
}

/** Until every page was drawn a few times the browser still compiles; after it come four hours, in two halves. */
const WARM = 4;
const HALF = 4;

test("a day of four hours in the chair keeps no more than its facts", async (clean) => {
  const { page, names } = await phoneWith(clean, async (one) => { await movable(one); await holdsWasm(one); });
  const still = async () => {
    await names.press("About", "link");
    await names.the("heading", "About").waitFor();
    await sleep(1200);
    // As text, whether they are packed away by now or not.
    const rows = (await facts(page)).reduce((sum, fact) => sum + JSON.stringify(fact).length, 0);
    return { ...(await holds(page)), rows, hours: (await page.evaluate(() => Date.now())) / 3600000 };
  };
  const grown = (from, to) => Object.fromEntries(Object.keys(from).map((key) => [key, (to[key] - from[key]) / HALF]));
  for (let n = 0; n < WARM; n += 1) await halfHour(page, names);
  const early = await still();
  for (let n = 0; n < HALF; n += 1) await halfHour(page, names);
  const noon = await still();
  for (let n = 0; n < HALF; n += 1) await halfHour(page, names);
  const late = await still();
  const [first, second] = [grown(early, noon), grown(noon, late)];
  const kB = (n) => `${(n / 1000).toFixed(1)} kB`;
  for (const [name, one] of [["first", first], ["second", second]]) say(`a session of the ${name} two hours: facts ${kB(one.rows)}, heap ${kB(one.heap)}, WASM ${kB(one.wasm)}, nodes ${one.nodes}, listeners ${one.listeners}`);
  say(`${(late.hours - early.hours).toFixed(2)} h by the clock; at the end heap ${kB(late.heap)}, WASM ${kB(late.wasm)}, ${late.nodes} nodes, ${late.listeners} listeners`);
  ok(late.hours - early.hours >= 4, "four hours have passed");
  const tooMuch = (more) => [
    // The facts lie in the program's memory as read and as folded, some ten times the length of their text;
    // it grows by whole pages of 64 kB. On the browser's side nothing of them lies, but for what it compiles.
    ["WASM", more.wasm, 12 * more.rows + 65536 / HALF], ["heap", more.heap, 4 * more.rows], ["nodes", more.nodes, 2], ["listeners", more.listeners, 1],
  ].filter(([, found, most]) => found > most).map(([name]) => name);
  equal(tooMuch(second), [], `grown more than the facts allow: ${JSON.stringify(second)}`);
  // Control: a page of the chair and 30 kB that are kept, once for each session, are found.
  await page.evaluate((n) => {
    window.leak = Array.from({ length: n }, () => {
      const one = document.querySelector("main").cloneNode(true);
      const more = Array.from({ length: 4000 }, (_, at) => ({ at }));
      one.addEventListener("click", () => more);
      return one;
    });
  }, HALF);
  const leaky = tooMuch({ ...grown(late, await still()), rows: second.rows });
  ok(leaky.includes("heap") && leaky.includes("nodes"), `control: what is kept is found: ${leaky}`);
}, { seconds: 600 });

// --- away and back -----------------------------------------------------------------------------------

/** The next clock as it stands on the page, in seconds left; over is less than nought. */
const nextClock = (page) => page.locator(".call .clock bdi").innerText().then((text) => {
  const [, over, minutes, seconds] = text.match(/^(\+?)(\d+):(\d\d)$/);
  return (over ? -1 : 1) * (Number(minutes) * 60 + Number(seconds));
});

for (const slept of [false, true]) {
  test(`12 minutes out of sight${slept ? ", the phone asleep" : ""}: the clocks read the truth, and a card says it`, async (clean) => {
    const { page, names } = await phoneWith(clean, movable);
    await openChair(page);
    for (let at = 0; at < 6; at += 1) await names.place(at, 2);
    await names.press("Taking out");
    await page.waitForSelector(".call .clock");
    await page.evaluate(() => { window.beats = 0; setInterval(() => { if (!document.hidden) window.beats += 1; }, 1000); });
    const away = page.locator("dialog[open] p").filter({ hasText: /^Away/ });
    const [before, at] = [await nextClock(page), Date.now()];
    ok(before > 19 * 60, `a stay of 20 minutes: ${before} s`);
    equal(await away.filter({ visible: true }).count(), 0, "control: no card before");
    const seen = (what) => page.evaluate((to) => {
      for (const [name, value] of [["visibilityState", to], ["hidden", to === "hidden"]]) Object.defineProperty(document, name, { configurable: true, get: () => value });
      document.dispatchEvent(new Event("visibilitychange", { bubbles: true }));
    }, what);
    await seen("hidden");
    const still = await nextClock(page);
    await sleep(2500);
    ok(still - (await nextClock(page)) <= 1, "control: nothing is drawn while nobody sees it");
    const [beats] = [await page.evaluate(() => window.beats)];
    await page.evaluate((deep) => window.forward(12 * 60000, deep), slept);
    await seen("visible");
    await until("the card", () => away.filter({ visible: true }).count());
    const after = await nextClock(page);
    const wanted = before - 12 * 60 - Math.round((Date.now() - at) / 1000);
    ok(Math.abs(after - wanted) <= 2, `the next clock reads ${after} s, the truth is ${wanted} s`);
    ok((await page.evaluate(() => window.beats)) - beats < 30, "control: a clock that counts its ticks would be 12 minutes wrong");
    ok((await away.innerText()).startsWith("Away 12 min. You were at the chair."), await away.innerText());
    say(`before ${before} s, after ${after} s, the truth ${wanted} s; ${(await away.innerText()).split("\n")[0]}`);
    await page.locator("dialog[open]").getByRole("button", { name: "Go on", exact: true }).click();
    equal(await away.filter({ visible: true }).count(), 0, "one press clears it");
    equal(thrown(page), [], "nothing was thrown");
  });
}

test("the page's process crashes in mid-session: what was shown as saved is there, and counts are equal", async (clean) => {
  const { site, phone, page, names } = await phoneWith(clean);
  await openChair(page);
  for (const [at, n] of [5, 4, 3].entries()) await names.place(at, n);
  await names.press("Taking out");
  await names.takeOut(5);
  await signSays(page, "saved");
  const shown = await sums(page);
  equal(shown, { inside: 7, out: 5, placed: 12 }, "shown as saved");
  const session = page.url().split("/").pop();
  const rows = await kept(page);
  const texts = async (one) => one.locator(".waits > span, .call h2, .sum").evaluateAll((all) => all.map((e) => e.textContent.trim()));
  const stands = await texts(page);
  await page.evaluate(() => { window.onlyHere = true; });
  const crashed = new Promise((done) => page.once("crash", () => done(true)));
  page.cdp.send("Page.crash").catch(() => {});
  ok(await Promise.race([crashed, sleep(20000)]), "control: the page's process is gone");
  const again = await started(await phone.page(site.url));
  equal(await again.evaluate(() => window.onlyHere ?? "gone"), "gone", "control: what lay in memory alone is gone");
  await again.locator(`a[href*="${session}"]`).first().evaluate((link) => link.click());
  await again.waitForSelector(".count .now");
  equal(await sums(again), shown, "counts after the crash");
  equal(await kept(again), rows, "every row is there");
  const there = new Names(again);
  await there.press("Taking out");
  await again.waitForSelector(".call .clock");
  equal(await texts(again), stands, "regions and the sum line");
  await there.takeOut(4);
  equal(await sums(again), { inside: 3, out: 9, placed: 12 }, "and it goes on");
  equal(thrown(again), [], "nothing was thrown");
});

// --- by names alone --------------------------------------------------------------------------------

test("a whole short session by roles and names alone, with presses that have no place", async (clean) => {
  const { page, names } = await phoneWith(clean);
  await page.evaluate(() => {
    window.pointers = 0;
    for (const kind of ["pointerdown", "touchstart", "mousedown"]) addEventListener(kind, () => { window.pointers += 1; }, true);
  });
  /** Everything that can be pressed has a name, as the browser tells it to a screen reader. */
  const nameless = async () => {
    const { nodes } = await page.cdp.send("Accessibility.getFullAXTree");
    const roles = ["button", "link", "combobox", "textbox", "DisclosureTriangle", "dialog", "group", "navigation"];
    return nodes.filter((node) => !node.ignored && roles.includes(node.role?.value) && !node.name?.value && node.role.value !== "group").map((node) => node.role.value);
  };
  const look = async (where) => equal(await nameless(), [], `without a name: ${where}`);
  await look("Today");
  await names.open();
  await look("chair");
  await names.packet(10);
  for (const [at, n] of [3, 4, 2].entries()) await names.place(at, n);
  await names.press("Taking out");
  await look("taking out");
  await names.press("Unwell");
  await look("unwell");
  await names.the("dialog", "Unwell").getByRole("button", { name: "Back" }).evaluate((back) => back.click());
  await names.takeOut(3);
  await names.takeOut(4);
  await names.press(/^Take out /);
  await look("region");
  await names.press("One by one");
  for (let n = 0; n < 2; n += 1) await names.press(/^Took out/);
  await names.the("region", "Needles").waitFor();
  await names.press("Count");
  await look("count");
  await names.press("Chair");
  await names.close(1, 9);
  await saved(page);
  const all = await facts(page);
  const many = (body) => body.count ?? body.needles?.reduce((sum, { from, to }) => sum + to - from + 1, 0) ?? 1;
  const count = (kind) => all.filter((fact) => fact.kind === kind).reduce((sum, { body }) => sum + many(body), 0);
  equal([count("needle.placed"), count("needle.out"), count("session.closed")], [9, 9, 1], "placed, out, closed");
  equal(all.find((fact) => fact.kind === "session.closed").body.not_found, 0, "not found");
  equal(await page.evaluate(() => window.pointers), 0, "no finger and no mouse was needed");
  // Control: a press without a name is found.
  await page.evaluate(() => document.querySelector("main").append(document.createElement("button")));
  equal(await nameless(), ["button"], "control: a press without a name");
  equal(thrown(page), [], "nothing was thrown");
});
