// Finds the marks in a stream of samples: as handsfree/timing/onset_detector.py, step by step.

import { beatOf, changeAt } from "./beat.js";
import {
  bandPowers, endOf, HOP, inPairs, largest, meanSquare, meanSquares, noiseOf, rounded, whereLargest,
  WINDOW,
} from "./noise-floor.js";
import { REACH } from "./onset-net.js";

const VOICE_SHARE = 0.7;
export const MIN_GAP_S = 0.5;
export const LEAST_ODDS = 6;
export const LEAST_ODDS_OF_WORD = 1;
const FRAME_S = 0.004;
const CHUNK = 1600;
const BLOCK = 100;
// In frames of 4 ms, as Python rounds them.
const [WARM_UP, LAG, MEMORY, KEPT, NEAR, GATHERED] = [100, 150, 1000, 1750, 62, 12];
const [LOUD_WITHIN, HANG, LOOK_BACK, BRIDGED, LONGEST] = [100, 38, 250, 25, 325];
const [LOUD, LEAST_ODDS_OF_LOUD, PLAIN, STEADY] = [100, 1, 10 ** 3.2, 10];
const [ENDED_BELOW, ENDED_OVER_NOISE] = [0.1, 2.5];
const [SEEN_OVER_NOISE, SEEN_OF_PEAK, ALONE, HELD_OF_PEAK] = [2, 0.01, 10 ** 2.5, 10 ** -1.5];
const [REFINE, BEAT_BEFORE, BEAT_AFTER] = [160, 1280, 8480]; // samples
const [FULL_SCALE, CLIPPED_SHARE, MOST_EVIDENCE] = [0.999, 1e-3, 30];

export class OnsetDetector {
  /** ``leastRms`` (0 to 1) is the level that a mark must reach; ``leastOdds`` its odds. */
  constructor(net, leastRms = 0, minGapS = MIN_GAP_S, leastOdds = LEAST_ODDS) {
    this.net = net;
    this.minGap = rounded(minGapS / FRAME_S);
    this.leastPower = leastRms ** 2;
    this.leastOdds = leastOdds;
    this.voicePower = leastRms > 0 ? (leastRms / VOICE_SHARE) ** 2 : null;
    this.waiting = new Float64Array(0);
    this.first = 0; // frame of the stream with which all buffers begin
    this.samples = new Float64Array(0);
    this.powers = [];
    this.odds = [];
    this.noise = [];
    this.judged = WARM_UP; // frame up to which the net has evaluated
    this.decided = WARM_UP; // frame up to which onsets are decided
    this.lastOnset = -this.minGap;
  }

  /** Takes 16-bit samples and returns the marks that ended. */
  feed(block) {
    this.waiting = joined(this.waiting, Float64Array.from(block, (value) => value / 32768));
    const marks = [];
    while (this.waiting.length >= CHUNK) {
      this.take(this.waiting.subarray(0, CHUNK));
      this.waiting = this.waiting.slice(CHUNK);
      while (this.frames >= this.judged + BLOCK + REACH) this.judge(this.judged + BLOCK);
      marks.push(...this.decide(false));
      this.forget();
    }
    return marks;
  }

  /** Ends the stream and returns the marks that were still sounding. */
  finish() {
    this.take(this.waiting);
    this.waiting = new Float64Array(0);
    while (this.judged < this.frames) this.judge(Math.min(this.judged + BLOCK, this.frames));
    return this.decide(true);
  }

  get frames() {
    return this.first + this.powers.length;
  }

  take(chunk) {
    this.samples = joined(this.samples, chunk);
    for (const row of bandPowers(this.samples.subarray(this.powers.length * HOP))) {
      this.powers.push(row);
      this.odds.push(0);
      this.noise.push(true);
    }
  }

  judge(until) {
    const [noise, usual] = this.noiseBefore(this.judged);
    const begin = Math.max(this.judged - REACH, this.first);
    const rows = this.powers.slice(begin - this.first, until + REACH - this.first);
    const evidence = this.net.evidence(
      rows, noise, usual, this.voicePower, this.judged - begin, until - begin,
    );
    evidence.forEach((value, i) => {
      this.odds[this.judged - this.first + i] = Math.exp(Math.min(value, MOST_EVIDENCE));
    });
    this.judged = until;
  }

  noiseBefore(frame) {
    const until = Math.max(frame - LAG, WARM_UP) - this.first;
    const all = this.powers.slice(0, until);
    const known = all.filter((_, i) => this.noise[i]).slice(-MEMORY);
    return noiseOf(known.length > 0 ? known : all);
  }

  decide(final) {
    const marks = [];
    for (let at = this.nextOnset(final); at !== null; at = this.nextOnset(final)) {
      const mark = this.mark(at, final);
      if (mark === null) break; // still sounding
      marks.push(...mark);
    }
    return marks;
  }

  /** The next frame at which evidence for a mark gathers; null if there is none yet. */
  nextOnset(final) {
    const low = Math.max(this.decided - 2 * NEAR, this.first);
    const odds = this.odds.slice(low - this.first, this.judged - this.first);
    const until = final ? this.judged : this.judged - NEAR;
    if (until <= this.decided) return null;
    const gathered = odds.map((_, row) => {
      let sum = 0;
      for (const value of odds.slice(Math.max(0, row - GATHERED), row + GATHERED + 1)) sum += value;
      return sum;
    });
    const plain = this.plain(until);
    const least = this.leastOddsBefore(until);
    for (let frame = this.decided; frame < until; frame += 1) {
      const row = frame - low;
      if (plain[frame - this.decided]) return frame;
      if (gathered[row] < least[frame - this.decided]) continue;
      if (gathered[row] >= largest(gathered.slice(Math.max(0, row - NEAR), row + NEAR + 1))) {
        // All frames around the best one have gathered as much.
        const about = Math.max(0, row - GATHERED);
        const best = whereLargest(odds.slice(about, row + GATHERED + 1));
        return Math.max(low + about + best, this.decided);
      }
    }
    this.decided = until;
    return null;
  }

  /** Tells which undecided frames are so far above the noise that they need no net. */
  plain(until) {
    const rows = this.powers.slice(this.decided - this.first, until - this.first);
    const least = Math.max(this.leastPower, PLAIN * this.usualBefore(this.decided));
    return Array.from(inPairs(meanSquares(rows)), (power) => power >= least);
  }

  /** Odds required at each undecided frame: lower if it soon gets loud. */
  leastOddsBefore(until) {
    const rows = this.powers.slice(this.decided - this.first, until + NEAR - this.first);
    const power = inPairs(meanSquares(rows));
    const least = Math.max(this.leastPower, LOUD * this.usualBefore(this.decided));
    return Array.from({ length: until - this.decided }, (_, i) => {
      const loudest = Math.max(0, largest(power.subarray(i, i + NEAR + 1)));
      return loudest >= least ? LEAST_ODDS_OF_LOUD : this.leastOdds;
    });
  }

  /** Usual maximum of the noise power; soft ends of words left in it count little. */
  usualBefore(frame) {
    const [noise, usual] = this.noiseBefore(frame);
    return Math.min(meanSquare(usual), STEADY * meanSquare(noise));
  }

  /** The mark that begins around a frame; empty if there is none, null if it still sounds. */
  mark(frame, final) {
    const row = frame - this.first;
    const [noise, seldom] = this.noiseBefore(frame);
    const power = inPairs(meanSquares(this.powers.slice(row)));
    const early = Math.max(row - GATHERED, 0); // a tap may be over when the nets are most certain
    const about = inPairs(meanSquares(this.powers.slice(early, row + LOUD_WITHIN)));
    const peak = largest(about);
    const peakAt = early - row + about.indexOf(peak);
    if (peak < this.leastPower) {
      this.decided = frame + NEAR;
      return []; // not yet: a louder part may follow
    }
    const quiet = Math.max(peak * ENDED_BELOW, meanSquare(noise) * ENDED_OVER_NOISE);
    const still = Array.from(power.subarray(0, LONGEST), (value, i) => value > quiet || i < peakAt);
    let end = endOf(still, HANG);
    if (end === null && still.length < LONGEST && !final) return null;
    this.decided = frame + NEAR;
    if (end === null && still.length === LONGEST) {
      // The noise has changed; until it is known, nothing stands out from it.
      this.noise.fill(false, 0, row);
      this.decided = frame + LONGEST;
      return [];
    }
    end ??= still.length;
    const usual = this.usualBefore(frame);
    const plain = peak >= PLAIN * usual;
    if (plain) this.decided = frame + Math.max(NEAR, end); // its own middle is not another sound
    if (frame - this.lastOnset < this.minGap) return [];
    const begin = Math.max(row - NEAR, this.lastOnset + HANG - this.first, 0);
    let [start, seen] = this.starts(begin, row, plain ? this.seen(row, peak, usual) : null);
    if (peak >= ALONE * meanSquare(seldom)) {
      const held = inPairs(meanSquares(this.powers.slice(begin, start + 1)));
      seen = Math.min(seen, begin + unbrokenFrom(held, HELD_OF_PEAK * peak));
    }
    if (start + this.first - this.lastOnset < this.minGap) return []; // part of the previous mark
    this.lastOnset = start + this.first;
    this.noise.fill(false, Math.min(start, seen), row + end + HANG);
    const [firstAt, lastAt] = [start, seen].sort((one, other) => one - other)
      .map((each) => each * HOP + WINDOW / 2);
    const low = Math.max(0, firstAt - BEAT_BEFORE);
    const sound = this.samples.subarray(low, lastAt + BEAT_AFTER);
    const beat = beatOf(sound, [firstAt - low, lastAt - low], noise, seldom);
    const sample = beat.struck ? this.refined(low + beat.sample) : low + beat.sample;
    const endSample = (frame + end) * HOP + WINDOW;
    const body = this.samples.subarray(sample, endSample - this.first * HOP);
    const full = body.filter((value) => Math.abs(value) >= FULL_SCALE).length;
    return [{
      sample: sample + this.first * HOP,
      end_sample: endSample,
      snr_db: 10 * Math.log10(this.loudestOver(noise, row, row + Math.max(end, 2))),
      level_db: 10 * Math.log10(peak),
      uncertainty_s: beat.uncertaintyS,
      clipped: body.length > 0 && full / body.length > CLIPPED_SHARE,
    }];
  }

  /** The loudest two frames in a row, each band over its noise. */
  loudestOver(noise, from, until) {
    const over = this.powers.slice(from, until).map(
      (row) => row.reduce((sum, value, band) => sum + value / noise[band], 0) / row.length,
    );
    return largest(over.slice(1).map((value, i) => (value + over[i]) / 2));
  }

  /** The row where the sound begins, and a second estimate from its power. */
  starts(begin, row, seen) {
    const odds = this.odds.slice(begin, row + NEAR + 1);
    const sum = odds.reduce((total, value) => total + value, 0);
    if (seen !== null && sum < LEAST_ODDS) return [seen, seen];
    const start = begin + rounded(odds.reduce((total, value, i) => total + value * i, 0) / sum);
    return [start, seen === null || start - seen > BRIDGED ? start : seen];
  }

  /** The row where a sound begins that is far enough above the noise to be seen entirely. */
  seen(row, peak, usual) {
    const low = Math.max(row - LOOK_BACK, this.lastOnset + HANG - this.first, 0);
    const power = meanSquares(this.powers.slice(low, row + LOUD_WITHIN));
    const least = Math.max(SEEN_OVER_NOISE * usual, SEEN_OF_PEAK * peak);
    let begin = whereLargest(power);
    for (let nth = begin - 1; nth >= 0 && begin - nth <= BRIDGED; nth -= 1) {
      if (power[nth] > least) begin = nth;
    }
    return low + begin;
  }

  /** The buffered sample at which the sound around ``middle`` begins. */
  refined(middle) {
    const low = Math.max(0, middle - REFINE);
    const part = this.samples.subarray(low, middle + REFINE);
    return low + changeAt(part.map((value, i) => value - part[Math.max(0, i - 1)]));
  }

  forget() {
    const extra = this.powers.length - KEPT;
    if (extra <= 0) return;
    this.powers.splice(0, extra);
    this.samples = this.samples.slice(extra * HOP);
    this.odds.splice(0, extra);
    this.noise.splice(0, extra);
    this.first += extra;
  }
}

function unbrokenFrom(power, least) {
  let from = power.length;
  while (from > 0 && power[from - 1] >= least) from -= 1;
  return from;
}

function joined(one, other) {
  const both = new Float64Array(one.length + other.length);
  both.set(one);
  both.set(other, one.length);
  return both;
}
