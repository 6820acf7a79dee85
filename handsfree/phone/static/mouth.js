// Speaks with a voice of the device that needs no network, and plays the tones, one after the other.
// Without a voice the screen shows all.

const LOAD_MS = 1000; // some browsers list their voices late
const TONES = ["heard", "understood", "accepted", "warning"];

export class Mouth {
  constructor() {
    this.voice = null;
    this.on = false;
    this.waiting = []; // what is still to be spoken or played
    this.now = null; // what sounds now: {whole, stop, ended}
    this.quiet = Promise.resolve();
  }

  get has() {
    return this.voice !== null;
  }

  get speaking() {
    return this.now !== null || this.waiting.length > 0;
  }

  /** Chooses an offline voice of a language; on if there is one. */
  async use(language) {
    this.voice = (await voices()).find(
      (voice) => voice.localService && voice.lang.toLowerCase().startsWith(language),
    ) ?? null;
    this.on = this.has;
  }

  /** Makes the tones ready. A browser lets a page sound only after a touch: call it from one. */
  open() {
    if (this.context !== undefined) return;
    this.context = new AudioContext();
    this.tones = new Map(TONES.map((kind) => [kind, fetch(`tone-${kind}.wav`)
      .then((answer) => answer.arrayBuffer()).then((bytes) => this.context.decodeAudioData(bytes))]));
  }

  /** Speaks and plays what a turn says; resolves when all of it has sounded or was dropped. */
  take(out) {
    this.waiting.push(...out.filter(({ say, tone }) => (
      say === undefined ? tone !== undefined && this.context !== undefined : this.on && this.has
    )));
    if (!this.draining) this.quiet = this.drain();
    return this.quiet;
  }

  async drain() {
    this.draining = true;
    while (this.waiting.length > 0) {
      const { say, tone, whole } = this.waiting.shift();
      this.now = { whole: whole === true };
      await (say === undefined ? this.play(tone) : this.speak(say)).catch(() => null); // all is shown
      this.now = null;
    }
    this.draining = false;
  }

  speak(say) {
    const text = new SpeechSynthesisUtterance(say);
    text.voice = this.voice;
    text.lang = this.voice.lang;
    this.now.stop = () => speechSynthesis.cancel();
    return new Promise((resolve) => {
      text.onend = text.onerror = resolve;
      speechSynthesis.speak(text);
    });
  }

  async play(kind) {
    const source = new AudioBufferSourceNode(this.context, { buffer: await this.tones.get(kind) });
    if (this.context.state !== "running") return; // the browser allows no sound yet
    source.connect(this.context.destination);
    this.now.stop = () => source.stop();
    await new Promise((resolve) => {
      source.onended = resolve;
      source.start();
    });
  }

  /** Drops what is left to say, except warnings and cautions, which are spoken to the end. */
  interrupt() {
    this.waiting = this.waiting.filter(({ whole }) => whole === true);
    if (this.now !== null && !this.now.whole) this.now.stop?.();
  }

  stop() {
    this.waiting = [];
    this.now?.stop?.();
  }
}

async function voices() {
  if (!("speechSynthesis" in globalThis)) return [];
  if (speechSynthesis.getVoices().length === 0) {
    await new Promise((resolve) => {
      speechSynthesis.addEventListener("voiceschanged", resolve, { once: true });
      setTimeout(resolve, LOAD_MS);
    });
  }
  return speechSynthesis.getVoices();
}
