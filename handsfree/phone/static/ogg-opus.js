// Puts packets of Opus into an Ogg stream (RFC 3533, RFC 7845), which browsers decode.

const SERIAL = 1;
const BEGIN = 2;
const END = 4;
const MOST_SEGMENTS = 255;
const CLOCK = 48_000; // granules of Opus per second, whatever the rate of the sound
const PACKET = 960; // of them in one packet, 20 ms
const TAGS = new TextEncoder().encode("OpusTags\x09\0\0\0handsfree\0\0\0\0");

const CRC = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte << 24;
  for (let bit = 0; bit < 8; bit += 1) crc = (crc << 1) ^ (crc < 0 ? 0x04c11db7 : 0);
  return crc;
});

function page(sequence, flags, granule, lengths, content) {
  const bytes = new Uint8Array(27 + lengths.length + content.length);
  const view = new DataView(bytes.buffer);
  bytes.set([0x4f, 0x67, 0x67, 0x53, 0, flags]); // OggS
  view.setUint32(6, granule, true);
  view.setUint32(14, SERIAL, true);
  view.setUint32(18, sequence, true);
  bytes[26] = lengths.length;
  bytes.set(lengths, 27);
  bytes.set(content, 27 + lengths.length);
  let crc = 0;
  for (const byte of bytes) crc = (crc << 8) ^ CRC[(crc >>> 24) ^ byte];
  view.setUint32(22, crc >>> 0, true);
  return bytes;
}

function lacing(length) {
  return [...new Array(Math.floor(length / 255)).fill(255), length % 255];
}

/** The packets of a piece: each comes after its length. */
function packetsOf(piece) {
  const packets = [];
  for (let at = 4; at < piece.length;) {
    let length = 0;
    while (piece[at] === 255) { length += 255; at += 1; }
    length += piece[at];
    packets.push(piece.subarray(at + 1, at + 1 + length));
    at += 1 + length;
  }
  return packets;
}

/** A piece as an Ogg stream; ``head`` is the encoder's header, ``rate`` that of its samples. */
export function oggOf(piece, head, rate) {
  const { buffer, byteOffset } = piece;
  const samples = new DataView(buffer, byteOffset).getUint32(0, true);
  const skipped = head[10] | (head[11] << 8);
  const end = skipped + Math.round(samples * CLOCK / rate);
  const pages = [
    page(0, BEGIN, 0, lacing(head.length), head), page(1, 0, 0, lacing(TAGS.length), TAGS),
  ];
  const packets = packetsOf(piece);
  let lengths = [];
  let from = 0;
  packets.forEach((packet, nth) => {
    lengths.push(...lacing(packet.length));
    const last = nth === packets.length - 1;
    if (!last && lengths.length + lacing(packets[nth + 1].length).length <= MOST_SEGMENTS) return;
    const inside = packets.slice(from, nth + 1);
    const content = new Uint8Array(inside.reduce((sum, { length }) => sum + length, 0));
    inside.reduce((at, each) => { content.set(each, at); return at + each.length; }, 0);
    const granule = last ? end : (nth + 1) * PACKET;
    pages.push(page(pages.length, last ? END : 0, granule, lengths, content));
    lengths = [];
    from = nth + 1;
  });
  return new Blob(pages);
}
