// Copies: what leaves, what a file is beside what is here, what it would bring; choices; erasing.
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { bytesOf, headOf, lettersOf, openCopy, sealCopy } from "./age.mjs";
import { axe, equal, fails, ok, sleep, started, test, until } from "./harness.mjs";
import { closeChair, kept, openChair, place, refuse, shelf } from "./hand.mjs";
import { COPY_WORDS, alone, facts, saved, thrown } from "./visit.mjs";

const go = async (page, to) => {
  await page.evaluate((hash) => { location.hash = hash; }, to);
  await sleep(400); // A second press so soon is the same knuckle.
};
const main = (page) => page.locator("main").innerText();
const personOf = async (page, name) => (await facts(page)).find((fact) => fact.kind === "person.named" && fact.body?.name === name);

test("a copy is looked into before it is brought in, and left without a change", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  const copy = await visit.copyOut();
  await page.getByText("Last copy: today.").first().waitFor();
  const last = JSON.parse(copy.trim().split("\n").pop());
  const more = { ...last, id: `${Number(last.id.split("-")[0]) + 1000}-${"ab".repeat(16)}`, stream: "practice", kind: "practice.set", body: { name: "registration", value: "<b>elsewhere</b>" } };
  delete more.key;
  delete more.act;
  const before = await facts(page);
  const chooser = page.waitForEvent("filechooser");
  await visit.press(/^Bring a copy in/);
  await (await chooser).setFiles({ name: "more.txt", mimeType: "text/plain", buffer: Buffer.from(`${copy}${JSON.stringify(more)}\n`) });
  await page.locator("h2").filter({ hasText: "Settings that would change" }).waitFor();
  const said = await main(page);
  ok(said.includes("1 not here") && said.includes("<b>elsewhere</b>"), `as text: ${said}`);
  equal(await page.locator("main b", { hasText: /^elsewhere$/ }).count(), 0, "never as markup");
  equal((await facts(page)).length, before.length, "nothing is changed by looking");
  await sleep(400);
  await visit.press("Leave it");
  await page.getByText("Left. Nothing was changed.").waitFor();
  equal((await facts(page)).length, before.length, "nor by leaving it");
  ok((await visit.copyIn("more.txt", `${copy}${JSON.stringify(more)}\n`)).startsWith("1 fact was brought in"), "control: brought in, it is here");
  equal(thrown(page), [], "nothing was thrown");
});

test("erasing: what is left is said, the name is gone from the page and from the rows", async (clean) => {
  const visit = await withOne(clean, "Sedge Marlow (invented)");
  const { page } = visit;
  const copy = await visit.copyOut();
  const person = await personOf(page, "Sedge Marlow (invented)");
  ok(person, "control: the name is in the rows");
  await go(page, `/erase/${person.id}`);
  const said = await main(page);
  for (const words of ["What is left, without their name", "Copies that were taken out earlier still hold all of it", "0 needles not found"]) ok(said.includes(words), words);
  const hold = page.getByRole("button", { name: /^Erase this person/ });
  await hold.hover();
  await page.mouse.down();
  await sleep(1600);
  await page.mouse.up();
  await page.getByText("Erased. Copies that were taken out earlier still hold it.").waitFor();
  const rows = JSON.stringify(await facts(page));
  ok(!rows.includes("Sedge Marlow"), "not in the rows");
  ok(rows.includes("key.erased"), "the tombstone is");
  // The older copy brings nothing back, and says what it still holds.
  await go(page, "/copies");
  const words = await visit.copyIn("old.txt", copy);
  ok(words.includes("It still holds"), words);
  ok(!JSON.stringify(await facts(page)).includes("Sedge Marlow"), "it did not come back");
  equal(thrown(page), [], "nothing was thrown");
});

test("before erasing: cream that is on and needles that stay in are warned of, and do not stop it", async (clean) => {
  const visit = await withOne(clean, "Sedge Marlow (invented)");
  const { page } = visit;
  const { id } = await personOf(page, "Sedge Marlow (invented)");
  const cream = "Numbing cream is not written down as wiped off";
  const stays = "2 needles stay in on purpose";
  const says = async () => {
    await page.reload();
    await started(page);
    await go(page, "/");
    await go(page, `/erase/${id}`);
    await page.getByText("What is left, without their name").waitFor();
    const said = await main(page);
    return [said.includes(cream), said.includes(stays)];
  };
  const run = "ab".repeat(16);
  const lay = async (n, kind, body) => page.evaluate(([key, text]) => new Promise((done) => {
    const open = indexedDB.open("pinfold");
    open.onsuccess = () => {
      const change = open.result.transaction("rows", "readwrite");
      change.objectStore("rows").put(text, key);
      change.oncomplete = () => { open.result.close(); done(); };
    };
  }), [`${String(n).padStart(16, "0")}-${run}`, `plain ${JSON.stringify({ id: `${n}-${run}`, at: { wall: Date.now(), mono: n, zone: 0 }, stream: `s:500-${run}`, key: `p:${id}`, kind, body })}`]);
  await lay(500, "session.opened", { mode: "count_only", person: id });
  await lay(501, "needle.placed", { region: "cheek.left", count: 2 });
  equal(await says(), [false, false], "control: needles that are in are refused, not warned of");
  await lay(502, "needle.stays_in", { needles: [{ placed: `501-${run}`, from: 0, to: 1 }] });
  equal(await says(), [false, true], "needles that stay in");
  await lay(503, "cream.on", { regions: ["cheek.left"], earliest: 1800, latest: 3600 });
  equal(await says(), [true, true], "and cream that is on");
  const hold = page.getByRole("button", { name: /^Erase this person/ });
  await hold.hover();
  await page.mouse.down();
  await sleep(1600);
  await page.mouse.up();
  await page.getByText("Erased. Copies that were taken out earlier still hold it.").waitFor();
  equal(thrown(page), [], "nothing was thrown");
});

test("an erasing that this phone refused is finished at a later start, whatever is erased in between", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  const names = ["Sedge Marlow (invented)", "Wren Fold (invented)"];
  for (const name of names) {
    await go(page, "/");
    await visit.meet(name, "1984-02-29");
  }
  await saved(page);
  const ids = await Promise.all(names.map(async (name) => (await personOf(page, name)).id));
  const erase = async (id) => {
    await go(page, `/erase/${id}`);
    const hold = page.getByRole("button", { name: /^Erase this person/ });
    await hold.hover();
    await page.mouse.down();
    await sleep(1600);
    await page.mouse.up();
  };
  const named = async (name) => Object.values(await kept(page)).some((text) => text.includes(name));
  const marked = async () => (await shelf(page, "meta")).erasing ?? "";
  await refuse(page, "packs", "summaries", "meta");
  await erase(ids[0]);
  await page.getByText("this phone did not yet take the old lines away").waitFor();
  const said = await main(page);
  // It is tried once more by itself, and refused again.
  const refusals = () => page.evaluate(() => window.refusals);
  await until("the second try to be refused", async () => (await refusals()) >= 4);
  await sleep(1000);
  equal(await named(names[0]), true, "control: the first is still in the rows");
  equal(await marked(), ids[0], "and is marked");
  await refuse(page);
  await erase(ids[1]);
  await page.getByText("Erased. Copies that were taken out earlier still hold it.").waitFor();
  equal([await named(names[0]), await named(names[1])], [true, false], "the second is gone, the first is not");
  equal(await marked(), ids[0], "and is still marked");
  await page.reload();
  await until("the first to be gone", async () => !(await named(names[0])));
  equal(await marked(), "", "nothing is marked any more");
  ok(said.includes("Close Pinfold and open it again before you hand the phone on."), `what finishes it is what was said: ${said}`);
  equal(thrown(page), [], "nothing was thrown");
});

test("how long records are kept: an example is taken, changed and kept", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await go(page, "/keeping");
  await page.getByText("These are examples and no advice").waitFor();
  await visit.press(/^Texas rule/);
  equal(await page.locator("#years").inputValue(), "5", "its years");
  equal(await page.locator("#minor").inputValue(), "21", "its birthday");
  await page.locator("#years").fill("0");
  await sleep(400);
  await visit.press("Keep");
  await page.getByText("Write 1 to 100 years").waitFor();
  await page.locator("#years").fill("7");
  await sleep(400);
  await visit.press("Keep");
  await page.getByText("Kept.").waitFor();
  const set = (await facts(page)).filter((fact) => fact.kind === "practice.set" && fact.body.name === "retention.years");
  equal(set.map((fact) => fact.body.value), ["7"], "written once");
});

const NAME = "Wren Fold (invented)";
const made = async (page) => (await facts(page)).filter((fact) => fact.kind === "copy.made").length;

/** A phone with one person in it, on the page Copies. */
async function withOne(clean, name = NAME) {
  const { open } = await alone(clean);
  const visit = await open();
  await visit.meet(name, "1984-02-29");
  await saved(visit.page);
  await go(visit.page, "/copies");
  return visit;
}

test("a copy leaves sealed, by a passphrase typed twice, and only from a press of its own", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  await visit.press(/^Take a copy out/);
  ok((await main(page)).includes("If it is lost, nobody can open the copy"), "what happens if it is lost");
  equal(await page.getByRole("button", { name: /^Leave it unsealed/ }).count(), 0, "people never leave plain");
  equal(await axe(page), [], "axe, where a passphrase is set");
  for (const [first, second, words] of [["short", "short", "too short"], [COPY_WORDS, `${COPY_WORDS}s`, "not the same"]]) {
    await page.locator("#new").fill(first);
    await page.locator("#again").fill(second);
    await sleep(350);
    await visit.press("Seal the copy");
    await page.getByText(words).waitFor();
  }
  await visit.press("Take no copy now");
  await page.getByText("No file was written").waitFor();
  equal(await made(page), 0, "no copy was made");
  const copy = await visit.sealed(/^Take a copy out/);
  ok(/^pinfold-\d{4}-\d\d-\d\d\.age\.txt$/.test(copy.name) && copy.type === "text/plain", `a text that phones share: ${copy.name} ${copy.type}`);
  ok(copy.text.startsWith("-----BEGIN AGE ENCRYPTED FILE-----\n"), "in letters");
  equal(headOf(bytesOf(copy.text)).work, 17, "the work is fixed");
  const shows = (text) => text.includes("Wren Fold");
  ok(!shows(copy.text) && !shows(bytesOf(copy.text).toString("latin1")), "no name in it");
  ok(shows(openCopy(copy.text, COPY_WORDS)), "control: opened elsewhere it is there");
  await fails("control: another passphrase", async () => openCopy(copy.text, `${COPY_WORDS}s`));
  await until("the copy to be noted", async () => (await made(page)) === 1);
  equal(await page.locator("input[type=password]").count(), 0, "the passphrase is not left standing");
  // What came since is sealed as well.
  const since = await visit.sealed(/^What came since/);
  equal(JSON.parse(openCopy(since.text, COPY_WORDS).split("\n")[0]).scope, "since", "its first line");
  // So is one person.
  const person = await personOf(page, NAME);
  await go(page, `/erase/${person.id}`);
  const one = await visit.sealed(/^This person's record/);
  ok(!shows(one.text) && shows(openCopy(one.text, COPY_WORDS)), "one person, sealed");
  equal(thrown(page), [], "nothing was thrown");
});

test("the share sheet is opened by a fresh press, with a text file that is ready", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  await page.evaluate(() => {
    window.shared = [];
    Object.defineProperty(navigator, "canShare", { configurable: true, value: (what) => what.files[0].type === "text/plain" && what.files[0].name.endsWith(".txt") });
    Object.defineProperty(navigator, "share", { configurable: true, value: async (what) => {
      window.shared.push({ active: navigator.userActivation.isActive, name: what.files[0].name, text: await what.files[0].text() });
      if (window.shared.length === 1) throw new DOMException("closed", "AbortError");
    } });
  });
  await visit.press(/^Take a copy out/);
  await page.locator("#new").fill(COPY_WORDS);
  await page.locator("#again").fill(COPY_WORDS);
  await visit.press("Seal the copy");
  await page.getByText("It has not left this phone yet.").waitFor({ timeout: 30000 });
  // Longer than a browser lets one press count. Asked without a hand: the question itself is no press.
  await sleep(6000);
  const asked = await page.cdp.send("Runtime.evaluate", { expression: "navigator.userActivation.isActive", userGesture: false });
  equal(asked.result.value, false, "control: the first press is used up");
  await visit.press("Share it");
  await page.getByText("No file was written").waitFor();
  equal(await made(page), 0, "given up: no copy is noted");
  await sleep(350);
  await visit.press("Share it");
  await until("the copy to be noted", async () => (await made(page)) === 1);
  const shared = await page.evaluate(() => window.shared);
  equal(shared.map((one) => one.active), [true, true], "each from a press that counts");
  ok(openCopy(shared[1].text, COPY_WORDS).includes("Wren Fold"), "what was shared opens");
  equal(thrown(page), [], "nothing was thrown");
});

test("procedures alone may leave plain, by choice and marked", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  const sealed = await visit.sealed(/^Our own procedures only/);
  const text = openCopy(sealed.text, COPY_WORDS);
  equal(JSON.parse(text.split("\n")[0]).scope, "procedures", "sealed is the first way");
  await visit.press(/^Our own procedures only/);
  await visit.press(/^Leave it unsealed/);
  await page.getByText("NOT sealed: whoever has the file can read it").waitFor();
  await page.evaluate(() => { window.copied = undefined; });
  await visit.press("Put it into the downloads");
  const plain = await until("the copy", () => page.evaluate(() => window.copied));
  ok(plain.name.endsWith(".not-sealed.jsonl.txt"), plain.name);
  equal(JSON.parse(plain.text.split("\n")[0]).scope, "procedures", "readable");
  ok(!plain.text.includes("Wren Fold"), "nobody's record is in it");
  equal(await made(page), 0, "and it is no copy of the practice");
});

/** Gives a file of this machine to what asks for one, past the browser's own wire: that takes no more than 50 MB. */
async function byPath(page, ask, file) {
  await page.cdp.send("Page.enable");
  await page.cdp.send("Page.setInterceptFileChooserDialog", { enabled: true });
  const asked = new Promise((done) => page.cdp.once("Page.fileChooserOpened", done));
  await ask();
  const { backendNodeId } = await asked;
  await page.cdp.send("DOM.setFileInputFiles", { files: [file], backendNodeId });
  await page.cdp.send("Page.setInterceptFileChooserDialog", { enabled: false });
}

test("sealed copies are opened in letters and in bytes; each way to fail has its own sentence", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  const before = (await facts(page)).length;
  const give = async (file) => {
    await sleep(350);
    const ask = () => visit.press(/^Bring a copy in/);
    if (file.path) return byPath(page, ask, file.path);
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), ask()]);
    await chooser.setFiles({ name: "copy.age.txt", mimeType: "text/plain", buffer: Buffer.from(file) });
  };
  const status = page.locator("main > p[role=status]");
  const says = async (words, what) => {
    await until(`${what}: "${words}"`, async () => (await status.innerText()).includes(words), 15000);
    equal(await page.locator("#sealed-copy").count(), 0, `${what}: no passphrase is asked for`);
    // Another file clears it, so the same words are never taken twice.
    await go(page, "/about");
    await go(page, "/copies");
  };
  const head = { pinfold: "journal", format: 1, scope: "whole", entries: 0 };
  const bytes = sealCopy(`${JSON.stringify(head)}\n`, COPY_WORDS);
  const letters = lettersOf(bytes);
  const flipped = Buffer.from(bytes);
  flipped[flipped.length - 1] ^= 1;
  const work = (n) => Buffer.concat([Buffer.from(bytes.subarray(0, headOf(bytes).length).toString().replace(" 15\n", ` ${n}\n`)), bytes.subarray(headOf(bytes).length)]);
  for (const [what, file] of [["letters", letters], ["bytes", bytes], ["letters that an editor saved", `\ufeff${letters.replaceAll("\n", "\r\n")}`]]) {
    await give(file);
    await page.locator("#sealed-copy").fill("not that one at all");
    if (what === "letters") equal(await axe(page), [], "axe, where one is asked for");
    await sleep(350);
    await visit.press("Open it");
    await page.getByText("This passphrase does not open this copy").waitFor({ timeout: 15000 });
    await page.locator("#sealed-copy").fill(COPY_WORDS);
    await sleep(350);
    await visit.press("Open it");
    await page.locator("h2").filter({ hasText: "What this copy is" }).waitFor({ timeout: 15000 });
    ok((await main(page)).includes("0 facts in it"), what);
    await sleep(350);
    await visit.press("Leave it");
  }
  await give(flipped);
  await page.locator("#sealed-copy").fill(COPY_WORDS);
  await visit.press("Open it");
  await says("a part of this copy was changed, damaged or cut off", "one bit");
  for (const [what, file, words] of [
    ["cut letters", letters.slice(0, letters.lastIndexOf("-----END")), "The end of this copy is missing"],
    ["a cut head", bytes.subarray(0, 60), "The beginning of this copy is damaged or cut off"],
    ["a letter", letters.replace(/^YWdl/m, "Y*dl"), "The letters of this copy were changed"],
    ["work", work(30), "asks for more memory than is allowed here"],
    ["endless work", work("9".repeat(30)), "asks for more memory than is allowed here"],
    ["a key", Buffer.from(bytes.toString("latin1").replace("-> scrypt", "-> X25519"), "latin1"), "sealed for a key, not with a passphrase"],
    ["a later version", Buffer.from(bytes.toString("latin1").replace("/v1", "/v7"), "latin1"), "a version of the format that is not known here"],
    ["bytes that are no text", Buffer.from([0x89, 0x50, 0x4e, 0x47, 0, 255, 254, 1]), "This file is no text"],
  ]) {
    await give(file);
    await says(words, what);
  }
  // Too long: files with nothing in them but their beginning, which no memory could hold twice.
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "pinfold-long-"));
  clean(() => fs.rmSync(folder, { recursive: true }));
  for (const [name, begin, bytes, words] of [
    ["long.age.txt", "-----BEGIN AGE ENCRYPTED FILE-----\n", 190_000_000, "larger than is read here"],
    ["long.jsonl.txt", `${JSON.stringify(head)}\n`, 190_000_000, "longer than 128 MB"],
  ]) {
    const file = path.join(folder, name);
    fs.writeFileSync(file, begin);
    fs.truncateSync(file, bytes);
    await give({ path: file });
    await says(words, name);
  }
  equal((await facts(page)).length, before, "nothing was written by any of it");
  // Control: a fact in a sealed copy is brought in.
  const first = (await facts(page)).find((fact) => fact.kind === "person.named");
  const more = { ...first, id: `${Number(first.id.split("-")[0]) + 1000}-${"ab".repeat(16)}`, stream: "practice", kind: "practice.set", body: { name: "registration", value: "from elsewhere" } };
  delete more.key;
  delete more.act;
  await give(lettersOf(sealCopy(`${JSON.stringify({ ...head, entries: 1 })}\n${JSON.stringify(more)}\n`, COPY_WORDS)));
  await page.locator("#sealed-copy").fill(COPY_WORDS);
  await sleep(350);
  await visit.press("Open it");
  await page.locator("h2").filter({ hasText: "What this copy is" }).waitFor({ timeout: 15000 });
  await sleep(350);
  await visit.press("Bring it in");
  await page.getByText("1 fact was brought in").waitFor();
  equal(thrown(page), [], "nothing was thrown");
});

test("a long copy is several files, each by a press of its own; another phone takes them in any order", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "pinfold-pieces-"));
  clean(() => fs.rmSync(folder, { recursive: true }));
  // Many people with a fact of a later kind each, as long as a line may be.
  const first = (await facts(page)).find((fact) => fact.kind === "person.named");
  const lines = [JSON.stringify({ pinfold: "journal", format: 1 })];
  for (let n = 1; n <= 150; n += 1) {
    const id = `${1000 + 2 * n}-${"cd".repeat(16)}`;
    const of = { ...first, stream: `p:${id}`, key: `p:${id}`, act: undefined };
    lines.push(JSON.stringify({ ...of, id, body: { name: `Person ${n}` } }));
    lines.push(JSON.stringify({ ...of, id: `${1001 + 2 * n}-${"cd".repeat(16)}`, kind: "person.sang", body: { text: "la".repeat(125_000) } }));
  }
  const all = path.join(folder, "all.txt");
  fs.writeFileSync(all, `${lines.join("\n")}\n`);
  await byPath(page, () => visit.press(/^Bring a copy in/), all);
  await page.getByRole("button", { name: "Bring it in" }).waitFor({ timeout: 30000 });
  await sleep(350);
  await visit.press("Bring it in");
  await page.getByText("300 facts were brought in").waitFor({ timeout: 30000 });

  await visit.seal(/^Take a copy out/);
  ok((await main(page)).includes("File 1 of 2."), "it says how many");
  const files = [await visit.leave()];
  await page.getByText("File 1 of 2 has left.").waitFor();
  equal(await made(page), 0, "half a copy is none");
  await sleep(350);
  files.push(await visit.leave());
  await until("the copy to be noted", async () => (await made(page)) === 1);
  equal(files.map((file) => file.name.replace(/^pinfold-[-\d]+\./, "")), ["1-of-2.age.txt", "2-of-2.age.txt"], "their names");
  const heads = files.map((file) => JSON.parse(openCopy(file.text, COPY_WORDS).split("\n", 1)[0]));
  equal(heads.map(({ piece }) => [piece.number, !!piece.all]), [[1, false], [2, true]], "their first lines");
  equal(heads[0].entries + heads[1].entries, heads[1].piece.all.entries, "each fact is in one of them");
  equal(thrown(page), [], "nothing was thrown");
  const count = (await facts(page)).filter((fact) => !fact.kind.startsWith("copy.")).length;
  await page.close();

  const other = await (await alone(clean)).open();
  await go(other.page, "/copies");
  const bring = async (n, ...words) => {
    const file = path.join(folder, files[n].name);
    fs.writeFileSync(file, files[n].text);
    await byPath(other.page, () => other.press(/^Bring a copy in/), file);
    await other.page.locator("#sealed-copy").fill(COPY_WORDS);
    await sleep(350);
    await other.press("Open it");
    await other.page.locator("h2").filter({ hasText: "What this copy is" }).waitFor({ timeout: 30000 });
    const said = await main(other.page);
    for (const one of words) ok(said.includes(one), `${one}: ${said}`);
    await sleep(350);
    await other.press("Bring it in");
    await until(`file ${n} to be brought in`, async () => (await main(other.page)).includes("facts were brought in"), 60000).catch(async (why) => { throw new Error(`${why.message}: ${await main(other.page)}`); });
    await sleep(350);
  };
  await bring(1, "The last of 2 files that are one copy.", "bring the others in as well");
  await bring(0, "File 1 of a copy of several files");
  equal((await facts(other.page)).filter((fact) => !fact.kind.startsWith("copy.")).length, count, "everything is there");
  ok(await personOf(other.page, "Wren Fold (invented)"), "and so is she");
  equal(thrown(other.page), [], "nothing was thrown");
}, { seconds: 180 });

test("a copy that would take somebody out of the chair is held up until the needles are out", async (clean) => {
  const visit = await withOne(clean);
  const { page } = visit;
  const copy = await visit.copyOut();
  const person = await personOf(page, NAME);
  await openChair(page);
  await saved(page);
  const { stream } = (await facts(page)).find((fact) => fact.kind === "session.opened");
  const tomb = { id: `9999-${"ab".repeat(16)}`, at: person.at, stream: "practice", kind: "key.erased", v: 1, body: { key: `p:${person.id}`, streams: [stream] } };
  const file = { name: "erased.txt", mimeType: "text/plain", buffer: Buffer.from(`${copy}${JSON.stringify(tomb)}\n`) };
  const bring = page.getByRole("button", { name: "Bring it in" });
  const look = async () => {
    await go(page, "/copies");
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), visit.press(/^Bring a copy in/)]);
    await chooser.setFiles(file);
    await page.locator("h2").filter({ hasText: "They would be erased here" }).waitFor();
    return [await bring.isVisible(), (await main(page)).includes("They are in the chair here")];
  };
  equal(await look(), [true, false], "control: with nothing in it may come");
  await sleep(400);
  await visit.press("Leave it");
  await go(page, `/chair/${stream.slice(2)}`);
  await place(page, { needles: 2 });
  equal(await look(), [false, true], "with needles in it may not");
  await sleep(400);
  await visit.press("Leave it");
  await closeChair(page);
  equal(await look(), [true, false], "nor is it held up for longer");
  equal(thrown(page), [], "nothing was thrown");
}, { seconds: 120 });
