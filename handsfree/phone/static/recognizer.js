// The recognizer in its worker: sound of one utterance in, words out.

import { PAD } from "./levels.js";

const RATE = 16000;
const { archives } = await (await fetch("app.json")).json();

export class Recognizer {
  constructor(language) {
    this.worker = new Worker("vosk/vosk.worker.js", { type: "module" });
    this.waiting = [];
    this.ready = new Promise((resolve, reject) => {
      this.worker.onmessage = ({ data }) => {
        if (!data) return; // some of its answers are empty
        if (data.event === "load") {
          if (data.result) resolve();
          else reject(new Error("the speech model could not be loaded"));
        } else if (data.event === "error") {
          if (this.waiting.length === 0) reject(new Error(data.error));
          else this.waiting.shift().reject(new Error(data.error));
        } else if (data.recognizerId === this.current && this.waiting.length > 0) {
          // One answer to the sound, where a pause may have ended a part, and one to its end.
          this.answers += 1;
          if (data.event === "result") this.heard.push(...(data.result.result ?? []));
          if (this.answers === 2) this.waiting.shift().resolve(this.heard);
        }
      };
      this.worker.onerror = (event) => reject(new Error(event.message));
    });
    this.number = 0;
    this.before = Promise.resolve();
    const here = (file) => new URL(file, document.baseURI).href;
    this.post({ action: "set", key: "logLevel", value: -1 });
    this.post({
      action: "load", wasmUrl: here("vosk/vosk.wasm"), modelUrl: here(archives[language]),
    });
  }

  post(message, transfer = []) {
    this.worker.postMessage(message, transfer);
  }

  /** The text of one utterance: samples as ``forRecognizer`` makes them. */
  async recognize(samples) {
    return (await this.words(samples, samples.length - 2 * PAD)).map(({ word }) => word).join(" ");
  }

  /** The words of ``length`` samples, each with the seconds at which it starts and ends; ``graph``
   * "clock" knows only those of the stopwatch. */
  words(samples, length, graph) {
    const words = this.before.then(() => this.wordsOf(samples, length, graph)); // one at a time
    this.before = words.catch(() => null);
    return words;
  }

  async wordsOf(samples, length, graph) {
    await this.ready;
    this.number += 1;
    const recognizerId = `utterance ${this.number}`;
    this.current = recognizerId;
    this.answers = 0;
    this.heard = [];
    this.post({ action: "create", recognizerId, sampleRate: RATE, grammar: graph });
    this.post({ action: "set", recognizerId, key: "words", value: true });
    const whole = new Promise((resolve, reject) => this.waiting.push({ resolve, reject }));
    this.post({ action: "audioChunk", recognizerId, data: samples, sampleRate: 16000 }, [samples.buffer]);
    this.post({ action: "retrieveFinalResult", recognizerId });
    const heard = await whole;
    this.post({ action: "remove", recognizerId });
    return inWords(heard, length / RATE);
  }

  end() {
    this.worker.terminate();
  }
}

/** The words in seconds of the unpadded sound; the phones of other speech, '[..]', as one '[unk]'. */
function inWords(heard, lengthS) {
  const unpadded = (seconds) => Math.min(Math.max(seconds - PAD / RATE, 0), lengthS);
  const words = [];
  for (const { word, start, end } of heard) {
    const name = word.startsWith("[") ? "[unk]" : word;
    const last = words.at(-1);
    if (name === "[unk]" && last?.word === name) last.end_s = unpadded(end);
    else words.push({ word: name, start_s: unpadded(start), end_s: unpadded(end) });
  }
  return words;
}
