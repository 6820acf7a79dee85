// A piece of sound that is kept in blocks.

/** The samples from one place until before another of a stream of ``count`` in these blocks. */
export function pieceOf(blocks, count, from, until) {
  const part = new Int16Array(Math.min(until, count) - from);
  let at = count;
  for (let i = blocks.length - 1; i >= 0 && at > from; i -= 1) {
    const block = blocks[i];
    at -= block.length;
    if (at >= from + part.length) continue; // all of it comes later
    const piece = block.subarray(Math.max(0, from - at), Math.max(0, from + part.length - at));
    part.set(piece, Math.max(0, at - from));
  }
  return part;
}
