// The discrete Fourier transform of a real sound of any length, forward and back.

/** Transforms in place; the length is a power of two. ``sign`` is -1 forward, 1 back (unscaled). */
function powerOfTwo(re, im, sign) {
  const size = re.length;
  for (let i = 1, j = 0; i < size; i += 1) {
    let bit = size >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      [re[i], re[j]] = [re[j], re[i]];
      [im[i], im[j]] = [im[j], im[i]];
    }
  }
  for (let half = 1; half < size; half *= 2) {
    for (let k = 0; k < half; k += 1) {
      const angle = sign * Math.PI * k / half;
      const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
      for (let i = k; i < size; i += 2 * half) {
        const j = i + half;
        const [a, b] = [re[j] * cos - im[j] * sin, re[j] * sin + im[j] * cos];
        re[j] = re[i] - a;
        im[j] = im[i] - b;
        re[i] += a;
        im[i] += b;
      }
    }
  }
}

/** Any length, as a convolution of a power of two (Bluestein). Returns [re, im]. */
function anyLength(re, im, sign) {
  const count = re.length;
  let size = 1;
  while (size < 2 * count) size *= 2;
  const turn = (i) => sign * Math.PI * ((i * i) % (2 * count)) / count;
  const [a, b, c, d] = Array.from({ length: 4 }, () => new Float64Array(size));
  for (let i = 0; i < count; i += 1) {
    const [cos, sin] = [Math.cos(turn(i)), Math.sin(turn(i))];
    a[i] = re[i] * cos - im[i] * sin;
    b[i] = re[i] * sin + im[i] * cos;
    c[i] = c[(size - i) % size] = cos;
    d[i] = d[(size - i) % size] = -sin;
  }
  powerOfTwo(a, b, -1);
  powerOfTwo(c, d, -1);
  for (let i = 0; i < size; i += 1) {
    [a[i], b[i]] = [a[i] * c[i] - b[i] * d[i], a[i] * d[i] + b[i] * c[i]];
  }
  powerOfTwo(a, b, 1);
  const [outRe, outIm] = [new Float64Array(count), new Float64Array(count)];
  for (let i = 0; i < count; i += 1) {
    const [cos, sin] = [Math.cos(turn(i)) / size, Math.sin(turn(i)) / size];
    outRe[i] = a[i] * cos - b[i] * sin;
    outIm[i] = a[i] * sin + b[i] * cos;
  }
  return [outRe, outIm];
}

/** The sound after a filter of real gains: ``gain(share)`` at each frequency, 0.5 is half the rate. */
export function filtered(sound, gain) {
  const count = sound.length;
  const [re, im] = anyLength(sound, new Float64Array(count), -1);
  for (let i = 0; i < count; i += 1) {
    const weight = gain(Math.min(i, count - i) / count);
    re[i] *= weight;
    im[i] *= weight;
  }
  return anyLength(re, im, 1)[0].map((value) => value / count);
}

/** The squared magnitudes of the lines up to half the rate; the length is a power of two. */
export function power(sound) {
  const [re, im] = [Float64Array.from(sound), new Float64Array(sound.length)];
  powerOfTwo(re, im, -1);
  return Float64Array.from({ length: sound.length / 2 + 1 }, (_, i) => re[i] ** 2 + im[i] ** 2);
}
