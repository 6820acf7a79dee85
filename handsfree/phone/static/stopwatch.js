// The stopwatch in the page: sends the sound of one run to its worker, and hears words in it.

import { pieceOf } from "./sound-piece.js";

const RATE = 16000;
const MOMENTS = 6;
const LONGEST_S = [1, 1.7]; // a word, and a word with the name of its leaf
const NOTHING = {
  marks: [], labels: [], cancelled: false, count: 0, flac: new Uint8Array(), heard: {}, expected: 0,
};

export class Stopwatch {
  /**
   * ``marksOf(found, lengthS, startS)`` resolves to what the words mark: {labels, cancel};
   * ``pieceWanted(run)`` to the next piece of the run that is to be heard, or null.
   */
  constructor(marksOf, pieceWanted) {
    this.marksOf = marksOf;
    this.pieceWanted = pieceWanted;
    this.running = false;
  }

  /** Times a run that begins with this sound; resolves to what was found and heard in it. */
  async time({ expected, least_rms: leastRms }, sound, recognizer) {
    this.running = true;
    Object.assign(this, { expected, recognizer, sound: [], count: 0, heard: {} });
    this.ahead = Promise.resolve();
    this.worker ??= new Worker("clock.js", { type: "module" });
    const whole = new Promise((resolve, reject) => {
      this.worker.onmessage = ({ data }) => {
        if (data.run !== undefined) resolve(data.run);
        else if (data.marks !== undefined) this.hearAhead(data);
        else this.hear(data.segment).catch(reject);
      };
      this.worker.onerror = (event) => reject(new Error(event.message));
    });
    this.worker.postMessage({ act: "begin", expected, leastRms });
    for (const chunk of sound) this.feed(chunk);
    try {
      const run = await whole;
      await this.ahead;
      if (!run.cancelled) await this.hearMarks(run.marks, run.count);
      return { ...run, heard: this.heard, expected };
    } finally {
      this.running = false;
    }
  }

  feed(chunk) {
    this.sound.push(chunk);
    this.count += chunk.length;
    this.worker.postMessage({ act: "chunk", chunk });
  }

  cancel() {
    if (this.running) this.worker.postMessage({ act: "cancel" });
  }

  /** Ends the run with what was heard so far. */
  end() {
    if (this.running) this.worker.postMessage({ act: "end" });
  }

  async hear({ start, samples }) {
    const found = await this.recognizer.recognize(samples, "clock", 1);
    const marks = await this.marksOf(found, samples.length / RATE, start / RATE);
    this.worker.postMessage({ act: "heard", ...marks });
  }

  /** Hears the words at the marks so far, so that little is left to do at the end. */
  hearAhead({ marks, count }) {
    const before = marks.slice(0, -1);
    const longest = LONGEST_S[this.expected > MOMENTS ? 1 : 0] * RATE;
    if (before.length === 0 || marks.at(-1).sample - before.at(-1).sample <= longest) return;
    this.ahead = this.ahead.then(() => this.hearMarks(before, count)).catch(() => null);
  }

  async hearMarks(marks, count) {
    for (;;) {
      const run = { marks, count, expected: this.expected, heard: this.heard };
      const piece = await this.pieceWanted(JSON.stringify(run));
      if (piece === null) return;
      const { begin, end, hear } = piece;
      const samples = pieceOf(this.sound, this.count, begin, end);
      const found = [];
      for (const { graph, most } of hear) found.push(await this.recognizer.recognize(samples, graph, most));
      this.heard[`${begin}-${end}`] = found;
    }
  }
}

/** What Python takes of a run that began at a sample of the microphone. */
export function asRun({ flac, ...run }, startedAt) {
  const span = { start_s: startedAt / RATE, end_s: (startedAt + run.count) / RATE };
  return { run: JSON.stringify({ ...run, ...span }), flac };
}

export const noRun = (at) => asRun(NOTHING, at);
