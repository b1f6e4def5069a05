// The finished build: what it is made of, and that the optimised page opens.
import fs from "node:fs";
import path from "node:path";
import { axe, built, equal, keptOffline, listOf, ok, root, setUp, sha256, shot, started, test, Site } from "./harness.mjs";

const files = (folder, prefix = "") => fs.readdirSync(folder, { withFileTypes: true }).flatMap((entry) =>
  entry.isDirectory() ? files(path.join(folder, entry.name), `${prefix}/${entry.name}`) : [`${prefix}/${entry.name}`]);

test("the worker lists every file of the build with its hash", () => {
  const list = listOf();
  const there = files(built).filter((name) => !["/sw.js", "/kill-sw.js"].includes(name)).map((name) => (name === "/index.html" ? "/" : name));
  equal(Object.keys(list).sort(), there.sort(), "the list");
  for (const [name, hash] of Object.entries(list)) {
    equal(sha256(fs.readFileSync(path.join(built, name === "/" ? "index.html" : name))), hash, name);
  }
});

test("the optimised page opens, and nothing is asked of anybody else", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await started(await phone.page(site.url));
  const sent = Buffer.from(await (await fetch(new URL("pinfold-app_bg.wasm", site.url))).arrayBuffer());
  const before = fs.statSync(path.join(root, "target/trunk/pinfold-app_bg.wasm")).size;
  ok(sent.length < before, `what is opened is optimised: ${sent.length} of ${before} bytes`);
  await keptOffline(page);
  ok(page.asked.length > 3, "requests are seen at all");
  equal(page.asked.filter((url) => !url.startsWith(site.url)), [], "requests to elsewhere");
  equal(await page.evaluate(() => window.refused), [], "what the policy refused");
  equal(page.said.filter((line) => /^(error|thrown)/.test(line)), [], "errors on the console");
  await shot(page, "first");
});

test("no path of the building machine is in the shipped code", () => {
  const words = [root, process.env.HOME].filter((word) => word && word.length > 1).map((word) => `${word}/`);
  const modules = fs.readdirSync(built).filter((name) => name.endsWith(".wasm"));
  ok(modules.length >= 4, `every part: ${modules}`);
  const code = Buffer.concat(modules.map((name) => fs.readFileSync(path.join(built, name))));
  // Control: the search finds what is there. Places of panics are kept, so the renamed ones must be.
  ok(code.includes("/crates/") || code.includes("app/src/") || code.includes("core/src/"), "places of code are found by this search");
  for (const word of words) ok(!code.includes(word), `found ${word}`);
});

test("types and headers, from the server and from the phone's own copy", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await keptOffline(await phone.page(site.url));
  const look = (from) => page.evaluate(async () => {
    const found = {};
    for (const name of ["/", "/pinfold-app_bg.wasm", "/pinfold-app.js", "/boot.js", "/style/app.css", "/manifest.webmanifest", "/icons/mark-192.png"]) {
      const answer = await fetch(name);
      const get = (header) => answer.headers.get(header);
      found[name] = [answer.status, get("content-type"), get("content-security-policy"), get("x-content-type-options"), get("referrer-policy"),
        get("cross-origin-opener-policy"), get("permissions-policy")];
    }
    return found;
  });
  const online = await look();
  equal(online["/pinfold-app_bg.wasm"].slice(0, 2), [200, "application/wasm"], "the module's type");
  equal(online["/manifest.webmanifest"][1], "application/manifest+json", "the manifest's type");
  for (const [name, [, , policy, sniff, referrer, opener, permissions]] of Object.entries(online)) {
    ok(policy?.includes("default-src 'none'") && policy.includes("frame-ancestors 'none'"), `${name}: policy`);
    equal([sniff, referrer, opener], ["nosniff", "no-referrer", "same-origin"], name);
    ok(permissions.includes("camera=()") && permissions.includes("screen-wake-lock=(self)") && permissions.includes("web-share=(self)"), `${name}: permissions`);
  }
  const worker = await fetch(new URL("sw.js", site.url));
  ok(worker.headers.get("content-security-policy")?.includes("connect-src 'self'"), "the worker's own policy");
  equal(worker.headers.get("content-type"), "text/javascript; charset=utf-8", "the worker's type");

  // The page that is open may not be in the worker's charge yet; after a reload it is.
  await page.reload();
  await started(page);
  await site.stop();
  equal(await look(), online, "the same from the phone's own copy");
});

test("a server answers wrong addresses with an error", async (clean) => {
  const site = await new Site().deploy().start();
  clean(() => site.process.end());
  for (const name of ["nothing.js", "../Cargo.toml", ".git/config", "icons/"]) equal((await fetch(new URL(name, site.url))).status, 404, name);
  equal((await fetch(site.url, { method: "POST" })).status, 405, "POST");
});

test("the manifest names icons that are there, of the size they say", () => {
  const manifest = JSON.parse(fs.readFileSync(path.join(built, "manifest.webmanifest")));
  equal(manifest.id, "/pinfold", "the id, fixed for ever");
  equal(manifest.display, "standalone", "display");
  const sizes = [];
  for (const icon of manifest.icons.filter((one) => one.type === "image/png")) {
    const png = fs.readFileSync(path.join(built, icon.src));
    equal(`${png.readUInt32BE(16)}x${png.readUInt32BE(20)}`, icon.sizes, icon.src);
    sizes.push(`${icon.sizes} ${icon.purpose}`);
  }
  for (const wanted of ["192x192 any", "512x512 any", "512x512 maskable"]) ok(sizes.includes(wanted), wanted);
  ok(listOf()["/icons/apple-touch-180.png"], "the icon for a phone that reads no manifest icons");
});

test("the policy stops inline code, made-up code and talk with others; without it they pass", async (clean) => {
  for (const policy of [false, true]) {
    const { site, phone } = await setUp(clean, { policy });
    const other = await new Site().deploy().start();
    clean(() => other.process.end());
    const page = await phone.page(site.url);
    const got = await page.evaluate(async (elsewhere) => {
      const inline = document.createElement("script");
      inline.textContent = "window.inlineRan = true";
      document.head.append(inline);
      const styled = document.createElement("div");
      styled.setAttribute("style", "position:absolute");
      document.body.append(styled);
      const talked = await fetch(elsewhere, { mode: "no-cors" }).then(() => true, () => false);
      const own = await fetch("/boot.js").then(() => true, () => false);
      // In a turn of its own: while the driver's own call runs, the browser lets made-up code pass.
      await new Promise((done) => setTimeout(done, 50));
      let made = true;
      try { new Function("return 1")(); } catch { made = false; }
      return { inline: !!window.inlineRan, style: styled.style.position === "absolute", made, talked, own };
    }, other.url);
    equal(got, { inline: !policy, style: !policy, made: !policy, talked: !policy, own: true }, policy ? "with the policy" : "control, without it");
  }
});

test("the worker may not talk with others either", async (clean) => {
  // A worker that tries at install and says in its cache what came of it.
  const spy = (elsewhere) => `self.addEventListener("install", (event) => event.waitUntil((async () => {
    const talked = await fetch("${elsewhere}", { mode: "no-cors" }).then(() => "yes", () => "no");
    await (await caches.open("spy")).put("/talked", new Response(talked));
  })()));`;
  for (const policy of [false, true]) {
    const { site, phone } = await setUp(clean, { policy });
    const other = await new Site().deploy().start();
    clean(() => other.process.end());
    fs.writeFileSync(path.join(site.www, "sw.js"), spy(other.url));
    const page = await started(await phone.page(site.url));
    const said = await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
      return (await caches.match("/talked")).text();
    });
    equal(said, policy ? "no" : "yes", policy ? "with the policy" : "control, without it");
  }
});

test("the first screen has no faults that axe knows", async (clean) => {
  const { site, phone } = await setUp(clean);
  const page = await started(await phone.page(site.url));
  equal(await axe(page), [], "axe");
  // Control: it does find one that is put there.
  await page.evaluate(() => document.body.append(document.createElement("button")));
  ok((await axe(page)).some((line) => line.startsWith("button-name")), "axe finds a button without a name");
});
