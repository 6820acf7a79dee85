// node sound.mjs STATIC WEIGHTS SOUND.raw NOISE: what the page's code makes of 16-bit sound at 16 kHz.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [folder, weights, sound, noise] = process.argv.slice(2);
const from = (name) => import(pathToFileURL(path.join(folder, name)).href);
const { VoiceNet, CHUNK } = await from("voice-net.js");
const { Segmenter } = await from("segmenter.js");
const { forRecognizer, snrDb, voiceRms } = await from("levels.js");
const { flac } = await from("flac.js");

const floats = (file) => new Float32Array(new Uint8Array(fs.readFileSync(file)).buffer);
const samples = new Int16Array(new Uint8Array(fs.readFileSync(sound)).buffer);
const net = new VoiceNet(floats(weights));
const segmenter = new Segmenter(new VoiceNet(floats(weights)));
const probabilities = [];
const segments = [];
for (let start = 0; start + CHUNK <= samples.length; start += CHUNK) {
  const chunk = samples.slice(start, start + CHUNK);
  probabilities.push(net.probability(chunk));
  const found = segmenter.feed(chunk);
  if (found !== null) {
    segments.push({
      start: found.start, length: found.samples.length,
      snrDb: snrDb(found.samples), rms: voiceRms(found.samples),
      padded: Array.from(forRecognizer(found.samples, floats(noise))),
      flac: Buffer.from(flac(found.samples)).toString("base64"),
    });
  }
}
console.log(JSON.stringify({ probabilities, segments }));
