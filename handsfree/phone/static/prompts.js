// The speech that came with the app, for a phone without an offline voice: pieces by their number.

import { oggOf } from "./ogg-opus.js";

const PIECE_RATE = 16_000;
const RATE = 24_000; // of the decoded sound
const KEPT = 100; // decoded pieces; most sentences come again

export class Prompts {
  /** Loads the pieces of a language. Throws if they cannot be decoded here. */
  static async load(language) {
    const [index, sounds] = await Promise.all(["json", "bin"].map((end) => fetch(`prompts-${language}.${end}`)));
    const { head, sizes } = await index.json();
    const prompts = new Prompts(language, head, sizes, new Uint8Array(await sounds.arrayBuffer()));
    await prompts.sound(0);
    return prompts;
  }

  constructor(language, head, sizes, sounds) {
    this.language = language;
    this.head = Uint8Array.from(head.match(/../g), (byte) => parseInt(byte, 16));
    let at = 0;
    this.pieces = sizes.map((size) => { at += size; return sounds.subarray(at - size, at); });
    this.decoder = new OfflineAudioContext(1, 1, RATE);
    this.decoded = new Map();
  }

  /** The sound of a piece. */
  sound(number) {
    const before = this.decoded.get(number);
    const sound = before ?? oggOf(this.pieces[number], this.head, PIECE_RATE).arrayBuffer()
      .then((bytes) => this.decoder.decodeAudioData(bytes));
    this.decoded.delete(number);
    this.decoded.set(number, sound); // the last used comes last
    if (this.decoded.size > KEPT) this.decoded.delete(this.decoded.keys().next().value);
    return sound;
  }
}
