// Sealed at rest: what a finder of the phone can read, that nothing is lost on the way there and back,
// and that nobody waits for a passphrase with needles in.
import { axe, dice, equal, fails, keptOffline, ok, say, setUp, sleep, started, test, until } from "./harness.mjs";
import { PASSPHRASE, closeChair, findChair, go, kept, locked, openChair, place, press, refuse, seal, shelf, signSays, sums, takeOut, unlock } from "./hand.mjs";
import { Touch, Visit, looker, saved } from "./visit.mjs";
import { readProfile, unsnap, whereStands } from "./profile.mjs";

const NAME = "Linnet Harrowgate (invented)";
const SEEN = "a dry patch shaped like a heron";
const MARKS = "a small bruise like a thumbprint";
const STRIP = '{"v":1,,"in":[],"due":[],"held":[]}';
const VAULT = /pinfold-vault|\/vault\.js/;

/** A phone that asks, with the app whole on it. */
async function fresh(clean) {
  const { site, phone } = await setUp(clean, { choose: false });
  const page = await keptOffline(await phone.page(site.url));
  return { site, phone, page };
}

/** The page that is loaded by locking. */
async function lockNow(page) {
  await go(page, "/settings");
  await press(page, "Lock now", { exact: true });
  await locked(page);
}

const people = (page) => page.locator("main ul li").allInnerTexts();
async function enter(page, name) {
  await go(page, "/people");
  await page.fill("#name", name);
  await page.fill("#birth", "1984-02-29");
  await press(page, "Keep", { exact: true });
  await until("the person's page", async () => page.url().includes("#/person/"));
}

/** Somebody in a chair with needles in two regions, all saved; then a kill, and the phone on again. */
async function killedWithNeedlesIn(phone, page) {
  await enter(page, NAME);
  await openChair(page);
  await place(page, { needles: 2 });
  await place(page);
  await signSays(page, "saved");
  await phone.kill();
  await phone.on();
}

/** Somebody's day: entered, asked, looked at, planned, needles in and out, written up. */
async function day(page) {
  const visit = new Visit(page, new Touch(page));
  await enter(page, NAME);
  await visit.askAtOnce();
  await visit.look(SEEN);
  await visit.plan("Short first visit");
  await visit.sit();
  await visit.takeOutAll(await visit.placeAll());
  const session = decodeURIComponent(page.url().split("/").pop());
  await go(page, `/write/${session}`);
  await page.locator("#marks").waitFor();
  await page.fill("#marks", MARKS);
  await page.locator("#marks").blur();
  await saved(page);
}

test("before the first person it is asked; counting is never held up, and the choice stays marked", async (clean) => {
  const { page } = await fresh(clean);
  await openChair(page);
  await place(page, { needles: 2 });
  equal((await sums(page)).inside, 2, "a chair is counted before anything was asked");
  await takeOut(page, 2);
  await go(page, "/people");
  await page.getByRole("button", { name: /^Run without a passphrase/ }).waitFor();
  equal(await page.locator("#name").count(), 0, "nobody can be entered yet");
  equal(await axe(page), [], "axe");
  await press(page, /^Run without a passphrase/);
  await page.locator("#name").waitFor();
  await enter(page, NAME);
  const mark = "No passphrase: whoever opens this phone can read everything.";
  await go(page, "/");
  await page.getByText(mark).waitFor();
  await go(page, "/settings");
  await page.getByText(mark).waitFor();
  await signSays(page, "saved");
  await page.reload();
  await started(page);
  await go(page, "/people");
  await until("the person", async () => (await people(page)).some((text) => text.includes(NAME)));
  ok(Object.values(await kept(page)).some((text) => text.includes(NAME)), "control: without a passphrase the row is plain");
});

test("a finder reads no name, answer, note or kind of entry; without a passphrase all of them", async (clean) => {
  // Snappy's own example of a copy that overlaps itself, and a literal.
  equal(unsnap(Buffer.from([5, 16, 104, 101, 108, 108, 111])).toString(), "hello", "the unpacker, a literal");
  equal(unsnap(Buffer.from([6, 4, 97, 98, 14, 2, 0])).toString(), "ababab", "the unpacker, a copy");
  const stores = (file) => /IndexedDB|Local Storage|Session Storage/.test(file);
  for (const sealed of [false, true]) {
    const { site, phone, page } = await fresh(clean);
    if (sealed) await seal(page);
    else {
      await go(page, "/people");
      await press(page, /^Run without a passphrase/);
    }
    await day(page);
    // Once more on, so that what a restart restores is among it.
    await phone.off();
    await phone.on();
    await started(await phone.page(site.url));
    await phone.off();
    const profile = readProfile(phone.profile);
    const words = { name: NAME, "what was seen": SEEN, note: MARKS };
    const kinds = ["person.named", "needle.placed", "answer", "\"kind\"", "\"body\""];
    const found = Object.entries(words).map(([what, word]) => [what, whereStands(profile, word).length]);
    if (sealed) for (const word of Object.values(words)) for (const file of whereStands(profile, word)) say(`found in ${file}: ${word}`);
    const foundKinds = kinds.map((word) => [word, whereStands(profile, word, stores).length]);
    say(`${sealed ? "sealed" : "plain"}: ${profile.count.files} files, ${profile.count.logs} logs, ${profile.count.tables} tables, unread ${profile.count.unread}; ${JSON.stringify([...found, ...foundKinds])}`);
    // Chromium goes on in its logs, so there may be no table: then the unpacker has its two examples only.
    ok(profile.count.logs > 0 && profile.count.unread === 0, "stores were read");
    if (sealed) {
      ok(whereStands(profile, "sealed1 ", stores).length > 0, "the sealed rows are seen");
      equal([...found, ...foundKinds].filter(([, n]) => n > 0), [], "found");
      equal(whereStands(profile, PASSPHRASE), [], "the passphrase");
    } else {
      equal([...found, ...foundKinds.slice(0, 2)].filter(([, n]) => n === 0), [], "control: not found");
    }
  }
}, { seconds: 300 });

test("sealed: locked after a start without a line, opened by the passphrase; only then is the key made", async (clean) => {
  const { site, phone, page } = await fresh(clean);
  ok(!page.asked.some((url) => VAULT.test(url)), "a start with nothing to unlock does not load the worker");
  const code = await seal(page);
  await enter(page, NAME);
  await signSays(page, "saved");
  const rows = Object.values(await kept(page));
  ok(rows.length >= 2 && rows.every((text) => /^(sealed1|key1) /.test(text)), `every row is sealed: ${rows.map((one) => one.slice(0, 8))}`);
  equal(Object.values(await shelf(page, "meta")).map((text) => text.replace(/"at":\d+/, "").split(" ").slice(0, 2).join(" ")).sort(), ["key1 passphrase", "key1 practice", "key1 recovery", "sealed", STRIP], "the keys, the strip that says nothing is in");
  await phone.off();
  await site.stop();
  await phone.on();
  const again = await started(await phone.page(site.url));
  await locked(again);
  ok(!(await again.locator("body").innerText()).includes(NAME), "no name");
  equal(await axe(again), [], "axe");
  const wrong = await unlock(again, "another passphrase");
  ok(!wrong.opened && wrong.words.includes("did not open it"), JSON.stringify(wrong));
  equal(await unlock(again), { opened: true }, "the right one");
  await go(again, "/people");
  await until("the person", async () => (await people(again)).some((text) => text.includes(NAME)));
  equal(again.said.filter((line) => line.startsWith("thrown")), [], "nothing was thrown");
  equal(await again.evaluate(() => window.refused), [], "what the policy refused");
  await lockNow(again);
  await press(again, "Use the recovery code", { exact: true });
  await again.fill("#code", code.toLowerCase());
  await press(again, "Unlock", { exact: true });
  await again.getByText("Opened by the recovery code").waitFor();
  const before = await kept(again);
  await again.fill("#new", "another dry wall altogether");
  await again.fill("#again", "another dry wall altogether");
  await press(again, "Change the passphrase", { exact: true });
  await again.getByText("The passphrase is changed").waitFor();
  equal(await kept(again), before, "nothing was sealed anew");
  await lockNow(again);
  equal((await unlock(again)).opened, false, "the old one opens no more");
  equal(await unlock(again, "another dry wall altogether"), { opened: true }, "the new one");
}, { seconds: 240 });

test("another recovery code: the old one opens no more, the passphrase stays; a wrong passphrase changes nothing", async (clean) => {
  const { phone, site } = await setUp(clean);
  const page = await keptOffline(await phone.page(site.url));
  const old = await seal(page);
  const renew = async (passphrase) => {
    await go(page, "/passphrase");
    await press(page, /^A new recovery code/);
    await page.fill("#present", passphrase);
    await press(page, "Go on", { exact: true });
    const code = (await page.locator("b.code").innerText()).trim();
    await press(page, "It is on paper", { exact: true });
    await page.fill("#second-group", code.split("-")[1]);
    await page.fill("#last-group", code.split("-").at(-1));
    await press(page, "Put it in the old one's place", { exact: true });
    return code;
  };
  const tried = async (code) => {
    const again = await phone.page(site.url);
    await locked(again);
    await press(again, "Use the recovery code", { exact: true });
    await again.fill("#code", code);
    await press(again, "Unlock", { exact: true });
    return [again, await until("the code to be tried", () => again.evaluate(() => (!document.querySelector("#code") ? "opened" : document.querySelector("#code-wrong")?.innerText || undefined)), 60000)];
  };
  const refused = await renew("not that one at all");
  await until("a refusal", async () => (await page.locator("main").innerText()).includes("did not open it"), 30000);
  await go(page, "/");
  const code = await renew(PASSPHRASE);
  await page.getByText("The new code opens this practice").waitFor({ timeout: 30000 });
  ok(code !== old && code !== refused, "each is drawn anew");
  await page.close();
  for (const [which, one, opens] of [["the old code", old, false], ["one that was refused", refused, false], ["the new code", code, true]]) {
    const [again, said] = await tried(one);
    equal(said === "opened", opens, `${which}: ${said}`);
    await again.close();
  }
  const again = await phone.page(site.url);
  ok((await unlock(again)).opened, "the passphrase stays");
}, { seconds: 180 });

test("wrong passphrases: the wait grows, survives a reload, destroys nothing, and is not there with needles in", async (clean) => {
  const { page } = await fresh(clean);
  await seal(page);
  await enter(page, NAME);
  await signSays(page, "saved");
  await lockNow(page);
  const rows = await kept(page);
  for (let n = 0; n < 4; n += 1) equal((await unlock(page, `wrong passphrase ${n}`)).opened, false, `try ${n}`);
  await page.getByText(/^Wait \d s before/).waitFor();
  await page.reload();
  await started(page);
  await page.getByText(/^Wait \d s before/).waitFor();
  const held = await unlock(page);
  ok(!held.opened && held.words.includes("wait"), "the right one is held up too");
  await until("the wait to end", async () => !(await page.getByText(/^Wait \d s before/).count()), 15000);
  equal(await unlock(page), { opened: true }, "after it");
  equal(await kept(page), rows, "nothing was destroyed");
  await openChair(page);
  await place(page);
  await signSays(page, "saved");
  await page.reload();
  await started(page);
  for (let n = 0; n < 5; n += 1) equal((await unlock(page, `wrong passphrase ${n}`)).opened, false, `try ${n}, a needle in`);
  equal(await page.getByText(/^Wait \d/).count(), 0, "no wait with a needle in");
  equal(await unlock(page), { opened: true }, "at once");
}, { seconds: 240 });

test("locked with needles in: the strip without names, counted out before any passphrase, facts at the unlocking", async (clean) => {
  const { phone, site, page } = await fresh(clean);
  await seal(page);
  await killedWithNeedlesIn(phone, page);
  const from = Date.now();
  let again = await started(await phone.page(site.url));
  await locked(again);
  await again.getByText("In now, as this phone last knew it").waitFor();
  say(`the strip stands ${Date.now() - from} ms after the address was given`);
  const words = await again.locator("main").innerText();
  ok(!words.includes(NAME) && words.includes("Emergency cards") && words.includes("Clocks"), "cards and clocks, no name");
  equal((await again.locator("main b.num.in").allInnerTexts()).map(Number), [2, 1], "needles in by region");
  equal(await axe(again), [], "axe");
  await press(again, /^Count out/);
  await press(again, "2", { exact: true });
  await again.getByText(/^2 out:/).waitFor();
  await signSays(again, "saved");
  equal((await again.locator("main b.num.in").allInnerTexts()).map(Number), [1], "the strip follows");
  // Killed once more before anything was unlocked.
  await phone.kill();
  await phone.on();
  again = await started(await phone.page(site.url));
  await locked(again);
  await again.getByText(/^2 out:/).waitFor();
  equal((await again.locator("main b.num.in").allInnerTexts()).map(Number), [1], "after the kill");
  equal(await unlock(again), { opened: true }, "unlocked");
  await findChair(again);
  equal(await sums(again), { inside: 1, out: 2, placed: 3 }, "the count is a fact");
  await until("the nameless rows to be gone", async () => !Object.keys(await kept(again)).some((key) => key.startsWith("out.")));
  await again.reload();
  await started(again);
  equal(await unlock(again), { opened: true }, "unlocked again");
  await findChair(again);
  equal(await sums(again), { inside: 1, out: 2, placed: 3 }, "once, not twice");
}, { seconds: 240 });

test("axe finds nothing on any page of sealing, in both themes, small and wide", async (clean) => {
  const { phone, site, page } = await fresh(clean);
  await page.emulateMedia({ reducedMotion: "reduce" });
  const seen = [];
  const look = looker(page, seen);
  await go(page, "/people");
  await page.getByRole("button", { name: /^Run without a passphrase/ }).waitFor();
  await look("50-first-choice");
  await go(page, "/seal");
  await page.locator("#new").waitFor();
  await look("51-seal");
  await page.fill("#new", PASSPHRASE);
  await page.fill("#again", `${PASSPHRASE}x`);
  await press(page, "Go on", { exact: true });
  await look("52-seal-differs");
  await page.fill("#again", PASSPHRASE);
  await press(page, "Go on", { exact: true });
  await page.locator("b.code").waitFor();
  await look("53-code");
  await go(page, "/");
  await seal(page);
  await look("54-sealed");
  await killedWithNeedlesIn(phone, page);
  const again = await started(await phone.page(site.url));
  await again.emulateMedia({ reducedMotion: "reduce" });
  const lookAgain = looker(again, seen);
  await locked(again);
  await lookAgain("55-locked-needles-in");
  await press(again, /^Count out/);
  await again.locator(".keys:not(.pad)").waitFor();
  await lookAgain("56-locked-count");
  await press(again, "2", { exact: true });
  await again.getByText(/^2 out:/).waitFor();
  await lookAgain("57-locked-counted");
  await unlock(again, "another passphrase");
  await lookAgain("58-wrong");
  equal(seen, [], "faults that axe found");
}, { seconds: 240 });

test("it locks by itself when nobody touches it, and never with a needle in", async (clean) => {
  const { page } = await fresh(clean);
  await seal(page);
  await enter(page, NAME);
  const later = (minutes) => page.evaluate((m) => { const now = Date.now.bind(Date); Date.now = () => now() + m * 60000; }, minutes);
  await openChair(page);
  await place(page);
  await signSays(page, "saved");
  await later(60);
  await sleep(2500);
  equal(await page.locator("h1").filter({ hasText: /^Locked$/ }).count(), 0, "not with a needle in");
  await go(page, "/settings");
  await press(page, "Lock now", { exact: true });
  await page.getByText("It does not lock while a needle is in").waitFor();
  await findChair(page);
  await takeOut(page);
  await signSays(page, "saved");
  await later(9);
  await sleep(2500);
  equal(await page.locator("h1").filter({ hasText: /^Locked$/ }).count(), 0, "not after nine minutes");
  await later(2);
  await locked(page);
  equal(await unlock(page), { opened: true }, "and opens again");
}, { seconds: 180 });

test("sealed later, killed in the middle: nothing is lost, and no plain row of it is left", async (clean) => {
  const random = dice(20261126);
  const { site, phone, page: first } = await fresh(clean);
  await go(first, "/people");
  await press(first, /^Run without a passphrase/);
  const names = [];
  for (let n = 0; n < 3; n += 1) {
    names.push(`Number ${n} Fold (invented)`);
    await enter(first, names[n]);
  }
  await openChair(first);
  for (let n = 0; n < 4; n += 1) await place(first, { region: n });
  await signSays(first, "saved");
  const before = Object.keys(await kept(first)).filter((key) => /^\d/.test(key)).sort();
  let page = first;
  let kills = 0;
  let sealedAt;
  for (let round = 0; round < 12 && sealedAt === undefined; round += 1) {
    const killed = round < 11 ? until("the key to be made", () => page.locator("main [role=status]").filter({ hasText: "Making the key" }).count()).then(() => sleep(round * 400 + random() * 200)).then(() => phone.kill()) : undefined;
    const done = seal(page).then(() => true, () => false);
    if (killed) { await killed; kills += 1; }
    await done;
    if (killed) {
      await phone.on();
      page = await started(await phone.page(site.url));
    }
    const meta = await shelf(page, "meta");
    if (Object.values(meta).some((text) => text.startsWith("key1"))) {
      sealedAt = round;
      if (killed) equal(await unlock(page), { opened: true }, "it opens");
    } else {
      ok(Object.values(await kept(page)).every((text) => text.startsWith("plain ")), "all plain, as it was");
    }
    await go(page, "/people");
    await until("everybody", async () => names.every(async (name) => (await people(page)).some((text) => text.includes(name))));
    const texts = await people(page);
    ok(names.every((name) => texts.some((text) => text.includes(name))), `everybody is there after round ${round}`);
    await findChair(page);
    equal((await sums(page)).inside, 4, `every needle after round ${round}`);
  }
  await until("no plain row", async () => Object.values(await kept(page)).every((text) => !text.startsWith("plain ")));
  const after = Object.keys(await kept(page)).filter((key) => /^\d/.test(key)).sort();
  ok(before.every((key) => after.includes(key)), "every row is there under its key");
  say(`${kills} kills in the middle; sealed in round ${sealedAt}; ${before.length} rows, ${after.length} after`);
}, { seconds: 300 });

test("a count left over from the locked page ends no wait, is named until it is said to be written down, then gone", async (clean) => {
  const { page } = await fresh(clean);
  await seal(page);
  await openChair(page);
  await place(page);
  const session = decodeURIComponent(page.url().split("/").pop());
  await closeChair(page);
  await until("the session to be packed", async () => Object.keys(await shelf(page, "packs")).length > 0);
  const run = "ab".repeat(16);
  const left = (of, n) => page.evaluate(([key, text]) => new Promise((done) => {
    const open = indexedDB.open("pinfold");
    open.onsuccess = () => {
      const change = open.result.transaction("rows", "readwrite");
      change.objectStore("rows").put(text, key);
      change.oncomplete = () => { open.result.close(); done(); };
    };
  }), [`out.${run}.${String(n).padStart(4, "0")}`, `out1 ${of} cheek.left ${n} - ${run} ${Date.now()} ${5000 + n} 0`]);
  const outs = async () => Object.keys(await kept(page)).filter((key) => key.startsWith("out."));
  // One of a session that is closed and packed away, one of a session that was never here.
  await left(session, 2);
  await left(`77-${"cd".repeat(16)}`, 3);
  await page.reload();
  await started(page);
  await page.getByText(/^3 out:/).waitFor();
  for (let n = 0; n < 4; n += 1) equal((await unlock(page, `not the right words ${n}`)).opened, false, "a wrong one");
  await page.getByText(/^Wait \d/).waitFor();
  await until("the wait to be over", async () => !(await page.getByText(/^Wait \d/).count()), 60000);
  equal(await unlock(page), { opened: true }, "it opens");
  await go(page, "/");
  const words = "It is kept until you have written it down";
  await page.getByText(words).first().waitFor();
  const said = await page.locator("main").innerText();
  ok(said.includes("3 out: Patient's L cheek") && said.includes("2 out: Patient's L cheek"), said);
  equal((await outs()).length, 2, "control: both are kept");
  equal(await axe(page), [], "axe");
  await page.reload();
  await started(page);
  equal(await unlock(page), { opened: true }, "opened again");
  await go(page, "/");
  await page.getByText(words).first().waitFor();
  await press(page, "I have written it down", { exact: true });
  await until("it to be named no more", async () => !(await page.getByText(words).count()));
  await until("their rows to be gone", async () => (await outs()).length === 0);
  await page.reload();
  await started(page);
  equal(await unlock(page), { opened: true }, "and again");
  await go(page, "/");
  await signSays(page, "saved");
  equal(await page.getByText(words).count(), 0, "it does not come back");
}, { seconds: 180 });

/** In the page: the next sealing takes `took` ms to be written, and a long wait is over at once. */
function slowly(took) {
  const begin = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (names, mode, options) {
    const begun = begin.call(this, names, mode, options);
    if (mode === "readwrite" && [...names].join() === "meta,rows" && !window.slowed) {
      window.slowed = true;
      const end = Date.now() + took;
      begun.commit = undefined;
      const spin = () => { begun.objectStore("meta").get("x").onsuccess = () => { if (Date.now() < end) spin(); else window.written = true; }; };
      spin();
    }
    return begun;
  };
  const later = window.setTimeout;
  window.setTimeout = (call, millis, ...rest) => later(call, millis === 120000 ? 300 : millis, ...rest);
}

test("sealed slowly: it is not said that nothing was changed, a second press seals nothing anew, and all is there", async (clean) => {
  const { page } = await fresh(clean);
  await go(page, "/people");
  await press(page, /^Run without a passphrase/);
  await enter(page, NAME);
  await signSays(page, "saved");
  await page.evaluate(slowly, 6000);
  await go(page, "/seal");
  await page.fill("#new", PASSPHRASE);
  await page.fill("#again", PASSPHRASE);
  await press(page, "Go on", { exact: true });
  const groups = (await page.locator("b.code").innerText()).trim().split("-");
  await press(page, "It is on paper", { exact: true });
  await page.fill("#second-group", groups[1]);
  await page.fill("#last-group", groups.at(-1));
  await press(page, "Seal this practice", { exact: true });
  const unknown = page.getByText("This browser has not said whether that was done");
  await unknown.waitFor();
  equal(await page.evaluate(() => window.written), undefined, "control: it is still being written");
  const said = await page.locator("main").innerText();
  ok(!said.includes("nothing was changed"), said);
  await until("it to be written", () => page.evaluate(() => window.written));
  const before = await shelf(page, "meta");
  ok(before["key.practice"], "control: it was sealed");
  await press(page, "Seal this practice", { exact: true });
  await sleep(8000); // Longer than making the keys takes.
  await unknown.waitFor();
  const after = await shelf(page, "meta");
  equal([after["key.practice"], after["key.passphrase"]], [before["key.practice"], before["key.passphrase"]], "the keys are the first ones");
  await page.reload();
  await started(page);
  equal(await unlock(page), { opened: true }, "the passphrase opens it");
  await go(page, "/people");
  await until("the person", async () => (await people(page)).some((text) => text.includes(NAME)));
  await go(page, "/");
  await signSays(page, "saved");
  equal(await page.getByText("Not everything can be read").count(), 0, "nothing is lost");
}, { seconds: 120 });

test("a passphrase that was not changed is the old one, also for the next try", async (clean) => {
  const { page } = await fresh(clean);
  await seal(page);
  const change = async (old, next) => {
    await page.fill("#old", old);
    await page.fill("#new", next);
    await page.fill("#again", next);
    await press(page, "Change the passphrase", { exact: true });
  };
  const next = "three gates and a milestone";
  await go(page, "/passphrase");
  await refuse(page, "meta");
  await change(PASSPHRASE, "never kept anywhere at all");
  await page.getByText("everything is as it was").waitFor();
  await refuse(page);
  await change("another than the present one", next);
  await page.getByText("That did not open it").waitFor();
  await change(PASSPHRASE, next);
  await page.getByText("The passphrase is changed.").waitFor();
  await page.reload();
  await started(page);
  equal((await unlock(page)).opened, false, "control: the old one opens it no more");
  equal(await unlock(page, next), { opened: true }, "the new one does");
}, { seconds: 120 });

test("a person's key that is damaged costs that person alone, and is named", async (clean) => {
  const { page } = await fresh(clean);
  await seal(page);
  await enter(page, NAME);
  await enter(page, "Wren Fold (invented)");
  await signSays(page, "saved");
  await page.evaluate(() => new Promise((done, fail) => {
    const open = indexedDB.open("pinfold");
    open.onsuccess = () => {
      const rows = open.result.transaction("rows", "readwrite").objectStore("rows");
      const keys = rows.getAllKeys();
      keys.onsuccess = () => {
        const key = keys.result.find((one) => one.startsWith("key.p:"));
        const asked = rows.get(key);
        asked.onsuccess = () => {
          const text = asked.result;
          const at = text.length - 9;
          rows.put(text.slice(0, at) + (text[at] === "A" ? "B" : "A") + text.slice(at + 1), key).onsuccess = () => { open.result.close(); done(); };
        };
        asked.onerror = fail;
      };
    };
  }));
  await page.reload();
  await started(page);
  equal(await unlock(page), { opened: true }, "it opens");
  await go(page, "/");
  await page.getByText("The key of a person is damaged").first().waitFor();
  await go(page, "/people");
  const left = await until("the other", async () => { const all = await people(page); return all.length ? all : undefined; });
  equal(left.length, 1, `one of two: ${left}`);
  await enter(page, "Third Fold (invented)");
  await signSays(page, "saved");
}, { seconds: 120 });
