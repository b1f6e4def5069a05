// Copies: what leaves, what a file is beside what is here, what it would bring; choices; erasing.
import { equal, ok, sleep, test } from "./harness.mjs";
import { alone, facts, saved, thrown } from "./visit.mjs";

const go = async (page, to) => {
  await page.evaluate((hash) => { location.hash = hash; }, to);
  await sleep(400); // A second press so soon is the same knuckle.
};
const main = (page) => page.locator("main").innerText();
const personOf = async (page, name) => (await facts(page)).find((fact) => fact.kind === "person.named" && fact.body?.name === name);

test("a copy is looked into before it is brought in, and left without a change", async (clean) => {
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.meet("Wren Fold (invented)", "1984-02-29");
  await saved(page);
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
  const { open } = await alone(clean);
  const visit = await open();
  const { page } = visit;
  await visit.meet("Sedge Marlow (invented)", "1984-02-29");
  await saved(page);
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
  const words = await visit.copyIn("old.txt", copy);
  ok(words.includes("It still holds"), words);
  ok(!JSON.stringify(await facts(page)).includes("Sedge Marlow"), "it did not come back");
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
