// Says of each description, which Python read as JSON, whether ajv takes it by the schema.
// Usage: node ajv.mjs SCHEMA FILE...     prints "taken FILE" or "refused FILE: why"
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

// Where npm put it is the folder that the script is started in.
const Ajv = createRequire(process.cwd() + "/")("ajv").default;
const [schema, ...files] = process.argv.slice(2);
const read = (file) => JSON.parse(readFileSync(file, "utf8"));
// Strict: words of the schema that ajv does not know are mistakes.
const takes = new Ajv({ strict: true, strictTypes: false, strictRequired: false }).compile(
  read(schema),
);
for (const file of files) {
  const why = takes(read(file)) ? "" : `: ${takes.errors[0].instancePath} ${takes.errors[0].message}`;
  console.log(`${why ? "refused" : "taken"} ${file}${why}`);
}
