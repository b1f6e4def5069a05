// What goes wrong at a chair, and what is written down of it: a needle nobody saw fall, a hurried
// removal, two chairs, a colleague who takes over, a needle that turns up after the visit.
import { equal, ok, sleep, test, until } from "./harness.mjs";
import { alone, facts, firstVisit, kinds, saved, seated, thrown } from "./visit.mjs";

const sheet = (visit, name) => visit.page.getByRole("dialog", { name });

/** Opens "Something else" and presses one of its acts. */
async function act(visit, name, { where } = {}) {
  await visit.press("Something else");
  const open = sheet(visit, "Something else");
  await open.waitFor();
  if (where) await open.locator("#act-where").selectOption({ label: where });
  await visit.hands.press(open.getByRole("button", { name, exact: true }));
  await open.getByText("Written down.").first().waitFor();
  await visit.hands.press(open.getByRole("button", { name: "Back", exact: true }));
  await until("the sheet to go", async () => (await visit.page.locator("dialog[open]").count()) === 0);
}

/** To the count while needles are in: through "Something else". */
async function toCount(visit) {
  await visit.press("Something else");
  await visit.hands.press(sheet(visit, "Something else").getByRole("button", { name: "Count", exact: true }));
  await visit.where("count/");
}

/** The page of what stands beside the chair. */
async function beside(visit) {
  await visit.press("Something else");
  await visit.hands.press(sheet(visit, "Something else").getByRole("link", { name: "Depth, feeling, packet, hand over" }));
  await visit.where("beside/");
}

/** Answers the strips of every size as a hand would, then the tray if it is asked for. */
async function countAll(visit, { less = 0 } = {}) {
  await visit.press("Count");
  await visit.where("count/");
  const session = decodeURIComponent(visit.page.url().split("/").pop());
  const here = (await facts(visit.page)).filter((fact) => fact.stream === `s:${session}`);
  const question = () => visit.page.locator(".question:visible").first();
  const left = {};
  const size = (body) => (body.size ? `${(body.size.diameter / 1000).toFixed(2)} \u00d7 ${body.size.length / 1000} mm` : "");
  for (const { kind, body } of here) {
    if (kind === "pack.opened") left[size(body)] = (left[size(body)] ?? 0) + body.held;
    if (kind === "needle.placed") left[size(body)] = (left[size(body)] ?? 0) - body.count;
  }
  const used = here.filter((f) => f.kind === "needle.placed").reduce((n, f) => n + f.body.count, 0) - less;
  let asked = "";
  for (let round = 0; round < 8; round += 1) {
    await sleep(150);
    if (!(await question().count())) return asked;
    const text = (await question().innerText()).replace(/\s+/g, " ");
    asked += `${text}\n`;
    const strip = Object.entries(left).find(([name]) => name && text.includes(name));
    if (strip) await visit.hands.number(Math.max(0, strip[1]));
    else if (text.includes("full tens")) await visit.hands.number(Math.floor(used / 10));
    else if (text.includes("and over")) await visit.hands.number(used % 10);
    else throw new Error(`asked: ${text}`);
    await until("the next question", async () => !(await question().count()) || (await question().innerText()).replace(/\s+/g, " ") !== text);
  }
  return asked;
}

test("a needle nobody saw fall: not accounted for, searched for, found; close is shut until then", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  await visit.emergencyNumber("112");
  const placed = await seated(visit, "Lark Dove (invented)");
  const [first, n] = placed[0];
  await act(visit, "Fell out, not seen");
  await until("one less to be in", async () => (await visit.inside()) === 11);
  const line = await visit.page.locator(".sum").innerText();
  ok(line.includes("9 not yet accounted for"), `the sum says so at once, with the 8 still in the strips: ${line}`);
  await visit.takeOutAll(placed.map(([name, many]) => [name, name === first ? n - 1 : many]));
  const asked = await countAll(visit, { less: 1 });
  ok(asked.includes("full tens"), `what does not agree asks for the tray, blind: ${asked}`);
  const close = visit.page.locator(".hold").last();
  equal(await close.getAttribute("aria-disabled"), "true", "close is shut");
  ok(!(await visit.page.locator("main").innerText()).includes("adds up"), "and nothing says that it adds up");
  const search = visit.page.getByRole("group", { name: "Where to look" });
  equal(await search.getByRole("button").count(), 15, "places to look");
  ok((await search.innerText()).includes("look, never reach in"), "the sharps box is looked into only");
  for (const place of ["hairline", "pillow"]) await visit.hands.press(search.getByRole("button", { name: new RegExp(`^${place}`) }));
  await until("the search to be kept", async () => (await kinds(visit.page, "search.looked")).length === 2);
  await visit.press("Found it");
  const ticks = visit.page.locator(".ticks button:visible");
  await until("the search to be over", async () => !(await search.isVisible()));
  for (let at = 0; at < (await ticks.count()); at += 1) await visit.hands.press(ticks.nth(at));
  await countAllAgain(visit);
  await visit.page.getByText("adds up").waitFor();
  await visit.close();
  equal((await kinds(visit.page, "needle.unseen")).length, 1, "the fall is a fact");
  equal((await kinds(visit.page, "needle.turned_up")).length, 1, "and so is the finding");
  equal(thrown(visit.page), [], "nothing was thrown");
});

/** What moved since is counted once more, if it is asked for. */
async function countAllAgain(visit) {
  const question = visit.page.locator(".question:visible").first();
  await sleep(200);
  if (!(await question.count())) return;
  const text = await question.innerText();
  ok(text.includes("full tens"), `asked again: ${text}`);
  await visit.hands.number(1);
  await until("what is over", async () => (await question.innerText()).includes("and over"));
  await visit.hands.number(2);
}

test("up with needles in: every region is counted by eye on return, and the tray at the end", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  await visit.emergencyNumber("112");
  const placed = await seated(visit, "Robin Sedge (invented)");
  await act(visit, "Up with needles in");
  await toCount(visit);
  for (const [region, n] of placed) {
    const question = visit.page.locator(".question:visible").first();
    await until(`${region} to be asked`, async () => (await question.innerText()).replace(/\s+/g, " ").includes(region));
    ok((await question.innerText()).includes("Count by eye"), "by eye");
    await visit.hands.number(n);
  }
  await until("the recount to be over", async () => !(await visit.page.getByText("Count by eye").isVisible()));
  await visit.press("Chair");
  await visit.where("chair/");
  await visit.takeOutAll(placed);
  const asked = await countAll(visit);
  ok(asked.includes("full tens"), `the tray is counted: ${asked}`);
  equal((await kinds(visit.page, "count.inside")).length, placed.length, "each look is a fact");
  equal(thrown(visit.page), [], "nothing was thrown");
});

test("two chairs: a promise, a block moved, the other clock in sight; the glass wiped; a hand-over", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  await visit.emergencyNumber("112");
  await seated(visit, "Wren Hale (invented)");
  equal(await visit.page.getByText("Another chair is open").isVisible(), false, "control: one chair asks for no promise");
  await visit.page.evaluate(() => { location.hash = "/"; });
  await visit.page.locator("a.pinned, main a").first().waitFor();
  await visit.page.evaluate(() => { location.hash = "/count-only"; });
  await visit.press("Start");
  await visit.page.locator(".count .now").waitFor();
  await visit.page.getByText("Another chair is open").waitFor();
  await visit.press("I watch the clocks");
  await until("the promise to be kept", async () => !(await visit.page.getByText("Another chair is open").isVisible()));
  ok((await visit.page.locator("a.pinned").innerText()).includes("Wren Hale"), "the other chair is in sight");
  ok(/\d+ min|over/.test(await visit.page.locator("a.pinned").innerText()), `and its next clock: ${await visit.page.locator("a.pinned").innerText()}`);
  // One needle, entered at the wrong chair.
  await visit.hands.press(visit.page.locator(".slab").first());
  await until("one to be in", async () => (await visit.inside()) === 1);
  await beside(visit);
  await visit.press(/This block belongs to the other chair/);
  await visit.press("Chair");
  await visit.where("chair/");
  await until("none to be in here", async () => (await visit.inside()) === 0);
  // Wiping the glass: presses rest, the counts stay in view.
  await visit.press("Something else");
  await visit.hands.press(sheet(visit, "Something else").getByRole("button", { name: /^Wipe the glass/ }));
  await visit.page.locator(".wiping").waitFor();
  const before = (await facts(visit.page)).length;
  const box = await visit.page.locator(".slab").first().boundingBox();
  const touchPoints = [{ x: box.x + box.width / 2, y: box.y + box.height / 2 }];
  await visit.page.cdp.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints });
  await visit.page.cdp.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
  await sleep(500);
  equal((await facts(visit.page)).length, before, "a touch while wiping writes nothing");
  equal(await visit.inside(), 0, "nothing was placed");
  await visit.page.locator(".wiping").waitFor({ state: "detached", timeout: 25000 });
  await visit.hands.press(visit.page.locator(".slab").first());
  await until("control: after that a press counts", async () => (await visit.inside()) === 1);
  // A colleague takes over: both names, and a count at relief.
  await beside(visit);
  const card = await visit.page.locator("main").innerText();
  ok(/1/.test(card), `the card says what is in: ${card}`);
  await visit.hands.write(visit.page.locator("#hand-from"), "Teal");
  await visit.hands.write(visit.page.locator("#hand-to"), "Umber");
  await visit.press("Hand over");
  await until("the hand-over to be kept", async () => (await kinds(visit.page, "chair.did")).some((f) => f.body.who === "Umber" && f.body.from === "Teal"));
  await visit.where("count/");
  ok((await visit.page.locator(".question").first().innerText()).includes("Count by eye"), "what is in is counted at relief");
  equal(thrown(visit.page), [], "nothing was thrown");
});

test("after the visit: a needle turns up, the count that added up was false; they call", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  await firstVisit(visit, { name: "Ivy Crake (invented)", quick: true });
  const before = await facts(visit.page);
  ok(before.some((fact) => fact.kind === "session.closed"), "control: the visit was closed");
  await visit.tab("People");
  await visit.hands.press(visit.page.getByRole("link", { name: /Ivy Crake/ }).first());
  await visit.where("person/");
  await visit.follow(/^After the visit/);
  await visit.where("after/");
  await visit.page.locator("#up-place").selectOption({ label: "pillow" });
  await visit.press("found by the person");
  await visit.hands.write(visit.page.locator("#up-words"), "Under the pillow case, the next morning.");
  await visit.press("Write it down");
  await visit.page.getByText("never rewritten").waitFor();
  await until("the false balance to be said", async () => (await visit.page.locator("main").innerText()).includes("False balance"));
  await visit.page.getByRole("button", { name: /chest/i }).first().waitFor();
  await visit.hands.press(visit.page.getByRole("button", { name: /chest/i }).first());
  const words = await visit.page.locator("main").innerText();
  ok(/emergency number/i.test(words), "a chest complaint is sent to emergency care");
  const after = await facts(visit.page);
  equal(after.filter((fact) => fact.kind === "needle.turned_up").length, 1, "the finding is a fact");
  equal(after.slice(0, before.length).map((f) => f.kind), before.map((f) => f.kind), "what was written before stands");
  await saved(visit.page);
  equal(thrown(visit.page), [], "nothing was thrown");
});
