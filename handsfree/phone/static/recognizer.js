// The recognizer in its worker: sound of one utterance in, words out.

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
          if (data.event === "result") this.texts.push(data.result.text);
          if (this.answers === 2) this.waiting.shift().resolve(this.texts.join(" "));
        }
      };
      this.worker.onerror = (event) => reject(new Error(event.message));
    });
    this.number = 0;
    const here = (file) => new URL(file, document.baseURI).href;
    this.post({ action: "set", key: "logLevel", value: -1 });
    this.post({
      action: "load", wasmUrl: here("vosk/vosk.wasm"), modelUrl: here(`model/${language}.tar.gz`),
    });
  }

  post(message, transfer = []) {
    this.worker.postMessage(message, transfer);
  }

  /** The words of one utterance: samples as floats on the scale of 16 bits, 16 kHz. */
  async recognize(samples) {
    await this.ready;
    this.number += 1;
    const recognizerId = `utterance ${this.number}`;
    this.current = recognizerId;
    this.answers = 0;
    this.texts = [];
    this.post({ action: "create", recognizerId, sampleRate: 16000 });
    this.post({ action: "set", recognizerId, key: "words", value: true });
    const whole = new Promise((resolve, reject) => this.waiting.push({ resolve, reject }));
    this.post({ action: "audioChunk", recognizerId, data: samples, sampleRate: 16000 }, [samples.buffer]);
    this.post({ action: "retrieveFinalResult", recognizerId });
    const text = await whole;
    this.post({ action: "remove", recognizerId });
    return inWords(text);
  }

  end() {
    this.worker.terminate();
  }
}

/** The phones of other speech, '[..]', as one '[unk]', as the grammar knows it. */
function inWords(text) {
  const words = [];
  for (const word of text.split(/\s+/).filter((each) => each !== "")) {
    const name = word.startsWith("[") ? "[unk]" : word;
    if (name !== "[unk]" || words.at(-1) !== "[unk]") words.push(name);
  }
  return words.join(" ");
}
