// Runs every *.test.mjs beside it, or the tests whose name holds the given words.
import fs from "node:fs";
import path from "node:path";
import { here, run } from "./harness.mjs";

for (const name of fs.readdirSync(here).filter((one) => one.endsWith(".test.mjs")).sort()) await import(path.join(here, name));
await run(process.argv.slice(2).join(" "));
