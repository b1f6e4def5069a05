// The worker beside the page: makes keys from what a person typed, so that the page does not stand
// still while it does. One worker a job: it is ended afterwards, because a browser gives the memory
// back only then. It is asked for when there is something to unlock or to seal, never at the start.
//
// Asked: { do: "set", salt, passphrase } | { do: "derive", how, passphrase } | { do: "recovery", code }
// Said:  { key, how } or { why: "text" | "memory" | "empty" | "broken" }
import start, { derive, how_for, least, recovery } from "/pinfold-vault.js";

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

function made(asked) {
  if (asked.do === "recovery") return { key: recovery(asked.code), how: "" };
  const how = asked.do === "set" ? cost(asked.salt) : asked.how;
  return { key: derive(how, asked.passphrase), how };
}

self.addEventListener("message", async (event) => {
  try {
    await start({ module_or_path: "/pinfold-vault_bg.wasm" });
    self.postMessage(made(event.data));
  } catch (why) {
    self.postMessage({ why: typeof why === "string" ? why : "broken" });
  }
});
