// Cuts the stream of sound into utterances as the desktop does: the same gate, the same limits.

import { CHUNK } from "./voice-net.js";

export const RATE = 16000;
const VOICE = 0.4;
const PRE_ROLL = chunks(0.5);
const ENDPOINT = chunks(0.35);
const SHORTEST = chunks(0.1);
const LONGEST = chunks(15);
const AHEAD = chunks(0.16); // silence after which an utterance is recognized: it may be its end
const FLOOR_CHUNKS = 125;
const KNOWN_AFTER = 16;
const ABOVE_DB = 4;
const HOLD_CHUNKS = 16;
const BEFORE_CHUNKS = 8;
const LEAST_RMS = 0.3;

function chunks(seconds) {
  return Math.max(1, Math.round(seconds * RATE / CHUNK));
}

/** The level of a chunk in dB relative to full scale, without a constant offset. */
export function levelDb(chunk) {
  let mean = 0;
  for (const value of chunk) mean += value / chunk.length;
  let power = 0;
  for (const value of chunk) power += (value - mean) ** 2 / chunk.length;
  return 20 * Math.log10(Math.max(Math.sqrt(power), LEAST_RMS) / 32768);
}

/** Passes chunks that are louder than the room to the net; all others are no voice. */
class NoiseGate {
  constructor(net) {
    this.net = net;
    this.levels = [];
    this.unseen = [];
    this.hold = 0;
  }

  probability(chunk) {
    const level = levelDb(chunk);
    this.levels.push(level);
    if (this.levels.length > FLOOR_CHUNKS) this.levels.shift();
    const known = this.levels.length >= KNOWN_AFTER;
    if (!known || level > Math.min(...this.levels) + ABOVE_DB) this.hold = HOLD_CHUNKS;
    else if (this.hold > 0) this.hold -= 1;
    if (this.hold === 0) {
      this.unseen.push(chunk);
      if (this.unseen.length > BEFORE_CHUNKS) this.unseen.shift();
      return 0;
    }
    for (const each of this.unseen.splice(0)) this.net.probability(each);
    return this.net.probability(chunk);
  }
}

/** Takes chunks of 512 samples; an utterance comes out of the chunk that ends it. */
export class Segmenter {
  /** ``position``: the sample of the stream with which the first chunk begins. */
  constructor(net, position = 0) {
    this.gate = new NoiseGate(net);
    this.position = position;
    this.kept = [];
    this.voiced = 0;
    this.sinceVoice = 0;
    this.ahead = 0; // chunks up to the silence that may end the utterance, 0 without one
  }

  get voiceS() {
    return this.voiced * CHUNK / RATE;
  }

  /**
   * Returns {start, samples, ahead} or null; ``ahead`` samples came before the silence that ended
   * it was long enough to hear it, all of them if none was.
   */
  feed(chunk) {
    this.position += CHUNK;
    this.kept.push(chunk);
    if (this.gate.probability(chunk) >= VOICE) {
      this.voiced += 1;
      this.sinceVoice = 0;
    } else if (this.voiced > 0) {
      this.sinceVoice += 1;
    }
    if (this.voiced === 0) {
      this.keepPreRoll();
      return null;
    }
    if (this.voiced < SHORTEST || this.sinceVoice < AHEAD) this.ahead = 0;
    else this.ahead ||= this.kept.length;
    return this.sinceVoice >= ENDPOINT || this.kept.length >= LONGEST ? this.end() : null;
  }

  /** The utterance that the end of the stream cuts short, or null. */
  flush() {
    return this.end();
  }

  /** The utterance as if it ended now, once it has been silent for long enough; else null. */
  get paused() {
    return this.ahead === 0 ? null : joined(this.kept.slice(0, this.ahead));
  }

  end() {
    const longEnough = this.voiced >= SHORTEST;
    const ahead = (this.ahead || this.kept.length) * CHUNK;
    this.ahead = 0;
    this.voiced = 0;
    this.sinceVoice = 0;
    if (!longEnough) {
      this.keepPreRoll();
      return null;
    }
    const samples = joined(this.kept);
    this.kept = [];
    return { start: this.position - samples.length, samples, ahead };
  }

  keepPreRoll() {
    const excess = this.kept.length - PRE_ROLL;
    if (excess > 0) this.kept.splice(0, excess);
  }
}

function joined(kept) {
  const samples = new Int16Array(kept.length * CHUNK);
  kept.forEach((each, i) => samples.set(each, i * CHUNK));
  return samples;
}
