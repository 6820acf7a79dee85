// The samples of one recording, and the log made of them.

const ENDS_BEFORE_S = 0.7; // the tap on Stop shakes the phone
const LEAST_HZ = 45;
const LEAST_S = 5;
const MOST_S = 1800;
const MOST_GAP_S = 0.5;

/** Collects rates of rotation; it is the listener of its own events. */
export class Recording {
  #samples = [];
  #empty = 0; // events without rates
  #hidden = false;

  handleEvent(event) {
    const { alpha, beta, gamma } = event.rotationRate ?? {};
    if (![alpha, beta, gamma].every(Number.isFinite)) {
      this.#empty += 1;
      return;
    }
    const time = event.timeStamp / 1000;
    const first = this.#samples[0]?.time ?? time;
    if (time - first > MOST_S) return;
    // Which axis is which does not matter: the hinge is found by how the leaf turns.
    this.#samples.push({ time, x: beta, y: gamma, z: alpha });
  }

  /** The page was hidden: the phone stops the events then. */
  hidden() {
    this.#hidden = true;
  }

  get seconds() {
    const all = this.#samples;
    return all.length === 0 ? 0 : Math.floor(all.at(-1).time - all[0].time);
  }

  /** What was recorded, up to shortly before the tap that ended it. */
  samples() {
    const all = this.#samples;
    const ends = (all.at(-1)?.time ?? 0) - ENDS_BEFORE_S;
    const kept = all.filter(({ time }) => time <= ends);
    return Object.assign(kept, { hidden: this.#hidden, empty: this.#empty });
  }
}

/** Why samples are no log, as the name of a word and its values; null for a good one. */
export function fault(samples) {
  if (samples.length === 0) return { name: samples.empty > 0 ? "no_rates" : "no_events" };
  if (samples.hidden) return { name: "was_hidden" };
  const seconds = samples.at(-1).time - samples[0].time;
  if (seconds < LEAST_S) return { name: "too_short" };
  const hz = Math.round((samples.length - 1) / seconds);
  if (hz < LEAST_HZ) return { name: "too_slow", hz };
  if (samples.some(({ time }, i) => i > 0 && time - samples[i - 1].time > MOST_GAP_S)) {
    return { name: "gap" };
  }
  return null;
}

/** A log as `handsfree motion` reads it: degrees a second, time from zero. */
export function asCsv(samples) {
  const lines = samples.map(({ time, x, y, z }) =>
    [time - samples[0].time, x, y, z].map((value) => value.toFixed(4)).join(","));
  return `time (s),rotation x (deg/s),rotation y (deg/s),rotation z (deg/s)\n${lines.join("\n")}\n`;
}
