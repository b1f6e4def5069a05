// What is looked up and set up away from a visit: the atlas, a person's tape, procedures of the
// practice's own, points of its own, files for other programs.
import { equal, ok, say, setClock, sleep, test, until } from "./harness.mjs";
import { alone, facts, saved, thrown } from "./visit.mjs";

const go = async (page, to) => {
  await page.evaluate((hash) => { location.hash = hash; }, to);
  await sleep(250);
};
const body = (page) => page.locator("main").innerText();

/** The file that a press makes, caught on its way to the downloads. */
async function given(page, press) {
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
  for (const words of ["not a safe depth", "pregnancy", "WHO08", "(read)", "Who it is left out for", "Where"]) ok(text.includes(words), `${words} stands on the page`);
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
  await visit.emergencyNumber("112");
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await visit.askAtOnce();
  await visit.look("Dry skin.");
  await visit.plan("Full return visit");
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
  await visit.step("Ask").catch(() => {});
  await go(page, `/person/${person}`);
  await visit.press("Book a visit");
  await saved(page);
  await go(page, `/exports/${person}`);
  const calendar = await given(page, () => visit.press("Make the calendar file"));
  ok(calendar.text.startsWith("BEGIN:VCALENDAR\r\n") && !calendar.text.includes("Wren"), calendar.text.slice(0, 200));
  equal(page.asked.filter((url) => !url.startsWith("http://localhost") && !url.startsWith("http://127.0.0.1")), [], "requests to elsewhere");
  equal(thrown(page), [], "nothing was thrown");
});
