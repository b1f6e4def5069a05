// A practitioner's hands: one whole visit, by touch or by keyboard, as somebody would walk it. The
// steps are the same; only how a thing is pressed differs.
import { openCopy } from "./age.mjs";
import { execFileSync } from "node:child_process";
import { Phone, Site, axe, equal, keptOffline, ok, root, setClock, shot, sleep, started, until } from "./harness.mjs";

/** The passphrase of every copy that a test takes out. */
export const COPY_WORDS = "four hedges, one stile";

/** Every entry that is on the phone, read past the app. */
export async function facts(page) {
  const [rows, packs] = await page.evaluate(async () => {
    const db = await new Promise((done, fail) => {
      const asked = indexedDB.open("pinfold");
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => fail(asked.error);
    });
    const of = db.transaction(["rows", "packs"]);
    const all = (asked) => new Promise((done, fail) => { asked.onsuccess = () => done(asked.result); asked.onerror = () => fail(asked.error); });
    const [keys, ...texts] = await Promise.all([all(of.objectStore("packs").getAllKeys()), all(of.objectStore("packs").getAll()), all(of.objectStore("rows").getAll())]);
    db.close();
    return [texts[1], keys.map((key, at) => [key, texts[0][at]])];
  });
  const plain = rows.filter((row) => typeof row === "string" && row.startsWith("plain ")).map((row) => JSON.parse(row.slice(6)));
  // While a session is being packed away it is in both.
  const both = new Map([...unpack(packs), ...plain].map((fact) => [fact.id, fact]));
  const order = (id) => id.split("-").map((part, at) => (at ? part : part.padStart(20, "0"))).join("-");
  return [...both.values()].sort((a, b) => (order(a.id) < order(b.id) ? -1 : 1));
}

/** What is packed away, read by the core itself. */
function unpack(packs) {
  if (packs.length === 0) return [];
  const input = packs.map(([name, text]) => `${name}\t${text}\n`).join("");
  const said = execFileSync("cargo", ["run", "--quiet", "-p", "pinfold-core", "--example", "unpack"], { cwd: root, input, maxBuffer: 2 ** 28, stdio: ["pipe", "pipe", "inherit"] });
  return said.toString().split("\n").filter(Boolean).map((line) => JSON.parse(line));
}

/** Waits until nothing is on its way to the store. */
export const saved = (page) => until("everything to be saved", () => page.evaluate(() => /^saved/.test(document.querySelector(".saved")?.innerText.trim() ?? "")));

/** Counts what the page itself was pressed, by page. A finger and a key both end in a click. */
export const watchPresses = (page) => page.addInitScript(() => {
  window.pressed = [];
  addEventListener("click", (event) => {
    const on = event.target.closest?.("button, a, summary");
    if (on && event.isTrusted) window.pressed.push({ page: location.hash.split("/")[1], text: on.innerText.replace(/\s+/g, " ").trim() });
  }, true);
  // A held press ends without a click of its own.
  addEventListener("pointerdown", (event) => {
    if (event.target.closest?.(".hold")) window.pressed.push({ page: location.hash.split("/")[1], text: "(held)" });
  }, true);
});

/** By finger. */
export class Touch {
  constructor(page) { this.page = page; }
  async at(target) {
    await target.waitFor({ state: "visible", timeout: 10000 });
    const inside = async () => {
      const box = await target.boundingBox();
      const view = this.page.viewportSize() ?? { width: 390, height: 844 };
      const free = await target.evaluate((element) => {
        const b = element.getBoundingClientRect();
        const top = document.elementFromPoint(b.x + b.width / 2, b.y + b.height / 2);
        return !!top && (element.contains(top) || top.contains(element));
      });
      return box && free && box.y >= 0 && box.y + box.height / 2 <= view.height ? box : undefined;
    };
    let box = await inside();
    if (!box) {
      await target.evaluate((element) => element.scrollIntoView({ block: "center" }));
      box = await until(`a finger to reach ${target}`, inside, 5000);
    }
    return [{ x: box.x + box.width / 2, y: box.y + box.height / 2 }];
  }
  async press(target) {
    const touchPoints = await this.at(target);
    const guarded = await target.evaluate((element) => !!element.closest(".slab, .screen.chair"));
    await this.page.cdp.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints });
    await this.page.cdp.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
    // A knuckle's second landing is ignored for 300 ms, at the chair and on every slab.
    await sleep(guarded ? 330 : 40);
  }
  async hold(target, ms) {
    const touchPoints = await this.at(target);
    await this.page.cdp.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints });
    await sleep(ms);
    await this.page.cdp.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
    // For 600 ms after a held act a press is taken for the lifting finger.
    await sleep(650);
  }
  async write(target, text) {
    await this.press(target);
    await this.page.keyboard.insertText(text);
  }
  async number(n) {
    await this.press(this.page.locator(".keys:not(.pad) button:visible").filter({ hasText: new RegExp(`^${n}$`) }));
  }
}

/** By keyboard alone: Tab and Shift+Tab to a thing, then a key. */
export class Keys {
  constructor(page) { this.page = page; }
  async reach(target) {
    await target.waitFor({ state: "visible", timeout: 10000 });
    const handle = await target.elementHandle();
    for (let n = 0; n < 400; n += 1) {
      const way = await handle.evaluate((element) => {
        const here = document.activeElement;
        if (here === element) return "here";
        if (!here || here === document.body) return "Tab";
        return here.compareDocumentPosition(element) & Node.DOCUMENT_POSITION_PRECEDING ? "Shift+Tab" : "Tab";
      });
      if (way === "here") return;
      await this.page.keyboard.press(way);
    }
    throw new Error(`the keyboard cannot reach ${target}`);
  }
  async press(target) {
    await this.reach(target);
    const space = await target.evaluate((element) => element.tagName === "BUTTON");
    await this.page.keyboard.press(space ? "Space" : "Enter");
    await sleep(40);
  }
  async hold(target, ms) {
    await this.reach(target);
    await this.page.keyboard.down("Space");
    await sleep(ms);
    await this.page.keyboard.up("Space");
    await sleep(650);
  }
  async write(target, text) {
    await this.reach(target);
    await this.page.keyboard.type(text);
  }
  async number(n) {
    for (const digit of String(n)) await this.page.keyboard.press(digit);
    await this.page.keyboard.press("Enter");
    await sleep(40);
  }
}

/** One visit at one phone. */
export class Visit {
  constructor(page, hands) {
    this.page = page;
    this.hands = hands;
  }
  button(name) { return this.page.getByRole("button", { name, exact: typeof name === "string" }).locator("visible=true").first(); }
  link(name) { return this.page.getByRole("link", { name, exact: typeof name === "string" }).locator("visible=true").first(); }
  press(name) { return this.hands.press(this.button(name)); }
  follow(name) { return this.hands.press(this.link(name)); }
  where(part) { return until(`the page ${part}`, () => this.page.url().includes(`#/${part}`), 10000); }
  step(name) { return this.hands.press(this.page.getByRole("navigation", { name: "Where you are" }).getByRole("link", { name: new RegExp(`^${name}\\b`) })); }
  tab(name) { return this.hands.press(this.page.locator("nav.tabs a").filter({ hasText: new RegExp(`^${name}$`) })); }

  async emergencyNumber(number) {
    await this.hands.write(this.page.locator("#emergency"), number);
    await this.press("Keep");
    await until("the number to be asked no more", async () => !(await this.page.locator("#emergency").count()));
  }
  async meet(name, birth) {
    await this.follow("Write down somebody new");
    await this.where("people");
    await this.hands.write(this.page.locator("#name"), name);
    await this.hands.write(this.page.locator("#birth"), birth);
    await this.press("Keep");
    await this.where("person/");
  }
  /** Answers every question that is open: "no", but for those where "no" would not be the easy case. */
  async ask(exceptions = {}) {
    await this.step("Ask");
    await this.where("ask/");
    await this.page.locator(".q").first().waitFor();
    const easy = [
      [/eaten in the last four hours/, "yes"], [/say back what will be done/, "yes"], [/needles that were left in all out/, "yes"],
      ...Object.entries(exceptions).map(([text, answer]) => [new RegExp(text), answer]),
    ];
    // Answers bring new questions: until none is open.
    for (let round = 0; round < 8; round += 1) {
      const open = await this.page.locator(".q").evaluateAll((all) => all
        .map((q, at) => ({ at, text: q.querySelector(".asked")?.innerText ?? "", yes: !!q.querySelector(".choice"), done: !!q.querySelector("[aria-pressed=true]") || !!q.querySelector("input")?.value }))
        .filter((q) => !q.done));
      if (open.length === 0) return;
      for (const { at, text, yes } of open) {
        const row = this.page.locator(".q").nth(at);
        if ((await row.locator(".asked").first().innerText()) !== text) break; // the list has moved
        const wanted = easy.find(([pattern]) => pattern.test(text))?.[1] ?? "no";
        if (yes) await this.hands.press(row.getByRole("button", { name: wanted, exact: true }));
        else {
          let answer;
          for (const name of [wanted, "No", "None of these", "not measured today", "asked, not known"]) {
            answer = row.getByRole("button", { name, exact: true });
            if (await answer.count()) break;
          }
          await this.hands.press(answer.first());
        }
      }
    }
    throw new Error("questions are still open after eight rounds");
  }
  /** The same answers, pressed by the page itself: for tests that are not about asking. */
  async askAtOnce() {
    await this.step("Ask");
    await this.where("ask/");
    await this.page.locator(".q").first().waitFor();
    const left = await this.page.evaluate(async () => {
      const done = (q) => q.querySelector("[aria-pressed=true]") || q.querySelector("input")?.value;
      for (let round = 0; round < 8; round += 1) {
        const open = [...document.querySelectorAll(".q")].filter((q) => !done(q));
        if (open.length === 0) return 0;
        for (const q of open) {
          const text = q.querySelector(".asked").innerText;
          const wanted = /eaten in the last|say back what will|left in all out/.test(text) ? "yes" : "no";
          const names = q.querySelector(".choice") ? [wanted] : ["No", "None of these", "not measured today", "asked, not known"];
          const buttons = [...q.querySelectorAll("button")];
          names.map((name) => buttons.find((b) => b.innerText.trim() === name)).find(Boolean)?.click();
        }
        await new Promise((next) => setTimeout(next, 60));
      }
      return [...document.querySelectorAll(".q")].filter((q) => !done(q)).length;
    });
    equal(left, 0, "questions left open");
  }
  async look(text) {
    await this.press("Go on");
    await this.where("look/");
    await this.hands.write(this.page.locator("#seen"), text);
    await this.press("Keep what was seen");
    await this.where("plan/");
  }
  async plan(procedure, consent = []) {
    await this.press(new RegExp(`^${procedure}`));
    await this.page.locator(".map.whole").waitFor();
    for (const part of consent) await this.press(part);
    await this.press("They agree, and the name is right");
    await this.page.getByText("Agreed:").waitFor();
  }
  async sit() {
    await this.press(/^Go to the chair/);
    await this.where("chair/");
    await this.page.locator(".count .now").waitFor();
  }
  inside() { return this.page.locator(".count .now").innerText().then(Number); }
  /** One press for each region, as planned; gives back how many went in where. */
  async placeAll() {
    await this.press("Strips opened, as planned");
    const placed = [];
    for (;;) {
      const slab = this.page.locator(".slab").first();
      const text = await slab.innerText();
      const found = text.match(/^Placed (\d+), (.*)$/s);
      if (!found) return placed;
      placed.push([found[2].replace(/\s+/g, " "), Number(found[1])]);
      const before = await this.inside();
      await this.hands.press(slab);
      await until("the needles to be counted", async () => (await this.inside()) === before + Number(found[1]));
    }
  }
  /** One region after the other, each counted on its own page. */
  async takeOutAll(placed) {
    let left = await this.inside();
    while (left > 0) {
      const slab = this.page.locator(".slab").first();
      const region = (await slab.innerText()).match(/^Take out (.*)$/s)[1].replace(/\s+/g, " ");
      const n = placed.filter(([name]) => name === region).reduce((sum, [, n]) => sum + n, 0);
      ok(n > 0, `the page asks for ${region}, where nothing was placed: ${JSON.stringify(placed)}`);
      await this.hands.press(slab);
      await this.where("out/");
      await this.page.locator(".keys").first().waitFor();
      ok(!(await this.page.locator("main").innerText()).match(new RegExp(`\\b${n} (needles|placed)`)), "the number that was placed is not shown where it is asked");
      await this.hands.number(n);
      await this.where("chair/");
      left = await until("the region to be out", async () => ((await this.inside()) === left - n ? { n: left - n } : undefined)).then((found) => found.n);
    }
  }
  /** What is left in the strips of one size: opened less placed, as a hand would count it. */
  async count() {
    await this.press("Count");
    await this.where("count/");
    await this.page.locator("main").waitFor();
    const all = await until("the placings to be stored", () => facts(this.page));
    const session = decodeURIComponent(this.page.url().split("/").pop());
    const here = all.filter((fact) => fact.stream === `s:${session}`);
    const size = (body) => (body.size ? `${(body.size.diameter / 1000).toFixed(2)} \u00d7 ${body.size.length / 1000} mm` : "");
    const left = {};
    for (const { kind, body } of here) {
      if (kind === "pack.opened") left[size(body)] = (left[size(body)] ?? 0) + body.held;
      if (kind === "needle.placed") left[size(body)] = (left[size(body)] ?? 0) - body.count;
    }
    for (let n = 0; n < Object.keys(left).length; n += 1) {
      const asked = (await this.page.locator(".question small").first().innerText()).trim();
      const found = Object.entries(left).find(([name]) => asked.endsWith(name));
      ok(found, `strips of an unknown size are asked for: ${asked} of ${JSON.stringify(left)}`);
      await this.hands.number(found[1]);
      await until("the next size", async () => (await this.page.locator(".question small").first().innerText()).trim() !== asked);
    }
    await this.countTray(here);
    const ticks = this.page.locator(".ticks button:visible");
    for (let at = 0; at < (await ticks.count()); at += 1) await this.hands.press(ticks.nth(at));
    await this.page.getByText("adds up").waitFor();
  }
  /** The tray, blind, where it is asked for: full tens, then what is over. */
  async countTray(here) {
    const asks = (words) => this.page.locator(".question").first().innerText().then((text) => text.includes(words));
    await sleep(100);
    if (!(await this.page.locator(".question:visible").count()) || !(await asks("full tens"))) return;
    const sum = (kind) => here.filter((fact) => fact.kind === kind).reduce((all, { body }) => all + (body.count ?? 0), 0);
    const used = sum("needle.placed") + sum("needle.spoilt");
    await this.hands.number(Math.floor(used / 10));
    await until("what is over to be asked", () => asks("and over"));
    await this.hands.number(used % 10);
    await until("the tray to be counted", async () => !(await this.page.locator(".question:visible").count()));
  }
  async close() {
    await this.hands.hold(this.page.locator(".hold").last(), 1400);
    await this.where("write/");
  }
  async write(text) {
    await this.hands.write(this.page.locator("#marks"), text);
    await this.press(/^Sign and finish/);
    await this.where("next/");
  }
  async next() {
    await this.press("Book a visit");
    await this.page.getByText("Booked:").waitFor();
    await this.press("Today");
    await this.where("");
  }
  /** The text that "Take a copy out" seals: the file is caught on its way to the downloads and opened here. */
  async copyOut() {
    await this.tab("Settings");
    await this.press("Copies");
    await this.where("copies");
    return openCopy((await this.sealed(/^Take a copy out/)).text, COPY_WORDS);
  }
  /** Presses a part on the page Copies, seals it and lets it go to the downloads: `{ name, type, text }`. */
  async sealed(part) {
    await this.seal(part);
    return this.leave();
  }
  /** Presses a part on the page Copies and seals it. */
  async seal(part) {
    await this.page.evaluate(() => {
      window.showSaveFilePicker = undefined;
      window.copied = undefined;
      window.makeUrl ??= URL.createObjectURL;
      window.follow ??= HTMLAnchorElement.prototype.click;
      let copy;
      URL.createObjectURL = (blob) => { copy = blob; return window.makeUrl.call(URL, blob); };
      HTMLAnchorElement.prototype.click = function () {
        const name = this.download;
        copy?.text().then((text) => { window.copied = { name, type: copy.type, text }; });
        window.follow.call(this);
      };
    });
    await this.press(part);
    await this.hands.write(this.page.locator("#new"), COPY_WORDS);
    await this.hands.write(this.page.locator("#again"), COPY_WORDS);
    await this.press("Seal the copy");
    await this.page.getByText("It has not left this phone yet.").waitFor({ timeout: 30000 });
    equal(await this.page.evaluate(() => window.copied), undefined, "nothing leaves before the press");
  }
  /** Lets the file that is ready go to the downloads: `{ name, type, text }`. */
  async leave() {
    await this.page.evaluate(() => { window.copied = undefined; });
    await this.press("Put it into the downloads");
    return until("the copy", () => this.page.evaluate(() => window.copied), 30000);
  }
  /** Gives a file to "Bring a copy in", brings in what is new, and reads what the page says. */
  async copyIn(name, bytes) {
    const status = this.page.locator("main p[role=status]").last();
    const before = await status.innerText();
    const [chooser] = await Promise.all([this.page.waitForEvent("filechooser"), this.press(/^Bring a copy in/)]);
    await chooser.setFiles({ name, mimeType: "text/plain", buffer: Buffer.from(bytes) });
    const found = this.page.locator("h2").filter({ hasText: "What this copy is" });
    await until(`a look into ${name}`, async () => (await found.count()) > 0 || (await status.innerText()) !== before, 10000);
    if (!(await found.count())) return status.innerText();
    const bring = this.page.getByRole("button", { name: "Bring it in" });
    await sleep(350); // A second press so soon is the same knuckle.
    if (await bring.isVisible()) {
      await bring.click();
      return until(`word about ${name}`, async () => (await found.count()) === 0 && status.innerText(), 10000);
    }
    const said = await this.page.locator("main").innerText();
    await this.press("Leave it");
    return said;
  }
}

/** The entries of one kind. */
export const kinds = async (page, kind) => (await facts(page)).filter((fact) => fact.kind === kind);

/** Somebody in the chair, with the short plan placed; gives back how many went in where. */
export async function seated(visit, name) {
  await visit.meet(name, "1981-06-07");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.plan("Short first visit");
  await visit.sit();
  return visit.placeAll();
}

/** A first visit with 12 needles, from Today to a signed record; gives back what was placed. */
export async function firstVisit(visit, { name = "Wren Fold (invented)", birth = "1984-02-29", quick = false } = {}) {
  await started(visit.page);
  await visit.emergencyNumber("112");
  await visit.meet(name, birth);
  await (quick ? visit.askAtOnce() : visit.ask());
  await visit.look("Dry skin, quiet. Tender at the jaw.");
  await visit.plan("Short first visit");
  await visit.sit();
  const placed = await visit.placeAll();
  equal(placed.reduce((sum, [, n]) => sum + n, 0), 12, "needles placed");
  await visit.takeOutAll(placed);
  await visit.count();
  await visit.close();
  await visit.write("None.");
  await visit.next();
  return placed;
}

/** A phone that has the whole app, and a server that is gone. `at`: where its clock stands. */
export async function alone(clean, { hands = Touch, at, choose = true } = {}) {
  const site = await new Site().deploy().start();
  clean(() => site.process.end());
  const phone = await new Phone({ choose }).on();
  clean(() => phone.kill());
  await keptOffline(await phone.page(site.url));
  await site.stop();
  return { phone, site, open: (options = {}) => open(phone, site, { hands, at, ...options }) };
}

async function open(phone, site, { hands, at }) {
  for (const page of phone.context.pages()) await page.close();
  const page = await phone.page();
  if (at) await setClock(page, at);
  await watchPresses(page);
  await page.goto(site.url);
  await started(page);
  return new Visit(page, new hands(page));
}

/** What was thrown or said as an error on a page. */
export const thrown = (page) => page.said.filter((line) => line.startsWith("thrown") || line.startsWith("error"));

/** Looks at a page small in both themes and wide in its own; `seen` collects what axe finds. */
export function looker(page, seen) {
  const size = (width, height, mobile) => page.cdp.send("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: mobile ? 2 : 1, mobile });
  const theme = (name) => page.evaluate((t) => { if (t) document.documentElement.dataset.theme = t; else delete document.documentElement.dataset.theme; }, name);
  return async (name) => {
    await sleep(150);
    const own = await page.evaluate(() => document.documentElement.dataset.theme ?? "");
    for (const wide of [false, true]) {
      if (wide) await size(1280, 800, false);
      for (const one of wide && !process.env.PINFOLD_SHOTS ? [own] : ["", "chair"]) {
        await theme(one);
        await sleep(60);
        const where = `${name}-${wide ? "wide" : "small"}-${one || "desk"}`;
        for (const fault of await axe(page)) seen.push(`${where}: ${fault}`);
        if (process.env.PINFOLD_SHOTS) await shot(page, where);
      }
    }
    await theme(own);
    await size(390, 844, true);
  };
}
