// Band powers of a sound, frame by frame, and statistics of the noise before it.
// As handsfree/timing/noise_floor.py: 4 ms between frames, 8 ms in a frame, 16 bands.

import { power } from "./spectrum.js";

export const HOP = 64;
export const WINDOW = 128;
export const EDGES = [1, 2, 3, 4, 5, 6, 8, 10, 13, 16, 20, 25, 31, 38, 46, 55, 64];
export const BANDS = EDGES.length - 1;
const LEAST_POWER = 1e-11;
const USUAL_QUANTILE = 0.95;
const TAPER = hanning(WINDOW);
const TAPER_POWER = TAPER.reduce((sum, value) => sum + value ** 2, 0);
const SHARES = Array.from({ length: BANDS }, (_, i) => (EDGES[i + 1] - EDGES[i]) / (WINDOW / 2));

/** A Hann window without the zeros at its two ends. */
export function hanning(count) {
  const at = (i) => 0.5 - 0.5 * Math.cos(2 * Math.PI * (i + 1) / (count + 1));
  return Float64Array.from({ length: count }, (_, i) => at(i));
}

/** As Python rounds: a half goes to the even neighbor. */
export function rounded(value) {
  const below = Math.floor(value);
  if (value - below !== 0.5) return Math.round(value);
  return below % 2 === 0 ? below : below + 1;
}

export function largest(values) {
  return values.reduce((most, value) => Math.max(most, value), -Infinity);
}

export function whereLargest(values) {
  return values.indexOf(largest(values));
}

/** One row of 16 band powers for each whole frame of sound from -1 to 1. */
export function bandPowers(samples) {
  const rows = [];
  for (let start = 0; start + WINDOW <= samples.length; start += HOP) {
    const lines = power(samples.subarray(start, start + WINDOW).map((value, i) => value * TAPER[i]));
    rows.push(Float64Array.from({ length: BANDS }, (_, band) => {
      let sum = 0;
      for (let line = EDGES[band]; line < EDGES[band + 1]; line += 1) sum += lines[line];
      return sum / TAPER_POWER / (EDGES[band + 1] - EDGES[band]) + LEAST_POWER;
    }));
  }
  return rows;
}

/** Mean square of the sound in one frame, without what is below the bands. */
export function meanSquare(row) {
  let sum = 0;
  for (let band = 0; band < BANDS; band += 1) sum += row[band] * SHARES[band];
  return sum;
}

export function meanSquares(rows) {
  return Float64Array.from(rows, meanSquare);
}

/** Mean of each frame and the next: 12 ms of sound. */
export function inPairs(values) {
  const last = values.length - 1;
  return values.map((value, i) => (value + values[Math.min(i + 1, last)]) / 2);
}

/** First of the first ``silent`` silent frames in a row; null if there are none yet. */
export function endOf(sounds, silent) {
  let quiet = 0;
  for (let nth = 0; nth < sounds.length; nth += 1) {
    quiet = sounds[nth] ? 0 : quiet + 1;
    if (quiet >= silent) return nth - quiet + 1;
  }
  return null;
}

/** Mean power of each band (from its median) and its 95th percentile, over frames of noise. */
export function noiseOf(rows) {
  const [noise, usual] = [new Float64Array(BANDS), new Float64Array(BANDS)];
  for (let band = 0; band < BANDS; band += 1) {
    const sorted = Float64Array.from(rows, (row) => row[band]).sort();
    noise[band] = quantile(sorted, 0.5) / Math.LN2;
    usual[band] = quantile(sorted, USUAL_QUANTILE);
  }
  return [noise, usual];
}

function quantile(sorted, share) {
  const place = share * (sorted.length - 1);
  const low = Math.floor(place);
  const high = Math.min(low + 1, sorted.length - 1);
  return sorted[low] + (sorted[high] - sorted[low]) * (place - low);
}
