// The worker of the stopwatch: chunks of sound and heard words in, marks and one run of the clock out.

import { CycleListener } from "./cycle-listener.js";
import { OnsetNet } from "./onset-net.js";
import { VoiceNet } from "./voice-net.js";

const weights = Promise.all(["onset-net.bin", "voice-net.bin"].map(
  async (name) => (await fetch(name)).arrayBuffer(),
)).then(([onset, voice]) => ({
  onset: new OnsetNet(new Uint16Array(onset)),
  voice: () => new VoiceNet(new Float32Array(voice)),
}));

let listener = null;
let told = 0; // marks that the page knows of

function look(ended) {
  if (listener !== null && listener.marks.length !== told) {
    told = listener.marks.length;
    postMessage({ marks: listener.marks, count: listener.count });
  }
  if (listener === null || !(ended || listener.ended || listener.over)) return;
  if (!listener.end()) return; // words are still being recognized
  postMessage({ run: listener.run() });
  listener = null;
}

const ACTS = {
  begin: (nets, { expected, leastRms }) => {
    told = 0;
    listener = new CycleListener(nets, expected, leastRms, (segment) => postMessage({ segment }));
  },
  chunk: (nets, { chunk }) => {
    if (listener.ended) return;
    listener.feed(chunk);
    look(false);
  },
  heard: (nets, words) => {
    listener.heard(words);
    look(false);
  },
  cancel: () => {
    listener.cancelled = true;
    look(false);
  },
  end: () => look(true),
};

let before = weights;
onmessage = ({ data }) => {
  before = before.then((nets) => {
    if (listener !== null || data.act === "begin") ACTS[data.act](nets, data);
    return nets;
  });
};
