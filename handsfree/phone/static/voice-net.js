// The net that tells voice from noise: 512 samples in, a probability out. It remembers.
// Spectrum, four convolutions, one LSTM cell: the same weights as on the desktop.

export const CHUNK = 512;
const CONTEXT = 64;
const LAYERS = [[129, 128, 1], [128, 64, 2], [64, 64, 2], [64, 128, 1]]; // in, out, stride
const CELLS = 128;

export class VoiceNet {
  constructor(weights) {
    let at = 0;
    const take = (size) => weights.subarray(at, (at += size));
    this.basis = take(258 * 256);
    this.layers = LAYERS.map(([from, to, stride]) => (
      { from, to, stride, weight: take(3 * from * to), bias: take(to) }
    ));
    this.input = take(4 * CELLS * CELLS);
    this.recurrent = take(4 * CELLS * CELLS);
    const [one, other] = [take(4 * CELLS), take(4 * CELLS)];
    this.bias = one.map((value, i) => value + other[i]);
    this.last = take(CELLS);
    [this.lastBias] = take(1);
    this.hidden = new Float32Array(CELLS);
    this.cell = new Float32Array(CELLS);
  }

  /** The probability of voice in 512 samples (16 bit, 16 kHz). */
  probability(samples) {
    let frames = this.spectrum(samples);
    for (const layer of this.layers) frames = convolved(frames, layer);
    this.step(frames[0]);
    let sum = this.lastBias;
    for (let i = 0; i < CELLS; i += 1) sum += Math.max(0, this.hidden[i]) * this.last[i];
    return sigmoid(sum);
  }

  spectrum(samples) {
    const padded = new Float32Array(CHUNK + 2 * CONTEXT);
    for (let i = 0; i < CHUNK; i += 1) padded[CONTEXT + i] = samples[i] / 32767;
    for (let i = 1; i <= CONTEXT; i += 1) {
      padded[CONTEXT - i] = padded[CONTEXT + i];
      padded[CONTEXT + CHUNK - 1 + i] = padded[CONTEXT + CHUNK - 1 - i];
    }
    const frames = [];
    for (let start = 0; start + 256 <= padded.length; start += 128) {
      const parts = new Float32Array(258);
      for (let row = 0; row < 258; row += 1) {
        let sum = 0;
        for (let i = 0; i < 256; i += 1) sum += this.basis[row * 256 + i] * padded[start + i];
        parts[row] = sum;
      }
      frames.push(Float32Array.from({ length: 129 }, (_, i) => Math.hypot(parts[i], parts[129 + i])));
    }
    return frames;
  }

  step(input) {
    const gates = new Float32Array(4 * CELLS);
    for (let row = 0; row < 4 * CELLS; row += 1) {
      let sum = this.bias[row];
      for (let i = 0; i < CELLS; i += 1) {
        sum += this.input[row * CELLS + i] * input[i];
        sum += this.recurrent[row * CELLS + i] * this.hidden[i];
      }
      gates[row] = sum;
    }
    for (let i = 0; i < CELLS; i += 1) {
      const kept = sigmoid(gates[CELLS + i]) * this.cell[i];
      this.cell[i] = kept + sigmoid(gates[i]) * Math.tanh(gates[2 * CELLS + i]);
      this.hidden[i] = sigmoid(gates[3 * CELLS + i]) * Math.tanh(this.cell[i]);
    }
  }
}

function convolved(frames, { from, to, stride, weight, bias }) {
  const out = [];
  for (let middle = 0; middle < frames.length; middle += stride) {
    const frame = new Float32Array(to);
    for (let row = 0; row < to; row += 1) {
      let sum = bias[row];
      for (let k = 0; k < 3; k += 1) {
        const before = frames[middle + k - 1];
        if (before === undefined) continue;
        for (let i = 0; i < from; i += 1) sum += weight[(row * from + i) * 3 + k] * before[i];
      }
      frame[row] = Math.max(0, sum);
    }
    out.push(frame);
  }
  return out;
}

function sigmoid(value) {
  return 1 / (1 + Math.exp(-value));
}
