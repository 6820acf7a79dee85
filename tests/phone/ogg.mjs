// Writes each piece of a language's prompts as an Ogg file: FOLDER/APP prompts-LANGUAGE into OUT.

import { readFileSync, writeFileSync } from "node:fs";

const [code, app, language, out] = process.argv.slice(2);
const { oggOf } = await import(`${code}/ogg-opus.js`);
const { head, sizes } = JSON.parse(readFileSync(`${app}/prompts-${language}.json`, "utf8"));
const sounds = new Uint8Array(readFileSync(`${app}/prompts-${language}.bin`));
const bytes = Uint8Array.from(head.match(/../g), (byte) => parseInt(byte, 16));
let at = 0;
for (const [nth, size] of sizes.entries()) {
  const ogg = oggOf(sounds.subarray(at, at + size), bytes, 16_000);
  writeFileSync(`${out}/${nth}.ogg`, new Uint8Array(await ogg.arrayBuffer()));
  at += size;
}
