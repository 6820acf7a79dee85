// The stopwatch in the page: sends the sound of one run to its worker, and words for what it hears.

const RATE = 16000;
const NOTHING = { marks: [], labels: [], cancelled: false, count: 0, flac: new Uint8Array() };

export class Stopwatch {
  /** ``marksOf(found, lengthS, startS)`` resolves to what the words mark: {labels, cancel}. */
  constructor(marksOf) {
    this.marksOf = marksOf;
    this.running = false;
  }

  /** Times a run that begins with this sound; resolves to what its worker found. */
  time({ expected, least_rms: leastRms }, sound, recognizer) {
    this.running = true;
    this.worker ??= new Worker("clock.js", { type: "module" });
    const run = new Promise((resolve, reject) => {
      this.worker.onmessage = ({ data }) => {
        if (data.run !== undefined) resolve(data.run);
        else this.hear(data.segment, recognizer).catch(reject);
      };
      this.worker.onerror = (event) => reject(new Error(event.message));
    });
    this.worker.postMessage({ act: "begin", expected, leastRms });
    for (const chunk of sound) this.feed(chunk);
    return run.finally(() => { this.running = false; });
  }

  feed(chunk) {
    this.worker.postMessage({ act: "chunk", chunk });
  }

  cancel() {
    if (this.running) this.worker.postMessage({ act: "cancel" });
  }

  /** Ends the run with what was heard so far. */
  end() {
    if (this.running) this.worker.postMessage({ act: "end" });
  }

  async hear({ start, samples }, recognizer) {
    const found = await recognizer.recognize(samples, "clock");
    const marks = await this.marksOf(found, samples.length / RATE, start / RATE);
    this.worker.postMessage({ act: "heard", ...marks });
  }
}

/** What Python takes of a run that began at a sample of the microphone. */
export function asRun({ marks, labels, cancelled, count, flac }, startedAt) {
  const [start, end] = [startedAt / RATE, (startedAt + count) / RATE];
  return { run: JSON.stringify({ marks, labels, cancelled, start_s: start, end_s: end }), flac };
}

export const noRun = (at) => asRun(NOTHING, at);
