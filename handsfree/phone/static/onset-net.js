// The nets that detect where a mark begins: the weights of the desktop, here in typed arrays.
// As handsfree/timing/onset_net.py; their mean errs less than each.

import { BANDS } from "./noise-floor.js";

const DILATIONS = [1, 1, 2, 4, 8, 16, 32]; // of the first layer and of the six that follow
const TAPS = 5;
const HALF = 2;
export const REACH = HALF * DILATIONS.reduce((sum, value) => sum + value, 0);
const INPUTS = 2 * BANDS + 2;
const CHANNELS = 80;
const MEMBERS = 2;
const BIAS = 6;
const SCALE = 4;

const clipped = (value, low, high) => Math.min(Math.max(value, low), high);
const mean = (row) => row.reduce((sum, value) => sum + value, 0) / row.length;

/** The input of the nets, frame after frame; ``voicePower`` is null if it is not known. */
function featuresOf(rows, noise, usual, voicePower) {
  const features = new Float64Array(rows.length * INPUTS);
  rows.forEach((row, frame) => {
    const at = frame * INPUTS;
    for (let band = 0; band < BANDS; band += 1) {
      features[at + band] = clipped(Math.log(row[band] / noise[band]), -4, 12);
      features[at + BANDS + band] = clipped(Math.log(usual[band] / noise[band]), 0, 8);
    }
    if (voicePower !== null) {
      features[at + 2 * BANDS] = Math.log(mean(row) / voicePower + 1e-5);
      features[at + 2 * BANDS + 1] = SCALE;
    }
  });
  return features.map((value) => Math.fround(value / SCALE));
}

export class OnsetNet {
  /** ``halves``: the weights as 16-bit floats, in the order of the layers. */
  constructor(halves) {
    let at = 0;
    const take = (size) => Float64Array.from(halves.subarray(at, (at += size)), asNumber);
    this.members = Array.from({ length: MEMBERS }, () => ({
      layers: DILATIONS.map((dilation, nth) => {
        const from = nth === 0 ? INPUTS : CHANNELS;
        return { dilation, from, weight: byTap(take(CHANNELS * from * TAPS), from), bias: take(CHANNELS) };
      }),
      last: take(CHANNELS),
      lastBias: take(1)[0],
    }));
  }

  /** Log odds of a mark in the frames from ``first`` to before ``until`` of the rows. */
  evidence(rows, noise, usual, voicePower, first, until) {
    const features = featuresOf(rows, noise, usual, voicePower);
    const sum = new Float64Array(until - first);
    for (const member of this.members) {
      let inner = features;
      member.layers.forEach((layer, nth) => {
        const left = HALF * DILATIONS.slice(nth + 1).reduce((total, value) => total + value, 0);
        const [low, high] = [Math.max(0, first - left), Math.min(rows.length, until + left)];
        inner = convolved(inner, layer, rows.length, low, high, nth > 0);
      });
      for (let frame = first; frame < until; frame += 1) {
        let odds = member.lastBias - BIAS;
        for (let i = 0; i < CHANNELS; i += 1) odds += member.last[i] * inner[frame * CHANNELS + i];
        sum[frame - first] += odds / MEMBERS;
      }
    }
    return sum;
  }
}

/** One layer in the frames from ``low`` to before ``high``; beyond the rows all is zero. */
function convolved(inner, layer, frames, low, high, adds) {
  const { dilation, from, weight, bias } = layer;
  const row = TAPS * from;
  layer.near ??= new Float64Array(2 * row); // what two frames see
  if (!(layer.out?.length >= frames * CHANNELS)) layer.out = new Float64Array(frames * CHANNELS);
  const { near, out } = layer;
  for (let frame = low; frame < high; frame += 2) {
    gather(near, 0, inner, frame, dilation, from, frames);
    gather(near, row, inner, frame + 1, dilation, from, frames);
    for (let o = 0; o < CHANNELS; o += 4) {
      // Two frames and four channels at a time, so that each value is read once for several sums.
      let a0 = bias[o], a1 = bias[o + 1], a2 = bias[o + 2], a3 = bias[o + 3];
      let b0 = a0, b1 = a1, b2 = a2, b3 = a3;
      let at = o * row;
      for (let i = 0; i < row; i += 1, at += 1) {
        const x = near[i];
        const y = near[row + i];
        const v0 = weight[at];
        const v1 = weight[at + row];
        const v2 = weight[at + 2 * row];
        const v3 = weight[at + 3 * row];
        a0 += v0 * x; b0 += v0 * y;
        a1 += v1 * x; b1 += v1 * y;
        a2 += v2 * x; b2 += v2 * y;
        a3 += v3 * x; b3 += v3 * y;
      }
      put(out, frame, o, a0, a1, a2, a3);
      if (frame + 1 < high) put(out, frame + 1, o, b0, b1, b2, b3);
    }
  }
  if (adds) for (let i = low * CHANNELS; i < high * CHANNELS; i += 1) out[i] += inner[i];
  return out;
}

function gather(near, at, inner, frame, dilation, from, frames) {
  for (let tap = 0; tap < TAPS; tap += 1) {
    const other = frame + (tap - HALF) * dilation;
    const to = at + tap * from;
    if (other < 0 || other >= frames) near.fill(0, to, to + from);
    else for (let i = 0; i < from; i += 1) near[to + i] = inner[other * from + i];
  }
}

function put(out, frame, o, one, two, three, four) {
  const at = frame * CHANNELS + o;
  out[at] = one > 0 ? one : 0;
  out[at + 1] = two > 0 ? two : 0;
  out[at + 2] = three > 0 ? three : 0;
  out[at + 3] = four > 0 ? four : 0;
}

/** Weights (out, in, tap) in the order out, tap, in. */
function byTap(weight, from) {
  const turned = new Float64Array(weight.length);
  for (let o = 0; o < CHANNELS; o += 1) {
    for (let i = 0; i < from; i += 1) {
      for (let tap = 0; tap < TAPS; tap += 1) {
        turned[(o * TAPS + tap) * from + i] = weight[(o * from + i) * TAPS + tap];
      }
    }
  }
  return turned;
}

/** The value of a 16-bit float (IEEE 754). */
function asNumber(bits) {
  const sign = bits & 0x8000 ? -1 : 1;
  const exponent = (bits >> 10) & 31;
  const fraction = bits & 1023;
  return exponent === 0 ? sign * fraction * 2 ** -24 : sign * (1 + fraction / 1024) * 2 ** (exponent - 15);
}
