// Draws public/icons/*.png from the mark's SVG. By hand, after a change of the mark:
//   node .ci/icons/draw.mjs
import fs from "node:fs";
import path from "node:path";
import { Phone, root } from "../../tests/browser/harness.mjs";

const icons = path.join(root, "public/icons");
const wide = path.join(root, ".ci/icons/maskable.svg"); // no corners of its own, the mark within the safe circle
const mark = path.join(icons, "mark.svg");
const phone = await new Phone().on();
for (const [name, size, from] of [["mark-192", 192, mark], ["mark-512", 512, mark], ["maskable-512", 512, wide], ["apple-touch-180", 180, wide]]) {
  const page = await phone.context.newPage();
  await page.setViewportSize({ width: size, height: size });
  await page.setContent(`<body style="margin:0">${fs.readFileSync(from, "utf8").replace("<svg ", `<svg width="${size}" height="${size}" style="display:block" `)}</body>`);
  await page.screenshot({ path: path.join(icons, `${name}.png`), omitBackground: true });
  await page.close();
}
await phone.off();
