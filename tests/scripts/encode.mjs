// Writes workflow commands as @actions/core does: from standard input, a list of {level, message, properties}.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const core = createRequire(process.argv[2])("@actions/core");
for (const { level, message, properties } of JSON.parse(readFileSync(0, "utf8"))) {
  core[level](message, properties);
}
