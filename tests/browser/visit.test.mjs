// One whole visit on a phone with no internet: the first with 12 needles, the return with 48, by
// touch and by keyboard, with the server stopped; what a slip does on each form and with each file;
// what axe finds on each page.
import { axe, equal, ok, say, sleep, test, until } from "./harness.mjs";
import { clearCard } from "./hand.mjs";
import { Keys, alone, facts, firstVisit, looker, saved, thrown } from "./visit.mjs";

const sum = (list) => list.reduce((a, b) => a + b, 0);
const count = (all, kind) => sum(all.filter((fact) => fact.kind === kind).map((fact) => fact.body.count));

/** How many sheets of A4 the page that is shown takes, as the browser lays it out for a printer. */
async function sheets(page) {
  const { data } = await page.cdp.send("Page.printToPDF", { paperWidth: 8.27, paperHeight: 11.69 });
  return Buffer.from(data, "base64").toString("latin1").match(/\/Type\s*\/Page\b/g).length;
}

test("first visit with 12 needles, server stopped, by touch", async (clean) => {
  const { phone, open } = await alone(clean);
  let visit = await open();
  await firstVisit(visit);
  ok((await visit.page.locator("main").innerText()).includes("Wren Fold"), "Today still shows the visit");
  await visit.page.locator(".due").getByText("done").waitFor();
  await saved(visit.page);
  const all = await facts(visit.page);
  equal(count(all, "needle.placed"), 12, "needles placed in the journal");
  equal(all.filter((fact) => fact.kind === "session.closed").length, 1, "sessions closed");
  equal(all.find((fact) => fact.kind === "session.closed").body.not_found, 0, "not found");
  const consent = all.find((fact) => fact.kind === "person.consented").body;
  equal([consent.needles, consent.cream, consent.read_back], [true, false, true], "consent");
  // Export, and the same file again: nothing changes. The control follows: one fact more does.
  const copy = await visit.copyOut();
  const head = JSON.parse(copy.split("\n")[0]);
  equal([head.pinfold, head.format, head.scope, head.entries], ["journal", 1, "whole", all.length], "the copy's first line");
  equal(copy.trim().split("\n").length - 1, all.length, "a line for each entry");
  ok((await visit.copyIn("same.jsonl.txt", copy)).includes("Nothing was changed"), "the same copy is nothing new");
  // That a copy was made is a fact; that nothing came is none.
  equal((await facts(visit.page)).length, all.length + 1, "entries after the same copy");
  const again = await visit.copyOut();
  const lines = (text) => text.trim().split("\n").slice(1).filter((line) => !line.includes('"copy.made"'));
  equal(lines(again).length, all.length, "control: lines are compared");
  ok(JSON.stringify(lines(again)) === JSON.stringify(lines(copy)), "the copy after bringing the same in, but for the note on the first");
  const more = JSON.parse(copy.trim().split("\n").pop());
  more.id = `${Number(more.id.split("-")[0]) + 1000}-${"ab".repeat(16)}`;
  more.stream = "practice";
  more.kind = "practice.set";
  more.body = { name: "registration", value: "brought in" };
  delete more.key;
  delete more.act;
  const longer = `${copy}${JSON.stringify(more)}\n`;
  ok((await visit.copyIn("longer.jsonl.txt", longer)).startsWith("1 fact was brought in"), "control: one fact more is one new entry");
  // Two copies made, one fact brought in, and that it was.
  equal((await facts(visit.page)).length, all.length + 4, "control: entries after a longer copy");
  await visit.tab("Settings");
  equal(await visit.page.locator("#registration").inputValue(), "brought in", "control: its value stands");
  // After the phone was off, the same again.
  await saved(visit.page);
  await phone.kill();
  await phone.on();
  visit = await open();
  equal((await facts(visit.page)).length, all.length + 4, "entries after the phone was off");
  equal(thrown(visit.page), [], "nothing was thrown");
});

test("return visit with 48 needles within 40 presses in Chair, server stopped", async (clean) => {
  const { phone, open } = await alone(clean);
  const before = Date.now() - 10 * 86400000;
  let visit = await open({ at: before });
  await firstVisit(visit, { quick: true });
  await saved(visit.page);
  await phone.off();
  await phone.on();
  visit = await open();
  await visit.tab("People");
  await visit.follow("Wren Fold (invented)");
  await visit.ask();
  await visit.look("Skin calm after last time.");
  await visit.plan("Full return visit");
  await visit.sit();
  const placed = await visit.placeAll();
  equal(sum(placed.map(([, n]) => n)), 48, "needles placed");
  equal(placed.length, 7, "regions");
  ok(placed[0][0].startsWith("Hands"), "hands and arms first");
  await visit.takeOutAll(placed);
  await visit.count();
  await visit.close();
  const presses = (await visit.page.evaluate(() => window.pressed)).filter((one) => ["chair", "out", "count"].includes(one.page));
  console.log(`       presses in Chair for 48 needles: ${presses.length}`);
  ok(presses.length <= 40, `${presses.length} presses in Chair: ${presses.map((one) => one.text).join(" | ")}`);
  ok(presses.length >= 7 + 14 + 2, "control: the counter sees the presses");
  // None between two needles of one region: what went in and what came out of a region is one act.
  await saved(visit.page);
  const all = await facts(visit.page);
  const session = all.filter((fact) => fact.kind === "session.opened").pop();
  const here = all.filter((fact) => fact.stream === `s:${session.id}`);
  for (const [kind, region] of [["needle.placed", (fact) => `${fact.body.region}#${fact.body.of}`], ["needle.out", (fact) => fact.body.region]]) {
    const acts = new Map();
    for (const fact of here.filter((fact) => fact.kind === kind)) acts.set(region(fact), (acts.get(region(fact)) ?? new Set()).add(fact.act ?? fact.id));
    equal(acts.size, 7, `${kind}: regions`);
    for (const [name, set] of acts) equal(set.size, 1, `${kind}: acts in ${name}`);
  }
  equal(count(here, "needle.placed"), 48, "needles in the journal");
  await visit.write("One small bruise, L cheek.");
  await visit.next();
  const { page } = visit;
  await page.evaluate((to) => { location.hash = `/print-record/${to}`; }, session.id);
  await page.locator("main.paper table").waitFor();
  equal(await sheets(page), 1, "sheets of A4 for the record of 48 needles");
  await page.evaluate((to) => { location.hash = `/print-tray/${to}`; }, session.body.person);
  await page.getByText("Guide tubes").waitFor();
  equal(await sheets(page), 1, "sheets of A4 for the tray list");
  equal(thrown(visit.page), [], "nothing was thrown");
});

test("first visit with 12 needles, server stopped, by keyboard alone", async (clean) => {
  const { open } = await alone(clean, { hands: Keys });
  const visit = await open();
  await firstVisit(visit);
  await saved(visit.page);
  const all = await facts(visit.page);
  equal(count(all, "needle.placed"), 12, "needles placed in the journal");
  equal(all.filter((fact) => fact.kind === "session.closed").length, 1, "sessions closed");
  const copy = await visit.copyOut();
  equal(copy.trim().split("\n").length - 1, all.length, "a line for each entry");
  equal(thrown(visit.page), [], "nothing was thrown");
});

test("the open chair is first on Today after the phone went off, and pinned on every page", async (clean) => {
  const { phone, open } = await alone(clean);
  let visit = await open();
  await visit.emergencyNumber("112");
  await visit.meet("Ash Linnet (invented)", "1990-05-01");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.plan("Short first visit");
  equal(await visit.page.locator("a.pinned").count(), 0, "control: nothing is pinned before a chair is open");
  await visit.sit();
  const placed = await visit.placeAll();
  await saved(visit.page);
  await phone.kill();
  await phone.on();
  visit = await open();
  const first = visit.page.locator("main a").first();
  const words = (await first.innerText()).replace(/\s+/g, " ");
  ok(/^12 Ash Linnet \(invented\) is in the chair .*resume$/.test(words), `the first thing on Today: ${words}`);
  for (const tab of ["People", "Settings", "About"]) {
    await visit.tab(tab);
    await visit.page.locator(".screen h1").filter({ hasText: tab }).waitFor();
    const pinned = (await visit.page.locator("a.pinned").innerText()).replace(/\s+/g, " ");
    ok(/^Ash Linnet \(invented\) 12 in Hands, arms: \d+ min resume$/.test(pinned), `pinned on ${tab}, with the next clock: ${pinned}`);
  }
  await visit.hands.press(visit.page.locator("a.pinned"));
  await visit.where("chair/");
  await clearCard(visit.page);
  equal(await visit.inside(), 12, "in the chair again");
  equal(await visit.page.locator("a.pinned").count(), 0, "its own chair is not pinned over it");
  await visit.takeOutAll(placed);
});

test("a chair without consent shows a flag and no lock; one by one, unwell and the cards", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  await visit.emergencyNumber("112");
  await visit.meet("Fern Rook (invented)", "1979-11-30");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.press(/^Short first visit/);
  await visit.sit();
  equal((await visit.page.locator(".flag").innerText()).trim(), "no consent written down", "the flag");
  const placed = await visit.placeAll();
  equal(sum(placed.map(([, n]) => n)), 12, "needles go in all the same");
  // Two regions fit on one screen, with the press for each.
  for (const [region, n] of placed.slice(0, -2)) {
    void region;
    await visit.hands.press(visit.page.locator(".slab").first());
    await visit.where("out/");
    await visit.hands.number(n);
    await visit.where("chair/");
    await sleep(100);
  }
  const size = await visit.page.evaluate(() => [document.documentElement.scrollHeight, innerHeight]);
  ok(size[0] <= size[1], `two regions to take out fit one screen: ${size.join(" of ")}`);
  equal(await visit.page.locator(".waiting a.waits[href]:visible").count(), 1, "the other region has a press of its own");
  ok((await visit.page.locator(".waiting a.waits[href]").first().boundingBox()).height >= 64, "which is 64 px high");
  // One by one in the last region.
  const [, last] = placed[placed.length - 1];
  await visit.hands.press(visit.page.locator(".waiting a.waits[href]").first());
  await visit.where("out/");
  await visit.press("One by one");
  for (let n = last; n > 0; n -= 1) {
    const took = await visit.page.locator(".slab.again").innerText();
    ok(/^Took out [A-Z-]+\d/.test(took), `the press names the point: ${took}`);
    await visit.hands.press(visit.page.locator(".slab.again"));
  }
  await visit.where("chair/");
  // Unwell: the number, the cards, and everything out in one held press.
  await visit.press("Unwell");
  const sheet = visit.page.getByRole("dialog", { name: "Unwell" });
  equal(await sheet.getByRole("link").getAttribute("href"), "tel:112", "the number to call");
  ok((await sheet.innerText()).includes("Lay flat, legs up."), "the first card is open");
  equal(await sheet.locator("details").count(), 11, "cards: one for each thing that can go wrong");
  await visit.press("Write the time down");
  await visit.hands.hold(sheet.locator(".hold"), 900);
  await sheet.getByText("All are out, not yet counted").waitFor();
  await sleep(700); // what a finger lifts from after a held act is not pressed
  await visit.press("Back");
  equal(await visit.page.locator("dialog[open]").count(), 0, "the finger that lifted has pressed nothing beneath");
  await until("all to be out", async () => (await visit.inside()) === 0);
  await saved(visit.page);
  const all = await facts(visit.page);
  equal(all.filter((fact) => fact.kind === "needle.out_uncounted").length, 1, "taken out, not counted");
  equal(all.filter((fact) => fact.kind === "note").map((fact) => fact.body.text), ["Unwell"], "the time is noted");
  // Close stays shut until they are counted, blind, from the tray.
  await visit.press("Count");
  await visit.where("count/");
  equal(await visit.page.locator(".hold").last().getAttribute("aria-disabled"), "true", "close is shut");
  ok((await visit.page.locator(".question").innerText()).includes("count in the tray"), "the tray is asked first");
  await visit.hands.number(9);
  // More lay there than anybody had entered: needles all the same, kept and not explained away.
  await until("the others to be kept", async () => (await facts(visit.page)).some((fact) => fact.kind === "needle.turned_up" && fact.body.loose > 0));
  equal(await visit.page.getByText("adds up").isVisible(), false, "and it does not add up");
  equal(thrown(visit.page), [], "nothing was thrown");
});

test("numbing cream: hidden until scope is confirmed, its clock, and off first", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  await visit.emergencyNumber("112");
  await visit.meet("Teal Moss (invented)", "1988-03-03");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.press(/^Short first visit/);
  equal(await visit.page.locator("#grams:visible").count(), 0, "no cream step before scope is confirmed");
  await visit.page.evaluate(() => { location.hash = "/settings"; });
  await visit.press("my scope allows it");
  await visit.page.goBack();
  await visit.page.locator("#grams").waitFor();
  await visit.press("numbing cream");
  await visit.press("They agree, and the name is right");
  await visit.press("Plan this cream");
  await visit.page.getByText("off and clean before the first needle there. 3 g of cream on 20 cm², at least 30 min.").waitFor();
  // A cream brings questions of its own, and the chair waits for them.
  equal(await visit.page.locator(".slab.solid").last().getAttribute("aria-disabled"), "true", "no chair while they are open");
  await visit.askAtOnce();
  await visit.step("Plan");
  await visit.sit();
  await visit.press("Numbing cream on");
  await visit.page.locator(".waiting").getByText("Cream").waitFor();
  ok((await visit.page.locator(".waiting li").first().innerText()).includes("30 min"), "it dwells 30 minutes: common practice");
  await visit.press("Strips opened, as planned");
  for (let n = 0; n < 3; n += 1) {
    const text = await visit.page.locator(".slab").first().innerText();
    if (text.includes("Forehead")) break;
    await visit.hands.press(visit.page.locator(".slab").first());
  }
  await visit.page.getByText("Cream is still on here").waitFor();
  await visit.press("Cream wiped off");
  await until("the warning to go", async () => !(await visit.page.getByText("Cream is still on here").isVisible()));
  await saved(visit.page);
  const kinds = (await facts(visit.page)).map((fact) => fact.kind).filter((kind) => kind.startsWith("cream"));
  equal(kinds, ["cream.on", "cream.off"], "both are written down");
});

test("a slot that is too short is said at planning, and a press makes the plan fit", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Fern Tarn (invented)", "1979-09-09");
  await page.locator("#long").fill("33");
  await visit.press("Book a visit");
  await until("the booking", async () => (await facts(page)).some((fact) => fact.kind === "person.booked" && fact.body.minutes === 33));
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.press(/^Full return visit/);
  await page.getByText("Does not fit the slot").waitFor();
  const needles = async () => Number((await page.locator("main").innerText()).match(/, (\d+) to place/)[1]);
  const before = await needles();
  const offer = page.locator("li button").filter({ hasText: /needles: \d+ min/ });
  const offered = Number((await offer.innerText()).match(/(\d+) needles/)[1]);
  ok(offered < before, `control: ${offered} needles are offered in place of ${before}`);
  await visit.hands.press(offer);
  await page.getByText(/Fits, with \d+ min to spare/).waitFor();
  equal(await needles(), offered, "needles in the plan after the press");
  await page.getByText("fewer needles, to fit the time").first().waitFor();
  await visit.press(/^Full return visit/);
  await page.getByText("Does not fit the slot").waitFor();
  equal(await needles(), before, "choosing the procedure again brings the whole of it back");
});

test("paper: the question sheet is entered in its own order, and each print page is as long as it may be", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  const to = async (hash) => {
    await page.evaluate((there) => { location.hash = `/${there}`; }, hash);
    await page.locator("main.paper").waitFor();
  };
  const asked = () => page.locator(".q").evaluateAll((all) => all.map((q) => q.querySelector(".asked, label").innerText.split("\n")[0].trim()));
  await visit.emergencyNumber("112");
  await visit.meet("Rook Sallow (invented)", "1990-05-05");
  const person = decodeURIComponent(page.url().split("/").pop());
  await to("print-sheet");
  const sheet = await page.locator(".paper .line span:first-child").evaluateAll((all) => all.map((line) => line.innerText.trim()));
  ok(sheet.length > 60, `the sheet holds the bank: ${sheet.length} questions`);
  const long = [["question sheet", await sheets(page), 6]];
  await page.evaluate((who) => { location.hash = `/person/${who}`; }, person);
  await visit.step("Ask");
  await page.locator(".q").first().waitFor();
  const without = await asked();
  await visit.press(/^Enter from paper/);
  await until("the whole sheet", async () => (await page.locator(".q").count()) >= sheet.length);
  const entered = (await asked()).map((text) => text.replace(/, [^,]*$/, ""));
  equal(entered, sheet.map((text) => text.replace(/, [^,]*$/, "")), "the questions to enter, beside those on the sheet");
  ok(JSON.stringify(without) !== JSON.stringify(entered), "control: without the paper other questions stand there");
  await visit.hands.press(page.locator(".q").getByRole("button", { name: "no", exact: true }).first());
  await visit.press(/^Paper is entered/);
  await until("the questions of the screen", async () => (await page.locator(".q").count()) < sheet.length);
  await visit.askAtOnce();
  await saved(page);
  const told = (await facts(page)).filter((fact) => fact.kind === "person.answered").map((fact) => fact.body.told);
  equal(told.filter((how) => how === "paper").length, 1, "answers from the paper are marked so");
  ok(told.length > 20 && told.slice(1).every((how) => how !== "paper"), `control: what was asked is not: ${told}`);
  await visit.look("Quiet.");
  await visit.plan("Full return visit");
  await to(`print-tray/${person}`);
  long.push(["tray list", await sheets(page), 2]);
  await to(`print-aftercare/${person}`);
  long.push(["sheet to take home", await sheets(page), 1]);
  for (const [what, pages, most] of long) ok(pages <= most, `${what}: ${pages} sheets of A4, at most ${most}`);
  say(`sheets of A4: ${long.map(([what, pages]) => `${what} ${pages}`).join(", ")}`);
});

test("units: a weight typed in pounds is kept in kilograms, and the gauge stands beside the millimetres when wanted", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Iris Holm (invented)", "1991-06-06");
  const person = page.url();
  const weight = page.locator("#q-weight");
  const onPaper = async () => {
    await page.goto(person);
    await visit.step("Ask");
    await visit.press(/^Enter from paper/);
    await weight.waitFor();
    return page.locator("label[for=q-weight]").innerText();
  };
  const kept = async () => (await facts(page)).filter((fact) => fact.kind === "person.answered" && fact.body.question === "weight").map((fact) => fact.body.reply.known.number);
  ok((await onPaper()).includes(", kg"), "control: kilograms unless pounds were chosen");
  await page.evaluate(() => { location.hash = "/settings"; });
  await visit.press("in pounds");
  await visit.press("with the gauge beside them");
  ok((await onPaper()).includes(", lb"), "pounds, once they were chosen");
  await weight.fill("2000");
  await weight.blur();
  await page.locator(".q").filter({ has: weight }).getByText("2.2 \u2013 881.8 lb").waitFor();
  equal(await weight.inputValue(), "2000", "what was typed stays");
  equal(await kept(), [], "too heavy to be true is not kept");
  await weight.fill("154");
  await weight.blur();
  await until("the weight to be kept", async () => (await kept()).length > 0);
  equal(await kept(), [69900], "69.9 kg in thousandths: 154 lb at 0.45359237 kg");
  await visit.press(/^Paper is entered/);
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.plan("Full return visit");
  await page.getByText("0.16 \u00d7 15 mm (gauge 40, memory)").first().waitFor();
  await page.evaluate(() => { location.hash = "/settings"; });
  await visit.press("in millimetres");
  await page.goBack();
  await page.getByText("0.16 \u00d7 15 mm").first().waitFor();
  equal(await page.getByText("gauge 40").count(), 0, "control: no gauge unless it is wanted");
});

test("bad input on every form, hostile files: a clear message, nothing lost", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page, hands } = visit;
  await visit.emergencyNumber("112");
  // Who somebody is.
  await visit.follow("Write down somebody new");
  const wrong = async (field, part) => until(`a message at ${field}: ${part}`, async () => {
    const at = page.locator(field);
    const ids = ((await at.getAttribute("aria-describedby")) ?? "").split(" ").filter(Boolean);
    const said = (await Promise.all(ids.map((id) => page.locator(`[id="${id}"]`).innerText()))).join(" ");
    return (await at.getAttribute("aria-invalid")) === "true" && said.includes(part);
  }, 5000);
  await visit.press("Keep");
  await wrong("#name", "A name is needed");
  await hands.write(page.locator("#name"), "<img src=x onerror=alert(1)> (invented)");
  for (const slip of ["1985-02-29", "2999-01-01", "soon"]) {
    await page.locator("#birth").fill(slip);
    await visit.press("Keep");
    await wrong("#birth", "not a date in the past");
    equal(await page.locator("#birth").inputValue(), slip, "what was typed is still there");
  }
  equal((await facts(page)).filter((fact) => fact.kind === "person.named").length, 0, "nothing was written down");
  await page.locator("#birth").fill("1985-02-28");
  await page.locator("#for").fill("x".repeat(30000));
  await visit.press("Keep");
  await wrong("#for", "longer than can be kept");
  await page.locator("#for").fill("");
  await visit.press("Keep");
  await visit.where("person/");
  ok((await page.locator(".screen h1").innerText()).startsWith("<img"), "a name is text, whatever it says");
  // A booking.
  await page.locator("#long").fill("4");
  await visit.press("Book a visit");
  await wrong("#long", "5 to 600 minutes");
  // A number out of range, a date to come.
  await visit.step("Ask");
  const pressure = page.locator("[id='q-systolic']");
  await pressure.fill("900");
  await hands.press(page.locator("section.q").filter({ has: pressure }).getByRole("button", { name: "Keep" }));
  await wrong("[id='q-systolic']", "outside its range");
  equal(await pressure.inputValue(), "900", "what was typed is still there");
  await pressure.fill("abc");
  await hands.press(page.locator("section.q").filter({ has: pressure }).getByRole("button", { name: "Keep" }));
  await wrong("[id='q-systolic']", "outside its range");
  // Notes too long.
  await visit.step("Look");
  await page.locator("#seen").fill("y".repeat(30000));
  await visit.press("Keep what was seen");
  await wrong("#seen", "longer than can be kept");
  equal((await page.locator("#seen").inputValue()).length, 30000, "what was typed is still there");
  // Cream.
  await page.evaluate(() => { location.hash = "/settings"; });
  await visit.press("my scope allows it");
  await page.locator("#practitioner").fill("z".repeat(30000));
  await page.locator("#registration").focus();
  await wrong("#practitioner", "too long to keep");
  await page.locator("#practitioner").fill("R. Reed (invented)");
  await page.locator("#registration").focus();
  await page.evaluate(() => { history.go(-1); });
  await visit.where("look");
  await visit.step("Plan");
  await visit.press(/^Short first visit/);
  await page.locator("#grams").fill("a lot");
  await visit.press("Plan this cream");
  await page.getByText("as numbers. Nothing was changed").waitFor();
  // A lot in the chair.
  await page.evaluate(() => { location.hash = "/count-only"; });
  await visit.press("Start");
  await visit.where("chair/");
  await visit.press("Something else");
  await page.locator("#lot").fill("L".repeat(200));
  await visit.press("Packet opened");
  await wrong("#lot", "at most 80 letters");
  await visit.press("Back");
  // Files.
  await page.evaluate(() => { location.hash = "/copies"; });
  await page.locator(".screen h1").filter({ hasText: "Copies" }).waitFor();
  await saved(page);
  const before = await facts(page);
  const head = '{"pinfold":"journal","format":1}\n';
  const files = [
    ["empty.txt", "", "nothing in this file"],
    ["picture.txt", new Uint8Array([0x89, 0x50, 0x4e, 0x47, 0, 0xff, 0xfe, 1]), "no text"],
    ["list.txt", "name,date\nWren,1984\n", "does not begin as a copy"],
    ["header.txt", head, "0 facts in it"],
    ["page.txt", "<script>alert(1)</script>", "does not begin as a copy"],
    ["nested.txt", head + "[".repeat(100000), "nested deeper than 64 levels"],
    ["broken.txt", `${head}{"id":"1-zz"}\n{"id":`, "Line 2: not an entry"],
  ];
  for (const [name, bytes, part] of files) {
    // The sentence may be the same twice: a different page between them clears it.
    await page.evaluate(() => { location.hash = "/about"; });
    await page.locator(".screen h1").filter({ hasText: "About" }).waitFor();
    await page.evaluate(() => { location.hash = "/copies"; });
    await page.locator(".screen h1").filter({ hasText: "Copies" }).waitFor();
    const said = await visit.copyIn(name, bytes);
    ok(said.includes(part) && said.includes("Nothing was changed"), `${name}: ${said}`);
    equal((await facts(page)).length, before.length, `entries after ${name}`);
  }
  equal(thrown(page), [], "nothing was thrown");
  equal(await page.evaluate(() => window.refused), [], "the policy had nothing to refuse");
});

test("axe finds nothing on any page of the desk, in both themes, small and wide", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  const seen = [];
  const look = looker(page, seen);
  // A theme that is switched by hand must not be judged half-way.
  await page.emulateMedia({ reducedMotion: "reduce" });
  // Control: axe sees a fault where there is one.
  await page.evaluate(() => document.querySelector("main").insertAdjacentHTML("beforeend", "<img id='fault' src='/icons/mark-192.png'>"));
  ok((await axe(page)).some((one) => one.startsWith("image-alt")), "control: a picture without words is found");
  await page.evaluate(() => document.getElementById("fault").remove());
  await look("01-today-first");
  await visit.emergencyNumber("112");
  await visit.follow("Write down somebody new");
  await look("02-people");
  await visit.tab("Today");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await look("03-person");
  await visit.step("Ask");
  await page.locator(".q").first().waitFor();
  await look("04-ask");
  await visit.askAtOnce();
  await look("05-ask-answered");
  await visit.look("Dry skin.");
  await visit.plan("Short first visit");
  await look("06-plan");
  await visit.step("Look");
  await look("07-look");
  const person = (await facts(page)).find((fact) => fact.kind === "person.named").id;
  await page.evaluate((to) => { location.hash = `/hand/${to}`; }, person);
  await look("31-hand");
  await visit.press("Give the phone back");
  await visit.where("ask/");
  for (const [name, hash] of [
    ["23-settings", "settings"], ["24-copies", "copies"], ["25-about", "about"], ["26-count-only", "count-only"],
    ["35-atlas", "atlas"], ["36-point", "point/ST6"], ["37-tape", `tape/${person}`], ["38-procedures", "procedures"], ["39-compose", "copy-of/first_short"],
    ["44-passphrase", "passphrase"], ["45-keeping", "keeping"], ["46-erase", `erase/${person}`], ["47-differ", "differ"],
    ["40-own-points", "own-points"], ["41-exports", "exports"], ["42-exports-of", `exports/${person}`], ["43-no-point", "point/XX9"],
    ["32-rules", "rules"], ["34-own-rules", "own-rules"], ["33-letter", `print-letter/${person}`], ["27-print-sheet", "print-sheet"], ["28-print-tray", `print-tray/${person}`], ["30-print-aftercare", `print-aftercare/${person}`],
  ]) {
    await page.evaluate((to) => { location.hash = `/${to}`; }, hash);
    await sleep(200);
    await look(name);
  }
  equal(seen, [], "faults that axe found");
  equal(thrown(page), [], "nothing was thrown");
});

test("axe finds nothing on any page of the chair, in both themes, small and wide", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  const seen = [];
  const look = looker(page, seen);
  await page.emulateMedia({ reducedMotion: "reduce" });
  await visit.emergencyNumber("112");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await visit.askAtOnce();
  await visit.look("Dry skin.");
  await visit.plan("Short first visit");
  await visit.sit();
  await look("08-chair-empty");
  await visit.press("Strips opened, as planned");
  await visit.hands.press(page.locator(".slab").first());
  await look("09-chair-placing");
  const placed = [...(await placeRest(visit))];
  await look("10-chair-out");
  await visit.press("Something else");
  await look("11-else");
  await visit.press("Back");
  await visit.press("Unwell");
  await look("12-unwell");
  await visit.press("Back");
  await page.evaluate(() => { location.hash = "/"; });
  await page.locator(".open").waitFor();
  await look("13-today-chair");
  await visit.tab("People");
  await look("14-people-pinned");
  await visit.hands.press(page.locator("a.pinned"));
  await visit.hands.press(page.locator(".slab").first());
  await visit.where("out/");
  await look("15-region");
  await visit.hands.number(13);
  await page.getByText("Look again here").waitFor();
  await look("16-region-again");
  await visit.press("One by one");
  await look("17-one-by-one");
  await visit.press("Leave it open");
  await visit.takeOutAll(placed);
  await visit.press("Count");
  await visit.where("count/");
  await look("18-count-strips");
  await page.goBack();
  await visit.where("chair/");
  await visit.count();
  await look("19-count-adds-up");
  await visit.close();
  await look("20-write");
  await visit.write("None.");
  await look("21-next");
  await visit.next();
  await look("22-today-done");
  const session = (await facts(page)).find((fact) => fact.kind === "session.opened").id;
  await page.evaluate((to) => { location.hash = `/print-record/${to}`; }, session);
  await sleep(200);
  await look("29-print-record");
  equal(seen, [], "faults that axe found");
  equal(thrown(page), [], "nothing was thrown");
});

/** Places what is left of a plan; the first region went in before. */
async function placeRest(visit) {
  const all = (await facts(visit.page)).filter((fact) => fact.kind === "needle.placed");
  const placed = [["Hands, arms", sum(all.map((fact) => fact.body.count))]];
  for (;;) {
    const found = (await visit.page.locator(".slab").first().innerText()).match(/^Placed (\d+), (.*)$/s);
    if (!found) return placed;
    placed.push([found[2].replace(/\s+/g, " "), Number(found[1])]);
    await visit.hands.press(visit.page.locator(".slab").first());
    await sleep(50);
  }
}
