// The worker beside the page: makes keys from what a person typed, and seals and opens copies, so that the
// page does not stand still while it does. One worker a job: it is ended afterwards, because a browser
// gives the memory back only then. It is asked for when there is something to do, never at the start.
//
// Asked: { do: "set", salt, passphrase } | { do: "derive", how, passphrase } | { do: "recovery", code }
// Said:  { key, how } or { why: "text" | "memory" | "empty" | "broken" }
// Asked: { do: "seal", plain, passphrase, chance } | { do: "look", file } | { do: "open", file, passphrase }
// Said:  { file } | {} | { plain }, or { why }, which is also "unreadable" or the word of a copy's trouble.
// `file` is the browser's own file where it was picked: it is read here, and the page never holds it.
import start, { derive, how_for, least, look_at_copy, open_copy, recovery, seal_copy } from "/pinfold-vault.js";

// What the least cost takes here decides what a new passphrase costs. Measured once before, so that
// the first run's compiling is not counted.
function cost(salt) {
  const how = least(salt);
  let quickest = Infinity;
  for (let n = 0; n < 2; n += 1) {
    const begun = performance.now();
    derive(how, "how long does this take here");
    quickest = Math.min(quickest, performance.now() - begun);
  }
  return how_for(Math.ceil(quickest), salt);
}

async function bytes(file) {
  try {
    return new Uint8Array(await file.arrayBuffer());
  } catch {
    throw "unreadable";
  }
}

async function made(asked) {
  switch (asked.do) {
    case "seal": return { file: seal_copy(asked.plain, asked.passphrase, asked.chance) };
    case "look": look_at_copy(await bytes(asked.file)); return {};
    case "open": return { plain: open_copy(await bytes(asked.file), asked.passphrase) };
    case "recovery": return { key: recovery(asked.code), how: "" };
    default: {
      const how = asked.do === "set" ? cost(asked.salt) : asked.how;
      return { key: derive(how, asked.passphrase), how };
    }
  }
}

self.addEventListener("message", async (event) => {
  try {
    await start({ module_or_path: "/pinfold-vault_bg.wasm" });
    const said = await made(event.data);
    // Handed over, not copied: a copy of the journal is large.
    self.postMessage(said, Object.values(said).filter((part) => part instanceof Uint8Array).map((part) => part.buffer));
  } catch (why) {
    self.postMessage({ why: typeof why === "string" ? why : "broken" });
  }
});
