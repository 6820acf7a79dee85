// Compresses sound (mono, 16 bit, 16 kHz) as FLAC (RFC 9639): fixed predictors, Rice coding.

const RATE = 16000;
const BLOCK = 4096;

class Bits {
  constructor() {
    this.bytes = [];
    this.current = 0;
    this.free = 8;
  }

  put(value, count) {
    for (let i = count - 1; i >= 0; i -= 1) {
      this.current = (this.current << 1) | ((value >>> i) & 1);
      this.free -= 1;
      if (this.free === 0) this.flush();
    }
  }

  unary(zeros) {
    for (let i = 0; i < zeros; i += 1) this.put(0, 1);
    this.put(1, 1);
  }

  flush() {
    if (this.free === 8) return;
    this.bytes.push((this.current << this.free) & 255);
    this.current = 0;
    this.free = 8;
  }
}

function crc(bytes, from, width, polynomial) {
  const top = 1 << (width - 1);
  const mask = 2 * top - 1;
  let sum = 0;
  for (let i = from; i < bytes.length; i += 1) {
    sum ^= bytes[i] << (width - 8);
    for (let bit = 0; bit < 8; bit += 1) {
      sum = (sum & top ? (sum << 1) ^ polynomial : sum << 1) & mask;
    }
  }
  return sum;
}

export function flac(samples) {
  const bits = new Bits();
  for (const letter of "fLaC") bits.put(letter.charCodeAt(0), 8);
  bits.put(0x80, 8); // the last block of metadata: STREAMINFO
  bits.put(34, 24);
  bits.put(BLOCK, 16);
  bits.put(BLOCK, 16);
  bits.put(0, 24);
  bits.put(0, 24);
  bits.put(RATE, 20);
  bits.put(0, 3); // one channel
  bits.put(15, 5); // 16 bits
  bits.put(0, 4);
  bits.put(samples.length, 32);
  for (let i = 0; i < 16; i += 1) bits.put(0, 8); // no MD5
  for (let start = 0, number = 0; start < samples.length; start += BLOCK, number += 1) {
    frame(bits, samples.subarray(start, start + BLOCK), number);
  }
  return new Uint8Array(bits.bytes);
}

function frame(bits, block, number) {
  const from = bits.bytes.length;
  bits.put(0xfff8, 16);
  bits.put(7, 4); // the block size follows in 16 bits
  bits.put(5, 4); // 16 kHz
  bits.put(0, 4); // mono
  bits.put(4, 3); // 16 bits
  bits.put(0, 1);
  if (number < 128) bits.put(number, 8);
  else {
    bits.put(0xc0 | (number >> 6), 8); // two bytes reach for 2048 blocks, eight minutes
    bits.put(0x80 | (number & 63), 8);
  }
  bits.put(block.length - 1, 16);
  bits.put(crc(bits.bytes, from, 8, 0x07), 8);
  subframe(bits, block);
  bits.flush();
  bits.put(crc(bits.bytes, from, 16, 0x8005), 16);
}

function subframe(bits, block) {
  const order = Math.min(2, block.length);
  bits.put(8 + order, 7); // a fixed predictor of that order
  bits.put(0, 1);
  for (let i = 0; i < order; i += 1) bits.put(block[i] & 0xffff, 16);
  const folded = [];
  let sum = 0;
  for (let i = order; i < block.length; i += 1) {
    const rest = order === 2 ? block[i] - 2 * block[i - 1] + block[i - 2] : block[i];
    folded.push(rest >= 0 ? 2 * rest : -2 * rest - 1);
    sum += folded.at(-1);
  }
  const mean = folded.length === 0 ? 0 : sum / folded.length;
  const rice = Math.max(0, Math.min(14, Math.floor(Math.log2(mean + 1))));
  bits.put(0, 2); // Rice parameters of four bits
  bits.put(0, 4); // one partition
  bits.put(rice, 4);
  for (const value of folded) {
    bits.unary(value >>> rice);
    bits.put(value, rice);
  }
}
