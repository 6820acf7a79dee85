// Listens to one timed cycle: the marks in the stream of samples, and where its words are.
// As handsfree/recognition/cycle_listener.py; the words at the marks are weighed in Python.

import { flac } from "./flac.js";
import { LEAST_ODDS_OF_WORD, OnsetDetector } from "./onset-detector.js";
import { Segmenter } from "./segmenter.js";
import { pieceOf } from "./sound-piece.js";
import { CHUNK } from "./voice-net.js";

const RATE = 16000;
const MOMENTS = 6;
const MOST_UNHEARD = 2;
const LAST = "shut";
const NEAR_S = 0.25;
const QUIET_AFTER_S = 0.8;
const LATCHED_S = 3;
const GIVE_UP_S = 75;
const LONGEST_S = [1, 1.7]; // a word, and a word with the name of its leaf
const NOISE_S = 6; // before a word, to learn the noise
const AFTER_S = 2; // sound after the start of a word that decides its mark

export class CycleListener {
  /** ``hear(segment)`` asks for the words of a segment, which come to ``heard`` later. */
  constructor(nets, expected, leastRms, hear) {
    this.nets = nets;
    this.expected = expected;
    this.leastRms = leastRms;
    this.hear = hear;
    this.detector = new OnsetDetector(nets.onset, leastRms);
    this.segmenter = new Segmenter(nets.voice());
    this.chunks = [];
    this.count = 0;
    this.cut = 0; // samples that were cut into utterances
    this.marks = [];
    this.labels = [];
    this.lookedFor = 0;
    this.open = 0; // segments whose words are not known yet
    this.cancelled = false;
  }

  /** Takes samples in blocks of any size. */
  feed(block) {
    this.chunks.push(block);
    this.count += block.length;
    this.add(this.detector.feed(block));
    for (; this.count - this.cut >= CHUNK; this.cut += CHUNK) {
      this.ask(this.segmenter.feed(this.samples(this.cut, this.cut + CHUNK)));
    }
    this.lookForMarks(this.count / RATE - AFTER_S);
  }

  /** Takes the words that mark something, as Python names them. */
  heard({ labels, cancel }) {
    this.open -= 1;
    this.labels = [...this.labels, ...labels].sort((one, other) => one.start_s - other.start_s);
    this.cancelled ||= cancel;
  }

  get over() {
    const last = this.marks.at(-1);
    const sinceS = (this.count - (last?.end_sample ?? 0)) / RATE;
    if (this.cancelled || sinceS >= GIVE_UP_S) return true;
    if (sinceS < QUIET_AFTER_S) return false;
    if (this.marks.length < this.expected) return sinceS >= LATCHED_S && this.latched;
    return (this.count - last.sample) / RATE >= LONGEST_S[this.expected > MOMENTS ? 1 : 0];
  }

  /** True if the last mark has the last word of the cycle, and most of the others were heard. */
  get latched() {
    const last = this.labels.filter(({ word }) => word === LAST);
    return this.expected - this.labels.length <= MOST_UNHEARD
      && last.length >= this.expected / MOMENTS
      && Math.abs(last.at(-1).start_s - this.marks.at(-1).sample / RATE) <= NEAR_S;
  }

  /** Ends the stream; true once all words are known. */
  end() {
    if (this.ended) return this.open === 0;
    this.ended = true;
    this.add(this.detector.finish());
    this.ask(this.segmenter.flush());
    return this.open === 0;
  }

  /** The run, after the last words. */
  run() {
    this.lookForMarks(Infinity);
    const { marks, labels, cancelled, count } = this;
    return { marks, labels, cancelled, count, flac: flac(this.samples(0, count)) };
  }

  add(marks) {
    this.marks = [...this.marks, ...marks].sort((one, other) => one.sample - other.sample);
  }

  ask(segment) {
    if (segment === null) return;
    this.open += 1;
    this.hear(segment);
  }

  /** Searches for the marks of words that were heard before ``untilS`` and have none. */
  lookForMarks(untilS) {
    for (const label of this.labels.slice(this.lookedFor)) {
      if (label.start_s > untilS) break;
      this.lookedFor += 1;
      const near = (mark) => Math.abs(mark.sample / RATE - label.start_s) <= NEAR_S;
      if (this.marks.some(near)) continue;
      const first = Math.max(0, Math.round((label.start_s - NOISE_S) * RATE));
      const part = this.samples(first, Math.round((label.start_s + AFTER_S) * RATE));
      const detector = new OnsetDetector(this.nets.onset, this.leastRms, NEAR_S, LEAST_ODDS_OF_WORD);
      const found = [...detector.feed(part), ...detector.finish()]
        .map((mark) => ({ ...mark, sample: mark.sample + first, end_sample: mark.end_sample + first }))
        .filter(near);
      const apart = (mark) => Math.abs(mark.sample / RATE - label.start_s);
      this.add(found.sort((one, other) => apart(one) - apart(other)).slice(0, 1));
    }
  }

  samples(from, until) {
    return pieceOf(this.chunks, this.count, from, until);
  }
}
