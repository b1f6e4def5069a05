// What is rare at the chair and has to be right all the same: a packet of nine, what differed at one
// needle, needles that stay in for days, a rehearsal, and the same round counted on two phones.
import { equal, ok, sleep, test, until } from "./harness.mjs";
import { alone, facts, kinds, saved, seated, thrown } from "./visit.mjs";

const main = (page) => page.locator("main").innerText().then((text) => text.replace(/\s+/g, " "));
const sheet = (visit, name) => visit.page.getByRole("dialog", { name });
const goTo = async (visit, hash) => {
  await visit.page.evaluate((to) => { location.hash = to; }, hash);
  await sleep(400); // A second press so soon is the same knuckle.
};

test("a packet of nine, depth by exception, a needle that stays in: sums, record, sheet, next visit", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  const placed = await seated(visit, "Dabchick Rowe (invented)");
  const session = decodeURIComponent(page.url().split("/").pop());
  const sum = () => page.locator(".sum").innerText().then((text) => text.replace(/\s+/g, " "));
  const before = await sum();
  await visit.press("Something else");
  await visit.hands.press(sheet(visit, "Something else").getByRole("link", { name: "Depth, feeling, packet, hand over" }));
  await visit.where("beside/");
  await sleep(400);
  await visit.press("It held 9");
  await until("the packet to be a fact", async () => (await kinds(page, "pack.fault")).length === 1);
  // Nothing chosen writes nothing.
  await visit.press("Write it down");
  await page.getByText("Nothing that differs was chosen").waitFor();
  equal((await kinds(page, "needle.otherwise")).length, 0, "control: as planned is not a fact");
  await page.locator("#differs-felt").selectOption({ label: "de qi" });
  await visit.hands.write(page.locator("#differs-words"), "slow to come");
  await visit.press("Write it down");
  await until("what differed to be a fact", async () => (await kinds(page, "needle.otherwise")).length === 1);
  await visit.press("Chair");
  await visit.where("chair/");
  const opened = (text) => Number(text.match(/(\d+) opened/)?.[1]);
  ok(opened(await sum()) === opened(before) - 1, `the packet's needle is not there: ${before} / ${await sum()}`);

  // One of the first region stays in; the others come out.
  const slab = page.locator(".slab").first();
  const region = (await slab.innerText()).match(/^Take out (.*)$/s)[1].replace(/\s+/g, " ");
  await visit.hands.press(slab);
  await visit.where("out/");
  await visit.press("Stays in on purpose");
  await visit.hands.press(sheet(visit, "Stays in on purpose").getByRole("button", { name: "They stay in", exact: true }));
  await until("it to be a fact", async () => (await kinds(page, "needle.stays_in")).length === 1);
  if (!page.url().includes("#/chair/")) await goTo(visit, `/chair/${session}`);
  const less = placed.map(([name, n], at) => [name, name === region && at === placed.findIndex(([one]) => one === region) ? n - 1 : n]);
  await visit.takeOutAll(less);
  ok((await sum()).includes("1 stays in"), `a sum of its own: ${await sum()}`);

  await visit.press("Count");
  await visit.where("count/");
  const here = (await facts(page)).filter((fact) => fact.stream === `s:${session}`);
  const fault = here.find((fact) => fact.kind === "pack.fault").body;
  const size = (body) => (body.size ? `${(body.size.diameter / 1000).toFixed(2)} \u00d7 ${body.size.length / 1000} mm` : "");
  const left = {};
  for (const { id, kind, body } of here) {
    if (kind === "pack.opened") left[size(body)] = (left[size(body)] ?? 0) + (fault.pack === id ? fault.held : body.held);
    if (kind === "needle.placed") left[size(body)] = (left[size(body)] ?? 0) - body.count;
  }
  for (let round = 0; round < 8; round += 1) {
    await sleep(200);
    const question = page.locator(".question:visible").first();
    if (!(await question.count())) break;
    const text = (await question.innerText()).replace(/\s+/g, " ");
    const strip = Object.entries(left).find(([name]) => name && text.includes(name));
    if (strip) await visit.hands.number(strip[1]);
    else if (text.includes("full tens")) await visit.hands.number(1);
    else if (text.includes("and over")) await visit.hands.number(1);
    else throw new Error(`asked: ${text}`);
    await until("the next question", async () => !(await question.count()) || (await question.innerText()).replace(/\s+/g, " ") !== text);
  }
  const ticks = page.locator(".ticks button:visible");
  for (let at = 0; at < (await ticks.count()); at += 1) await visit.hands.press(ticks.nth(at));
  await page.getByText("adds up").waitFor();
  await visit.close();
  await goTo(visit, `/print-record/${session}`);
  const record = await page.locator("body").innerText().then((text) => text.replace(/\s+/g, " "));
  for (const words of ["de qi: slow to come", "held 9", "as planned"]) ok(record.includes(words), `the record says "${words}": ${record}`);
  ok(/stays? in/.test(record), "the record names what stays in");
  const person = (await kinds(page, "person.named"))[0].id;
  await goTo(visit, `/print-aftercare/${person}`);
  const home = await page.locator("body").innerText();
  ok(/stay/i.test(home) && home.includes(region.replace("Patient's ", "").split(" ").pop()), `the sheet to take home says what stays in: ${home.slice(0, 900)}`);

  // It comes first at the next visit, and ends as somebody says.
  await goTo(visit, `/person/${person}`);
  await saved(page);
  await goTo(visit, `/ask/${person}`);
  const asked = await main(page);
  const first = page.getByRole("link", { name: /^Needles were left in on purpose last time/ });
  ok(await first.isVisible(), `asked first, next time: ${asked.slice(0, 600)}`);
  await visit.hands.press(first);
  await visit.where("after/");
  await visit.press("taken out by the person");
  await until("the end to be a fact", async () => (await kinds(page, "needle.stay_ended")).length === 1);
  equal((await kinds(page, "needle.stay_ended"))[0].body.how, "by_person", "as it was said");
  await goTo(visit, `/ask/${person}`);
  await page.locator("main").waitFor();
  equal(await first.isVisible(), false, "and asked no more");
  equal(thrown(page), [], "nothing was thrown");
});

test("a rehearsal: marked on every page and on paper, and of nobody", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  await goTo(visit, "/count-only");
  await visit.press(/^Rehearse/);
  await page.locator(".count .now").waitFor();
  const session = decodeURIComponent(page.url().split("/").pop());
  ok((await page.locator("body").innerText()).includes("Rehearsal: nobody is treated"), "said at the chair");
  await sleep(350);
  await visit.hands.press(page.locator(".slab").first());
  await until("one to be in", async () => (await visit.inside()) === 1);
  await goTo(visit, "/people");
  ok((await page.locator("a.pinned").innerText()).includes("(rehearsal)"), "and above every page");
  await goTo(visit, `/chair/${session}`);
  const slab = page.locator(".slab").first();
  if (!(await slab.innerText()).startsWith("Take out")) await visit.press("Taking out");
  await visit.hands.press(page.locator(".slab").first());
  await visit.where("out/");
  await visit.hands.number(1);
  await visit.where("chair/");
  await until("none to be in", async () => (await visit.inside()) === 0);
  await goTo(visit, `/print-record/${session}`);
  ok((await page.locator("body").innerText()).includes("Rehearsal: nobody was treated."), "and on paper");
  equal((await kinds(page, "session.opened")).filter((fact) => fact.body.rehearsal).length, 1, "one rehearsal");
  equal(thrown(page), [], "nothing was thrown");
});

test("one round counted on two phones with two totals: a disagreement to choose from, never a sum", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.emergencyNumber("112");
  const placed = await seated(visit, "Fieldfare Moss (invented)");
  const session = decodeURIComponent(page.url().split("/").pop());
  await visit.takeOutAll(placed);
  await saved(page);
  const here = await kinds(page, "needle.out");
  const one = here.find((fact) => fact.body.needles?.some((n) => n.to - n.from > 1)) ?? here[0];
  const outBefore = (await page.locator(".count .num").allInnerTexts()).map(Number);
  // The other phone was told one less, in the same round of the same region.
  const needles = one.body.needles.map((n, at) => (at === 0 ? { ...n, to: n.to - 1 } : n));
  const other = { ...one, id: `${Number(one.id.split("-")[0]) + 1}-${"cd".repeat(16)}`, body: { ...one.body, needles } };
  delete other.act;
  await goTo(visit, "/");
  const copy = await visit.copyOut();
  const said = await visit.copyIn("other phone.txt", `${copy}${JSON.stringify(other)}\n`);
  ok(/1 fact/.test(said), said);
  await goTo(visit, `/chair/${session}`);
  await page.locator(".count .now").waitFor();
  equal((await page.locator(".count .num").allInnerTexts()).map(Number)[1] <= outBefore[1], true, "never a sum of both");
  await goTo(visit, "/differ");
  const words = await main(page);
  ok(!words.includes("Nothing"), `named on the page of disagreements: ${words}`);
  ok((await page.locator("main section li").count()) >= 2, `side by side: ${words}`);
  await visit.hands.press(page.locator("main section li").first().getByRole("button"));
  await until("the choice to be a fact", async () => (await facts(page)).some((fact) => fact.kind === "corrected" && fact.body.targets.length === 1));
  equal(thrown(page), [], "nothing was thrown");
});
