// Screening as it is met in the room: the phone in the patient's hand, what is read back, what sends
// somebody to another clinician, every rule open to be read, and a red flag at the chair.
import { axe, equal, ok, say, sleep, test, until } from "./harness.mjs";
import { alone, facts, firstVisit, saved, thrown } from "./visit.mjs";

const DAY = 86400000;

test("a return visit with nothing changed, four weeks later: at most 14 presses, the phone in the patient's hand", async (clean) => {
  const { phone, open } = await alone(clean);
  let visit = await open({ at: Date.now() - 28 * DAY });
  await firstVisit(visit, { quick: true });
  await saved(visit.page);
  await phone.off();
  await phone.on();
  visit = await open();
  const { page } = visit;
  await visit.tab("People");
  await visit.follow("Wren Fold (invented)");
  await visit.step("Ask");
  await page.getByText("Hand the phone over").waitFor();
  const everything = () => page.evaluate(() => `${document.title} ${document.body.innerText}`);
  ok((await everything()).includes("Wren Fold"), "control: the practitioner's page has the name");
  ok((await page.locator("nav a, nav button").count()) > 3, "control: and ways to other pages");
  const before = (await page.evaluate(() => window.pressed)).length;
  await visit.press(/^Hand the phone over/);
  await visit.where("hand/");
  await page.getByText("Before we start today").waitFor();
  ok(!(await everything()).includes("Wren Fold"), "no name in the patient's hand");
  equal(await page.locator("a:visible").count(), 0, "no way to another page");
  // Neither back, nor another address, nor a reload leads anywhere else.
  await page.goBack();
  await sleep(300);
  await page.evaluate(() => { location.hash = "/people"; });
  await sleep(300);
  ok(!(await everything()).includes("Wren Fold") && page.url().includes("#/hand/"), "still the patient's page");
  await page.reload();
  await page.getByText("Before we start today").waitFor();
  ok(!(await everything()).includes("Wren Fold"), "and after a reload");
  equal(await axe(page), [], "faults that axe found");
  const rows = page.locator(".q");
  const lines = await rows.count();
  for (let at = 0; at < lines; at += 1) {
    const asked = await rows.nth(at).locator(".asked").first().innerText();
    const answer = /eaten in the last/.test(asked) ? "yes" : /is any of these true/.test(asked) ? "None of these" : "no";
    await visit.hands.press(rows.nth(at).getByRole("button", { name: answer, exact: true }));
  }
  await visit.press("Give the phone back");
  await visit.where("ask/");
  await page.getByText("Wren Fold").first().waitFor();
  await page.getByText("Read back:").waitFor();
  // What was not measured last time is asked again, and said to be not measured again: one press for both.
  const left = page.locator(".q:not(:has([aria-pressed=true]))").locator("visible=true");
  equal(await left.count(), 2, "left to the practitioner: the two numbers of the blood pressure");
  await visit.press("not measured today");
  await until("nothing to be left", async () => (await left.count()) === 0);
  const found = await page.locator(".sticks .panel").evaluateAll((all) => all.map((one) => one.innerText));
  ok(found.every((text) => /Go easy|Write down/.test(text)), `nothing but what is written down or eased: ${found}`);
  await visit.press("Go on");
  await visit.where("look/");
  const pressed = await page.evaluate(() => window.pressed);
  // The reload began the counter anew: the press that handed the phone over is one more.
  const presses = 1 + pressed.filter((one) => ["ask", "hand"].includes(one.page)).length;
  ok(before > 0, "control: presses are counted");
  ok(presses >= lines + 3, `control: the counter sees each answer: ${presses} of ${lines} lines`);
  ok(presses <= 14, `${presses} presses in all, at most 14`);
  say(`${lines} lines, ${presses} presses from handing over to going on`);
  await saved(page);
  const told = (await facts(page)).filter((fact) => fact.kind === "person.answered").map((fact) => fact.body.told);
  equal(told.filter((how) => how === "patient").length, lines, "answers marked as the patient's own");
  // Back on the practitioner's side the way is open again.
  await page.goBack();
  await sleep(300);
  ok(!page.url().includes("#/hand/"), "back does not lead into the patient's page again");
  equal(thrown(page), [], "nothing was thrown");
});

test("a finding that sends somebody on: the letter holds what was answered, on paper and as text", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await page.evaluate(() => { location.hash = "/settings"; });
  await page.locator("#practitioner").fill("A. Penn (invented)");
  await page.locator("#practitioner").blur();
  await visit.tab("Today");
  await visit.meet("Hazel Byre (invented)", "1980-08-08");
  await visit.askAtOnce();
  equal(await page.getByRole("link", { name: "Letter to a clinician" }).count(), 0, "control: nothing found, no letter");
  await visit.press("All questions").catch(() => {});
  const row = page.locator(".q").filter({ hasText: "told you have a bleeding disorder" }).first();
  await visit.hands.press(row.getByRole("button", { name: "yes", exact: true }));
  await page.getByText("Stop: no needling today").first().waitFor();
  const asked = (await row.locator(".asked").innerText()).trim();
  await visit.follow("Letter to a clinician");
  await page.locator("main.paper h1").waitFor();
  const sheet = await page.locator("main.paper").innerText();
  for (const part of ["Hazel Byre (invented)", "1980-08-08", asked, "yes", "No needling was begun.", "not a diagnosis", "A. Penn (invented)"]) ok(sheet.includes(part), `the letter says ${part}: ${sheet}`);
  await page.evaluate(() => {
    window.showSaveFilePicker = undefined;
    navigator.canShare = () => false;
    const make = URL.createObjectURL;
    URL.createObjectURL = (blob) => { blob.text().then((text) => { window.given = text; }); return make.call(URL, blob); };
  });
  await visit.press("Share as text");
  const text = await until("the text of the letter", () => page.evaluate(() => window.given));
  for (const line of text.split("\n").filter((one) => one.trim())) ok(sheet.includes(line.trim()), `the same line on paper: ${line}`);
  ok(text.split("\n").length >= 6, "control: the text has its lines");
  equal(thrown(page), [], "nothing was thrown");
});

test("every rule can be read and searched, with source and mark", async (clean) => {
  const { open } = await alone(clean);
  const { page } = await open();
  await page.evaluate(() => { location.hash = "/rules"; });
  const rules = page.locator("main article");
  await rules.first().waitFor();
  const all = await rules.count();
  ok(all > 100, `${all} rules`);
  const texts = await rules.evaluateAll((list) => list.map((one) => one.innerText));
  const marked = texts.filter((text) => /\[(read|memory|common practice|derived|policy)\]/.test(text));
  equal(marked.length, all, "rules that show a mark");
  await page.locator("#find").fill("implanted");
  await until("fewer rules", async () => (await rules.count()) < all);
  const found = await rules.count();
  ok(found >= 1 && found < 20, `${found} rules about implants`);
  await page.getByText(`${found} of ${all} rules`).waitFor();
  await page.locator("#find").fill("no such thing anywhere");
  await page.getByText(`0 of ${all} rules`).waitFor();
  equal(thrown(page), [], "nothing was thrown");
});

test("a red flag at the chair ends the planning of needles, never the recording and never the removal", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Sorrel Dyke (invented)", "1983-03-03");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.plan("Short first visit");
  await visit.sit();
  await visit.press("Strips opened, as planned");
  const slab = page.locator(".slab:visible").first();
  ok(/^Placed \d+, /.test(await slab.innerText()), "control: the plan proposes a region");
  await visit.hands.press(slab);
  const inside = await visit.inside();
  ok(inside > 0, "needles are in");
  ok(/^Placed \d+, /.test(await slab.innerText()), "control: and the next one");
  await visit.press("Unwell");
  await visit.press("No more needles today");
  await visit.press("Back");
  await page.getByText("Nothing more is planned").waitFor();
  ok(/^Take out /.test(await slab.innerText()), "taking out is what is next");
  await visit.press("Placing");
  equal(await page.locator(".slab:visible").count(), 0, "no region is proposed");
  // What goes in all the same is counted, and flagged.
  await page.locator("#where").selectOption({ label: "Forehead" });
  await visit.hands.press(page.locator(".slab:visible").first());
  await until("one more in", async () => (await visit.inside()) === inside + 1);
  await page.getByText("placed after a red flag").waitFor();
  await visit.press("Taking out");
  await visit.hands.press(page.locator(".slab:visible").first());
  await visit.where("out/");
  await visit.hands.number(inside);
  await visit.where("chair/");
  await until("the region to be out", async () => (await visit.inside()) === 1);
  await saved(page);
  const kinds = (await facts(page)).map((fact) => fact.kind);
  equal(kinds.filter((kind) => kind === "session.stopped").length, 1, "the stop is written down once");
  equal(thrown(page), [], "nothing was thrown");
});

test("an answer that stops the visit ends the placing of an open chair", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Tansy Weir (invented)", "1983-03-03");
  await visit.askAtOnce();
  await visit.look("Quiet.");
  await visit.plan("Short first visit");
  await visit.sit();
  const chair = page.url();
  await visit.press("Strips opened, as planned");
  await visit.hands.press(page.locator(".slab").first());
  equal(await page.getByText("Placing stopped").locator("visible=true").count(), 0, "control: nothing is stopped");
  await page.goBack();
  await visit.step("Ask");
  const row = page.locator(".q").filter({ hasText: "dropped suddenly" }).first();
  await visit.hands.press(row.getByRole("button", { name: "yes", exact: true }));
  await page.locator(".sticks").getByText("Call the local emergency number now").first().waitFor();
  await page.goto(chair);
  await page.getByText("Placing stopped").waitFor();
  ok(/^Take out /.test(await page.locator(".slab:visible").first().innerText()), "taking out is what is next");
});

test("figures and rules of our own: stricter freely, looser with a reason, shared as a file, taken away", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await visit.meet("Madder Lea (invented)", "1983-03-03");
  await visit.askAtOnce();
  const person = page.url();
  equal(await page.getByText("OWN-1").count(), 0, "control: no rule of ours yet");
  await page.evaluate(() => { location.hash = "/own-rules"; });
  // A figure: looser without a reason is refused, with one it is kept; stricter needs none.
  const systolic = page.locator("details").filter({ has: page.locator("#f-systolic_stop") });
  await systolic.locator("summary").click();
  const value = systolic.locator("#f-systolic_stop");
  // A second landing within 300 ms is a knuckle's, not a press.
  const keep = async (where) => {
    await sleep(350);
    await where.getByRole("button", { name: "Keep" }).click();
  };
  const kept = async () => (await facts(page)).filter((fact) => fact.body.name === "figure.systolic_stop").map((fact) => fact.body.value);
  await value.fill("190");
  await keep(systolic);
  await systolic.getByText("write why").waitFor();
  equal(await value.inputValue(), "190", "what was typed stays");
  equal(await kept(), [], "looser without a reason is not kept");
  await systolic.locator("input[id^=w-]").fill("our physician asked for it");
  await keep(systolic);
  await until("the looser figure", async () => (await kept()).length === 1);
  await value.fill("170");
  await systolic.locator("input[id^=w-]").fill("");
  await keep(systolic);
  await until("the stricter figure", async () => (await kept()).length === 2);
  equal(await kept(), ["190", "170"], "both are written down");
  await value.fill("9999");
  await keep(systolic);
  await systolic.getByText("outside").waitFor();
  await systolic.getByRole("button", { name: "Back to Pinfold's figure" }).click();
  await until("the figure to be taken back", async () => (await kept()).at(-1) === "");
  // A rule of our own: a slip names the field; a good one shows among the findings of the visit.
  await page.getByText("Write a new rule").click();
  await page.locator("#own-q").selectOption({ label: "Have you eaten in the last four hours?" });
  await page.locator("#own-a").selectOption({ label: "yes" });
  await page.locator("#own-o").selectOption({ label: "Leave out" });
  await page.locator("#own-words").fill("Our own: leave it out after a meal.");
  await page.locator("#own-source").fill("our case book");
  const form = page.locator("details").filter({ has: page.locator("#own-words") });
  await keep(form);
  await form.getByText("OWN-1.to").waitFor();
  await page.locator("#own-to").fill("LI4");
  await keep(form);
  await page.locator("article").getByText("our case book").waitFor();
  await page.evaluate(() => {
    window.showSaveFilePicker = undefined;
    navigator.canShare = () => false;
    const make = URL.createObjectURL;
    URL.createObjectURL = (blob) => { blob.text().then((text) => { window.given = text; }); return make.call(URL, blob); };
  });
  await visit.press("Share the rules");
  const file = await until("the file of rules", () => page.evaluate(() => window.given));
  equal(JSON.parse(file).rules.map((rule) => rule.id), ["OWN-1"], "the file holds the rule");
  await page.goto(person);
  await visit.step("Ask");
  await page.getByText("Our own: leave it out after a meal.").first().waitFor();
  await page.evaluate(() => { location.hash = "/own-rules"; });
  await page.getByRole("button", { name: "Take it away" }).click();
  await until("no rule", async () => (await page.locator("article").count()) === 0);
  const bring = async (name, bytes) => {
    await sleep(350);
    const chooser = page.waitForEvent("filechooser");
    await visit.press("Bring rules in");
    await (await chooser).setFiles({ name, mimeType: "text/plain", buffer: Buffer.from(bytes) });
  };
  await bring("bad.txt", "{}");
  await page.getByText("does not hold rules").waitFor();
  await bring("strange.txt", file.replace("LI4", "<img src=x>"));
  await page.getByText("OWN-1.to[0]").waitFor();
  equal(await page.locator("article").count(), 0, "nothing of a file with a fault is taken");
  await bring("rules.txt", file);
  await page.getByText("Rules brought in: 1.").waitFor();
  equal(await page.locator("article").count(), 1, "the rule is back");
  equal(await axe(page), [], "faults that axe found");
  equal(thrown(page), [], "nothing was thrown");
});
