// The beat of a sound: the moment at which it is heard, and meant, to happen. Of a tap, its impact.
// As handsfree/timing/p_center.py and tap_detection.py, which say why.

import {
  bandPowers, EDGES, hanning, HOP, largest, meanSquare, meanSquares, rounded, WINDOW,
} from "./noise-floor.js";
import { filtered } from "./spectrum.js";

const RATE = 16000;
const VOWELS_HZ = [400, 2000];
const BEFORE_S = 0.05;
const AHEAD = 8000; // samples: 0.5 s
const BEFORE = 800; // 0.05 s
const WITHIN = 4000; // 0.25 s
const BRIDGED = 1920; // 0.12 s
const LEAST_S = 0.005;
const STRUCK_S = 0.003;
const LEVELS = [4, 5, 6, 7, 8, 9, 10, 11, 12].map((db) => 10 ** (-db / 10));
const LOOSE = 10 ** 0.1 - 1;
const EVEN = hanning(384);
const EVEN_SUM = EVEN.reduce((sum, value) => sum + value, 0);
const NORMAL = 1.96;

const SOON = 0.1;
const LOUD = 0.5;
const VOICED = 0.3;
const GUSTS = 4;
const MOST_USUAL = 100;
const [ABOUT_ROWS, BEFORE_ROWS, AFTER_ROWS, VOWEL_ROWS] = [8, 3, 15, 22];
const EDGE = 16;
const LEAST_POWER = 1e-14;

function response(hertz) {
  const [low, high] = VOWELS_HZ;
  const at = Math.max(hertz, 1);
  return 1 / (1 + ((at * at - low * high) / (at * (high - low))) ** 6);
}

const VOWEL_SHARES = EDGES.slice(0, -1).map((low, band) => {
  let sum = 0;
  for (let line = low; line < EDGES[band + 1]; line += 1) sum += response(line * RATE / WINDOW) ** 2;
  return sum / (WINDOW / 2);
});

const inBand = (row) => row.reduce((sum, value, band) => sum + value * VOWEL_SHARES[band], 0);

/** {sample, uncertaintyS, struck} of one sound that starts between or around two samples. */
export function beatOf(sound, [first, last], noise, usual) {
  for (const start of [first, last]) {
    const rows = bandPowers(sound.subarray(0, start + WITHIN));
    const tap = impactRow(rows, Math.max(0, rounded((start - WINDOW / 2) / HOP)), noise, usual);
    if (tap !== null) return { sample: tap * HOP + WINDOW / 2, uncertaintyS: STRUCK_S, struck: true };
  }
  const low = Math.max(0, first - BEFORE);
  const floor = inBand(noise);
  let power = vowelPower(sound).subarray(low, last + AHEAD).map((value) => value - floor);
  const least = largest(power) * LEVELS.at(-1);
  const vowel = Math.max(0, power.findIndex((value) => value >= least));
  power = power.subarray(0, Math.max(vowel, last - low) + WITHIN);
  const peak = largest(power);
  if (peak <= 0) return { sample: last, uncertaintyS: BEFORE_S / NORMAL, struck: false };
  const loudest = power.indexOf(peak);
  const of = (change) => LEVELS.reduce((sum, share) => {
    const level = peak * share;
    const off = 2 * Math.sqrt(level * inBand(usual)) + LOOSE * level;
    return sum + risen(power, loudest, change(level, off)) / LEVELS.length;
  }, 0);
  const early = of((level, off) => Math.max(level - off, level / 10));
  const late = of((level, off) => level + off);
  const beat = of((level) => level);
  const uncertaintyS = Math.max(LEAST_S, (late - early) / 2 / RATE / NORMAL);
  return { sample: low + rounded(beat), uncertaintyS, struck: false };
}

/** Smoothed power in the band of the vowels, sample by sample. */
function vowelPower(sound) {
  const squares = filtered(sound, (share) => response(share * RATE)).map((value) => value * value);
  const after = EVEN.length / 2; // one sample more after the middle than before it
  return squares.map((_, middle) => {
    let sum = 0;
    const until = Math.min(squares.length, middle + after);
    for (let i = Math.max(0, middle - after); i < until; i += 1) {
      sum += squares[i] * EVEN[middle + after - 1 - i];
    }
    return sum / EVEN_SUM;
  });
}

/** First sample that reaches a level, searching back from the loudest across gaps. */
function risen(power, loudest, level) {
  let first = loudest;
  for (let i = loudest - 1; i >= 0 && first - i <= BRIDGED; i -= 1) {
    if (power[i] >= level) first = i;
  }
  return first;
}

/** Row of the impact of a tap, which appears at once and is soon gone; null for a word. */
function impactRow(rows, start, noise, usual) {
  const low = Math.max(0, start - ABOUT_ROWS);
  const mean = (values) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const over = Float64Array.from(rows, (row) => mean(row.map((value, band) => value / noise[band])));
  if (largest(over.subarray(low, start + ABOUT_ROWS)) < 1 / (1 - SOON)) return null;
  let found = null;
  for (const [power, floor, seldom] of [
    [over, 1, mean(usual.map((value, band) => value / noise[band]))],
    [meanSquares(rows), meanSquare(noise), meanSquare(usual)],
  ]) {
    const about = power.subarray(low, start + ABOUT_ROWS);
    const peak = largest(about);
    const first = low + about.findIndex((value) => value >= peak * SOON + floor);
    const at = first < low ? low : first; // none reaches it
    const before = mean(power.subarray(Math.max(0, at - 2 * BEFORE_ROWS), Math.max(1, at - BEFORE_ROWS)));
    const after = mean(power.subarray(Math.min(at + AFTER_ROWS, power.length - 1), at + 2 * AFTER_ROWS));
    if (Math.max(before, after) > peak * SOON + floor || peak < largest(power) * LOUD) return null;
    const gusts = GUSTS * Math.min(seldom, MOST_USUAL * floor);
    if (lasting(power.subarray(at + AFTER_ROWS)) > peak * VOICED + gusts) return null;
    found ??= at;
  }
  return found;
}

/** Highest power that half of the frames in the length of a short vowel exceed. */
function lasting(power) {
  let most = power.length < VOWEL_ROWS ? 0 : -Infinity;
  for (let i = 0; i + VOWEL_ROWS <= power.length; i += 1) {
    const sorted = power.slice(i, i + VOWEL_ROWS).sort();
    most = Math.max(most, (sorted[VOWEL_ROWS / 2 - 1] + sorted[VOWEL_ROWS / 2]) / 2);
  }
  return most;
}

/** Sample at which noise turns into something louder, by Akaike's criterion. */
export function changeAt(samples) {
  const count = samples.length;
  if (count <= 2 * EDGE) return 0;
  const energy = new Float64Array(count);
  let sum = 0;
  samples.forEach((value, i) => { energy[i] = sum += value * value; });
  let [best, least] = [EDGE, Infinity];
  for (let split = EDGE; split < count - EDGE; split += 1) {
    const before = (energy[split - 1] + LEAST_POWER) / split;
    const after = (sum - energy[split - 1] + LEAST_POWER) / (count - split);
    const cost = split * Math.log(before) + (count - split) * Math.log(after);
    if (cost < least) [best, least] = [split, cost];
  }
  return best;
}
