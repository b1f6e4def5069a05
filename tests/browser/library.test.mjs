// What is looked up and set up away from a visit: the atlas, a person's tape, procedures of the
// practice's own, points of its own, files for other programs.
import { equal, ok, say, setClock, sleep, test, until } from "./harness.mjs";
import { alone, facts, saved, thrown } from "./visit.mjs";

const go = async (page, to) => {
  await page.evaluate((hash) => { location.hash = hash; }, to);
  await sleep(250);
};
const body = (page) => page.locator("main").innerText();

/** Somebody met, asked, looked at and planned for. */
async function planned(visit, procedure) {
  await visit.emergencyNumber("112");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await visit.askAtOnce();
  await visit.look("Dry skin.");
  await visit.plan(procedure);
}

/** The file that a press makes, caught on its way to the downloads. */
async function given(page, press) {
  await sleep(350); // A second press so soon is the same knuckle.
  await page.evaluate(() => {
    window.showSaveFilePicker = undefined;
    window.given = undefined;
    if (!window.makeUrl) window.makeUrl = URL.createObjectURL;
    URL.createObjectURL = (blob) => { blob.text().then((text) => { window.given = { text, kind: blob.type }; }); return window.makeUrl.call(URL, blob); };
  });
  await press();
  return until("the file", () => page.evaluate(() => window.given));
}

test("the atlas: a point by code, name, region or muscle, and all that is known of it with its marks", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.tab("Settings");
  await visit.follow("Atlas of points");
  await page.locator("h1").filter({ hasText: "Atlas of points" }).waitFor();
  const rows = page.locator("main ul a");
  const all = await rows.count();
  ok(all > 100, `every point: ${all}`);
  for (const [words, wanted, not] of [["exhn3", "EX-HN3", "LI4"], ["baihui", "GV20", "LI4"], ["masseter", "ST6", "LI4"], ["eye rim", "BL2", "ST6"]]) {
    await page.locator("#find").fill(words);
    await until(`fewer than all for ${words}`, async () => (await rows.count()) < all);
    const found = (await rows.allInnerTexts()).join("\n");
    ok(found.includes(wanted) && !found.includes(not), `${words}: ${found.slice(0, 200)}`);
  }
  await page.locator("#find").fill("zzz");
  await page.getByText("No point has all of these words").waitFor();
  await page.locator("#find").fill("li4");
  await visit.follow(/^LI4 Hegu/);
  await page.locator("h1").filter({ hasText: "LI4" }).waitFor();
  const text = await body(page);
  for (const words of ["not a safe depth", "pregnancy", "WHO08", "(read)", "Its place there", "Who it is left out for", "Where"]) ok(text.includes(words), `${words} stands on the page`);
  // The address of a point that is not there leads to words, not to nothing.
  await go(page, "/point/<img src=x>");
  await page.getByText("There is no point of this code here").waitFor();
  equal(await page.locator("main img").count(), 0, "an address is never markup");
  equal(thrown(page), [], "nothing was thrown");
});

test("the tape: lengths entered once become millimetres, an implausible one is refused and changes nothing", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await planned(visit, "Full return visit");
  await visit.follow("Measuring tape");
  await page.locator("#t-forearm").waitFor();
  ok((await body(page)).includes("Lay the tape along this length first"), "control: nothing is measured yet");
  await page.locator("#t-forearm").fill("252");
  await page.locator("#t-forehead_height").fill("6.6");
  await visit.press("Keep these lengths");
  await page.locator("#t-forearm-wrong").filter({ hasText: "does not look right here" }).waitFor();
  equal((await facts(page)).filter((fact) => fact.kind === "person.measured"), [], "nothing was written, not even the plausible one");
  equal(await page.locator("#t-forearm").inputValue(), "252", "what was typed is still there");
  await page.locator("#t-forearm").fill("25.2");
  await sleep(350);
  await visit.press("Keep these lengths");
  await saved(page);
  const [measured] = (await facts(page)).filter((fact) => fact.kind === "person.measured");
  equal(Object.fromEntries(measured.body.lengths), { forehead_height: 66000, forearm: 252000 }, "in micrometres");
  // Reference, points.md, worked example: 25.2 cm of 12 B-cun; TE5 lies 2 B-cun from the wrist: 42 mm.
  ok((await body(page)).includes("42 mm, give or take 8 mm here (derived)"), "TE5 in millimetres");
  equal(thrown(page), [], "nothing was thrown");
});

test("the hour of a plan: a picture and its words; a slot that is too short; somebody late", async (clean) => {
  const { open } = await alone(clean);
  const at = new Date();
  at.setHours(10, 0, 0, 0);
  const visit = await open({ at: at.getTime() });
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await page.locator("#day").fill(at.toISOString().slice(0, 10));
  await page.locator("#time").fill("10:30");
  await page.locator("#long").fill("60");
  await visit.press("Book a visit");
  await saved(page);
  await visit.askAtOnce();
  await visit.look("Dry skin.");
  await visit.plan("Short first visit");
  const rows = page.locator(".hour li");
  await rows.first().waitFor();
  const text = (await rows.allInnerTexts()).join("\n");
  ok(/Hands, arms\s+in 5:00 to \d+:\d\d, out \d+:\d\d to \d+:\d\d/.test(text), text);
  ok(text.includes("Hands free: look in"), "when hands are free");
  for (const path of await page.locator(".hour path").evaluateAll((all) => all.map((one) => one.getAttribute("d")))) ok(!/NaN|undefined|-/.test(path), path);
  const leave = async () => (await body(page)).match(/out of the door by (\d+):(\d\d)/)?.slice(1).map(Number);
  const [hour, minute] = await leave();
  ok(hour === 11 && minute < 30, `in time: ${hour}:${minute}`);
  ok(!(await body(page)).includes("Late:"), "control: nobody is late at ten");
  // The same person half an hour into another slot.
  const person = (await facts(page)).find((fact) => fact.kind === "person.named").id;
  await go(page, `/person/${person}`);
  await visit.press("Take this visit out");
  await page.locator("#day").fill(at.toISOString().slice(0, 10));
  await page.locator("#time").fill("09:30");
  await page.locator("#long").fill("60");
  await visit.press("Book a visit");
  await saved(page);
  await go(page, `/plan/${person}`);
  await page.getByText(/Late: counted from 10:0\d, with \d\d min left of the time booked/).waitFor();
  ok((await body(page)).includes("Does not fit the slot"), "30 minutes are too few for what needs 36");
  ok((await body(page)).includes("today or another day"), "another day is offered");
  equal(thrown(page), [], "nothing was thrown");
});

test("another point in the place of one left out: only when chosen, in the same area, and taken back", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await planned(visit, "Full return visit");
  const chosen = async () => (await facts(page)).filter((fact) => fact.kind === "person.chose").at(-1).body.instead ?? [];
  equal(await chosen(), [], "nothing is put in by itself");
  await visit.hands.press(page.locator("summary", { hasText: "Another point in place" }));
  await page.locator("#instead-of").selectOption({ label: "GB13" });
  await page.locator("#instead").fill("ST6");
  await visit.press("Put it in");
  await page.locator("#instead-wrong").filter({ hasText: "Nothing was changed" }).waitFor();
  equal(await chosen(), [], "a point of another area is not put in");
  await page.locator("#instead").fill("gb15");
  await sleep(350);
  await visit.press("Put it in");
  await until("the choice", async () => (await chosen()).length === 1);
  equal(await chosen(), [["GB13", "GB15"]], "in the fact");
  await page.getByText("GB15 in place of GB13").waitFor();
  ok((await body(page)).includes("Guide tubes"), "guide tubes stand on the tray list");
  await visit.press("Take back");
  await until("the choice to be taken back", async () => (await chosen()).length === 0);
  equal(thrown(page), [], "nothing was thrown");
});

test("files for other programs: tables, a calendar, and a bundle, each only when asked for", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await visit.askAtOnce();
  const person = (await facts(page)).find((fact) => fact.kind === "person.named").id;
  await go(page, `/exports/${person}`);
  await page.locator("h1").filter({ hasText: "Files for other programs" }).waitFor();
  const answers = await given(page, () => visit.press("Answers"));
  ok(answers.kind.startsWith("text/csv") && answers.text.split("\r\n").length > 20, `a table: ${answers.text.slice(0, 100)}`);
  ok(!answers.text.includes("Wren Fold"), "no name unless it is asked for");
  await visit.press("with names");
  const named = await given(page, () => visit.press("Answers"));
  ok(named.text.includes("Wren Fold"), "control: with names it is there");
  const bundle = await given(page, () => visit.press("Make the bundle"));
  equal([JSON.parse(bundle.text).resourceType, JSON.parse(bundle.text).type], ["Bundle", "transaction"], "a bundle");
  await visit.press("Make the calendar file");
  await page.getByText("Nothing is booked from now on").waitFor();
  await go(page, `/person/${person}`);
  await visit.press("Book a visit");
  await saved(page);
  await go(page, `/exports/${person}`);
  const calendar = await given(page, () => visit.press("Make the calendar file"));
  ok(calendar.text.startsWith("BEGIN:VCALENDAR\r\n") && !calendar.text.includes("Wren"), calendar.text.slice(0, 200));
  equal(page.asked.filter((url) => !url.startsWith("http://localhost") && !url.startsWith("http://127.0.0.1")), [], "requests to elsewhere");
  equal(thrown(page), [], "nothing was thrown");
});

test("procedures: one copied, changed, refused by field, kept, planned, and what a session keeps of it", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  const composed = async () => (await facts(page)).filter((fact) => fact.kind === "procedure.composed");
  await visit.emergencyNumber("112");
  await visit.tab("Settings");
  await visit.follow("Procedures");
  const card = (name) => page.locator("article", { has: page.locator("h2", { hasText: name }) });
  equal(await page.locator("article").count(), 4, "four of Pinfold's");
  ok((await card("Short first visit").innerText()).includes("Not tested"), "evidence said plainly");
  equal(await card("Short first visit").getByText("Change", { exact: true }).count(), 0, "Pinfold's are not changed");
  await visit.hands.press(card("Short first visit").getByText("Copy", { exact: true }));
  await page.locator("#name").waitFor();
  await page.locator("#name").fill("Short, <b>ours</b>");
  // A stay that cannot be is refused with its place, and nothing is written.
  const first = page.locator("section.panel").first();
  await visit.hands.press(first.locator("summary").first());
  const least = first.locator("input[id$=Least]");
  await least.fill("90");
  await visit.press("Keep this version");
  await page.locator("[role=alert]").getByText("the least is above the most").waitFor();
  equal(await composed(), [], "nothing was written");
  await least.fill("15");
  // A point that is not there, one that is, another order, one out.
  await first.locator("input[id^=add-]").fill("XX9");
  await visit.hands.press(first.getByRole("button", { name: "Add a point", exact: true }));
  await page.getByText("There is no point of this code").waitFor();
  await first.locator("input[id^=add-]").fill("li10");
  await sleep(350); // A second press so soon is the same knuckle.
  await visit.hands.press(first.getByRole("button", { name: "Add a point", exact: true }));
  const points = () => page.locator("section.panel").first().locator(".point summary").allInnerTexts();
  await until("the new point", async () => (await points()).length === 3);
  ok((await points())[2].startsWith("LI10 Shousanli, both"), `${await points()}`);
  await visit.hands.press(page.locator("section.panel").first().locator(".point summary").nth(2));
  await visit.hands.press(page.locator("section.panel").first().locator(".point").nth(2).getByRole("button", { name: "Up", exact: true }));
  await until("the new order", async () => (await points())[1].startsWith("LI10"));
  await sleep(350);
  await visit.press("Keep this version");
  await card("Short, <b>ours</b>").waitFor();
  equal(await page.locator("article b", { hasText: /^ours$/ }).count(), 0, "a name is never markup");
  const [kept] = await composed();
  equal(kept.body.procedure.modules[0].steps.map((step) => step.point), ["LI4", "LI10", "TE5"], "in the fact");
  equal(kept.body.procedure.modules[0].stay.least, 900, "15 minutes");
  // It can be planned, and the session keeps which version it was.
  await visit.tab("Today");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await visit.askAtOnce();
  await visit.look("Dry skin.");
  await visit.plan("Short, <b>ours");
  ok((await body(page)).includes("LI10 R L"), "the plan has the new point");
  await visit.sit();
  await saved(page);
  const session = (await facts(page)).find((fact) => fact.kind === "session.opened");
  equal(session.body.procedure.version.composed, kept.id, "the very version");
  // Changed afterwards: the session's words stay.
  await go(page, "/procedures");
  await visit.hands.press(card("Short, <b>ours</b>").getByText("Change", { exact: true }));
  await page.locator("#name").fill("Short, newer");
  await visit.press("Keep this version");
  await card("Short, newer").waitFor();
  equal((await composed()).length, 2, "a new fact, the old one kept");
  await go(page, `/print-record/${session.id}`);
  await page.getByText("Planned from:").waitFor();
  ok((await page.locator("body").innerText()).includes("Short, <b>ours</b> (our own, version"), "the record names the version that was used");
  // Off the list: no longer offered in Plan, still here.
  await go(page, "/procedures");
  await visit.hands.press(card("Short, newer").getByText("Take off the list", { exact: true }));
  await card("Short, newer").getByText("Off the list", { exact: true }).waitFor();
  equal(thrown(page), [], "nothing was thrown");
});

test("files of procedures: a stranger's is read as text, refused by its place, or taken whole", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.tab("Settings");
  await visit.follow("Procedures");
  const bring = async (text) => {
    const status = page.locator("main p[role=status]");
    const before = await status.innerText();
    await sleep(350); // A second press so soon is the same knuckle.
    const chooser = page.waitForEvent("filechooser");
    await visit.press("Bring a file in");
    await (await chooser).setFiles({ name: "procedures.txt", mimeType: "text/plain", buffer: Buffer.from(text) });
    return until("words", async () => { const said = await status.innerText(); return said && said !== before ? said : undefined; });
  };
  const part = (steps) => ({ module: "hands_arms", apart: false, size: { id: "0.16x25" }, technique: { how: "perpendicular", direction: "none" }, sensation: { sought: "mild" }, stay: { least: 1200, most: 1800 }, seconds: { place: 20, remove: 6 }, steps });
  const li4 = { point: "LI4", side: "both", keep: 1 };
  const file = (more) => JSON.stringify({ pinfold: "procedures", format: 1, ...more });
  const one = (changes, name = "From elsewhere") => file({ procedures: [{ name, visit: "any", modules: [{ ...part([li4]), ...changes }] }] });
  const kinds = async () => (await facts(page)).filter((fact) => fact.kind === "procedure.composed").length;
  for (const [what, text, words] of [
    ["an unknown point", one({ steps: [{ ...li4, point: "ZZ1" }] }), "ZZ1 is not known here"],
    ["an impossible stay", one({ stay: { least: 1800, most: 60 } }), "the least is above the most"],
    ["10,000 steps", one({ steps: Array(10000).fill(li4) }), "more than"],
    ["modules in a ring", file({ modules: [{ name: "a", parts: ["b"] }, { name: "b", parts: ["a"] }], procedures: [{ name: "Ring", visit: "any", modules: ["a"] }] }), "in a ring"],
    ["no file of procedures", "<script>alert(1)</script>", "cannot be read as procedures"],
    ["hidden characters", one({}, "Safe\u202Egnp"), "cannot be seen"],
  ]) {
    const said = await bring(text);
    ok(said.includes(words) && said.includes("Nothing of the file was taken"), `${what}: ${said}`);
    equal(await kinds(), 0, `${what}: nothing was written`);
  }
  // Control: a good one with HTML in its name is taken, as text.
  const said = await bring(one({}, "<img src=x onerror=alert(1)>"));
  ok(said.startsWith("1 new"), said);
  equal(await kinds(), 0, "nothing before the press");
  await visit.press("Take the new ones");
  await page.locator("article h2", { hasText: "<img src=x" }).waitFor();
  equal(await page.locator("main img").count(), 0, "a name is never markup");
  equal(await kinds(), 1, "one fact");
  ok((await bring(one({}, "<img src=x onerror=alert(1)>"))).includes("1 already here"), "twice is once");
  const shared = await given(page, () => visit.press("Share our own as a file"));
  ok(JSON.parse(shared.text).procedures[0].name.startsWith("<img"), "out as it came in");
  equal(thrown(page), [], "nothing was thrown");
});

test("a point of our own: written down, refused by field, in the atlas, planned, taken away", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.tab("Settings");
  await visit.follow("Points of our own");
  await page.locator("#p-code").fill("LI4");
  await visit.press("Keep");
  await page.getByText("Nothing was changed; what you entered is still here").waitFor();
  await sleep(350); // A second press so soon is the same knuckle.
  await page.locator("#p-code").fill("OWN-B1");
  await page.locator("#p-name").fill("Brow line, ours");
  await page.locator("#p-words").fill("A finger's breadth over the middle of the brow.");
  await visit.press("Keep");
  await page.locator("article", { hasText: "OWN-B1" }).waitFor();
  await go(page, "/atlas");
  await page.locator("#find").fill("own-b1");
  await visit.follow(/^OWN-B1/);
  await page.locator("h1", { hasText: "OWN-B1" }).waitFor();
  ok((await body(page)).includes("not looked at by Pinfold"), "what nobody looked at is said");
  await go(page, "/own-points");
  await visit.hands.press(page.locator("article", { hasText: "OWN-B1" }).getByText("Take away", { exact: true }));
  await page.locator("article", { hasText: "taken away" }).waitFor();
  await go(page, "/point/OWN-B1");
  await page.getByText("There is no point of this code here").waitFor();
  equal((await facts(page)).filter((fact) => fact.kind.startsWith("point.")).map((fact) => fact.kind), ["point.described", "point.taken_away"], "two facts, nothing erased");
  equal(thrown(page), [], "nothing was thrown");
});
