// node marks.mjs STATIC WEIGHTS LEAST_RMS SOUND.raw: the marks that the page's code finds.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [folder, weights, leastRms, sound] = process.argv.slice(2);
const from = (name) => import(pathToFileURL(path.join(folder, name)).href);
const { OnsetNet } = await from("onset-net.js");
const { OnsetDetector } = await from("onset-detector.js");

const bytes = (file) => new Uint8Array(fs.readFileSync(file)).buffer;
const samples = new Int16Array(bytes(sound));
const detector = new OnsetDetector(new OnsetNet(new Uint16Array(bytes(weights))), Number(leastRms));
const begun = performance.now();
const marks = [];
for (let start = 0; start < samples.length; start += 512) {
  marks.push(...detector.feed(samples.subarray(start, start + 512)));
}
marks.push(...detector.finish());
console.log(JSON.stringify({ marks, seconds: (performance.now() - begun) / 1000 }));
