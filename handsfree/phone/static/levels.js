// The level of a voice, alone and relative to the noise around it, as the desktop measures it.

const FRAME = 320;
const LOUD_SHARE = 0.9;
const LOUD_RMS = 3000;
const MOST_GAIN = 100;
const FLOOR = 1e-3;
const PAD = 8000; // half a second: a short first word needs sound before it

function sortedPowers(samples) {
  const powers = [];
  for (let start = 0; start + FRAME <= samples.length; start += FRAME) {
    let power = 0;
    for (let i = start; i < start + FRAME; i += 1) power += samples[i] ** 2 / FRAME;
    powers.push(power);
  }
  return powers.sort((one, other) => one - other);
}

const mean = (values) => values.reduce((sum, value) => sum + value, 0) / values.length;

export function snrDb(samples) {
  const powers = sortedPowers(samples).map((power) => power + FLOOR);
  if (powers.length === 0) return 0;
  const noise = mean(powers.slice(0, Math.max(1, Math.floor(powers.length / 10))));
  const voice = mean(powers.slice(Math.floor(powers.length / 2)));
  return 10 * Math.log10(Math.max(voice - noise, FLOOR) / noise);
}

export function voiceRms(samples) {
  const powers = sortedPowers(samples);
  if (powers.length === 0) return 0;
  return Math.sqrt(mean(powers.slice(Math.floor(powers.length / 2)))) / 32768;
}

/** The sound at the level that the model was trained at, with this soft noise under and around it. */
export function forRecognizer(samples, noise) {
  const powers = sortedPowers(samples);
  const place = LOUD_SHARE * (powers.length - 1);
  const low = powers[Math.floor(place)] ?? 0;
  const high = powers[Math.ceil(place)] ?? 0;
  const loud = Math.sqrt(low + (high - low) * (place - Math.floor(place)));
  const gain = powers.length === 0 ? 1 : Math.min(LOUD_RMS / Math.max(loud, 1), MOST_GAIN);
  const out = new Float32Array(samples.length + 2 * PAD);
  for (let i = 0; i < out.length; i += 1) {
    const value = noise[i] + (samples[i - PAD] ?? 0) * gain;
    out[i] = Math.max(-32768, Math.min(32767, even(value)));
  }
  return out;
}

/** The nearest whole number, and of two the even one, as the desktop rounds. */
function even(value) {
  const rounded = Math.round(value);
  return rounded - value === 0.5 && rounded % 2 !== 0 ? rounded - 1 : rounded;
}
