// node cycle.mjs STATIC ONSET_NET VOICE_NET SOUND.raw FIRST: the run of the clock that the page hears.
// FIRST is the size of the first block; no words are recognized, so labels stay empty.

import fs from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [folder, onset, voice, sound, first] = process.argv.slice(2);
const from = (name) => import(pathToFileURL(path.join(folder, name)).href);
const { CycleListener } = await from("cycle-listener.js");
const { OnsetNet } = await from("onset-net.js");
const { VoiceNet } = await from("voice-net.js");

const bytes = (file) => new Uint8Array(fs.readFileSync(file)).buffer;
const samples = new Int16Array(bytes(sound));
const weights = new Float32Array(bytes(voice));
const nets = { onset: new OnsetNet(new Uint16Array(bytes(onset))), voice: () => new VoiceNet(weights) };
const segments = [];
const listener = new CycleListener(nets, 6, 0, ({ start, samples: heard }) => {
  segments.push([start, heard.length]);
  listener.heard({ labels: [], cancel: false });
});
for (let at = 0, size = Number(first); at < samples.length; at += size, size = 512) {
  listener.feed(samples.slice(at, at + size));
}
listener.end();
const { count, marks } = listener.run();
console.log(JSON.stringify({ segments, count, marks: marks.map(({ sample }) => sample) }));
