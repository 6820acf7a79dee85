// The recognizer in its worker: sound of one utterance in, out what it may have been.

import { forRecognizer } from "./levels.js";

const RATE = 16000;
const COMPARED = 30; // readings of an utterance that are compared, as on the desktop
const { archives } = await (await fetch("app.json")).json();
const noise = fetch("noise.bin").then((answer) => answer.arrayBuffer())
  .then((bytes) => new Float32Array(bytes));

export class Recognizer {
  constructor(language) {
    this.worker = new Worker("vosk/vosk.worker.js", { type: "module" });
    this.waiting = [];
    this.ready = new Promise((resolve, reject) => {
      this.worker.onmessage = ({ data }) => {
        if (data?.event === "load") {
          if (data.result) resolve();
          else reject(new Error("the speech model could not be loaded"));
        } else if (data?.event === "utterance") {
          this.waiting.shift().resolve(data.result);
        } else if (data?.event === "error") {
          if (this.waiting.length === 0) reject(new Error(data.error));
          else this.waiting.shift().reject(new Error(data.error));
        }
      };
      this.worker.onerror = (event) => reject(new Error(event.message));
    });
    const here = (file) => new URL(file, document.baseURI).href;
    this.worker.postMessage({ action: "set", key: "logLevel", value: -1 });
    this.worker.postMessage({
      action: "load", wasmUrl: here("vosk/vosk.wasm"), modelUrl: here(archives[language]),
    });
  }

  /**
   * What one utterance (16 bits) may have been: the recognizer's answer, JSON for Python, which
   * decides. ``graph`` names a narrow grammar; ``most`` readings are listed.
   */
  async recognize(samples, graph, most = COMPARED) {
    await this.ready;
    const data = forRecognizer(samples, await noise);
    const found = new Promise((resolve, reject) => this.waiting.push({ resolve, reject }));
    const sound = { action: "utterance", data, sampleRate: RATE, graph, most };
    this.worker.postMessage(sound, [data.buffer]);
    return found;
  }

  end() {
    this.worker.terminate();
  }
}
