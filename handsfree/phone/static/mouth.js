// Speaks with a voice of the device that needs no network, else with the prompts that came with the
// app, and plays the tones, one after the other. Without either the screen shows all.

import { Prompts } from "./prompts.js";

const LOAD_MS = 1000; // some browsers list their voices late
const TONES = ["heard", "understood", "accepted", "warning"];
const LEAD_S = 0.02; // from the order to play until the sound
const RESUME_MS = 300; // for a loudspeaker that the phone had taken away
const LATE_S = 2; // after which a sound that never ended counts as ended
const RATES = { slowest: 0.6, fastest: 1.9, step: 0.15 };
const GAINS_DB = { softest: -15, loudest: 10, step: 5 };

export class Mouth {
  constructor() {
    this.voice = null;
    this.prompts = null;
    this.on = false;
    this.rate = 1;
    this.gainDb = 0;
    this.waiting = []; // what is still to be spoken or played
    this.now = null; // what sounds now: {whole, stop, ended}
    this.quiet = Promise.resolve();
  }

  /** What speaks: a voice of the device, the app's prompts, or null. */
  get kind() {
    if (this.voice !== null) return "voice";
    return this.prompts === null ? null : "prompts";
  }

  get has() {
    return this.kind !== null;
  }

  get speaking() {
    return this.now !== null || this.waiting.length > 0;
  }

  /** Chooses an offline voice of a language, else the app's prompts if it has them; on if any. */
  async use(language, hasPrompts) {
    this.voice = (await voices()).find(
      (voice) => voice.localService && voice.lang.toLowerCase().startsWith(language),
    ) ?? null;
    if (this.voice !== null || !hasPrompts) this.prompts = null;
    else if (this.prompts?.language !== language) {
      this.prompts = await Prompts.load(language).catch(() => null);
    }
    this.on = this.has;
  }

  /** Gets ready to sound. A browser lets a page sound only after a touch: call it from one. */
  open() {
    this.context ??= new AudioContext();
    this.context.resume();
  }

  /** Makes the tones ready. */
  openTones() {
    this.open();
    this.tones ??= new Map(TONES.map((kind) => [kind, fetch(`tone-${kind}.wav`)
      .then((answer) => answer.arrayBuffer()).then((bytes) => this.context.decodeAudioData(bytes))]));
  }

  /** Speaks and plays what a turn says; resolves when all of it has sounded or was dropped. */
  take(out) {
    for (const { voice } of out) if (voice !== undefined) this.adjust(voice);
    this.waiting.push(...out.filter(({ say, tone }) => (
      say === undefined ? tone !== undefined && this.tones !== undefined : this.on && this.has
    )));
    if (!this.draining) this.quiet = this.drain();
    return this.quiet;
  }

  async drain() {
    this.draining = true;
    while (this.waiting.length > 0) {
      const { say, tone, whole, pieces } = this.waiting.shift();
      this.now = { whole: whole === true };
      await this.sound(say, pieces, tone).catch(() => null); // all is shown
      this.now = null;
    }
    this.draining = false;
  }

  sound(say, pieces, tone) {
    if (say === undefined) return this.play([[tone, 0]], (kind) => this.tones.get(kind));
    if (this.kind === "voice") return this.speak(say);
    return this.play(pieces, (number) => this.prompts.sound(number), this.rate, this.gainDb);
  }

  speak(say) {
    const text = new SpeechSynthesisUtterance(say);
    text.voice = this.voice;
    text.lang = this.voice.lang;
    text.rate = this.rate;
    text.volume = Math.min(1, 10 ** (this.gainDb / 20));
    this.now.stop = () => speechSynthesis.cancel();
    return new Promise((resolve) => {
      text.onend = text.onerror = resolve;
      speechSynthesis.speak(text);
    });
  }

  /** Plays sounds one after the other, each followed by its pause; ``of`` finds one by its name. */
  async play(pieces, of, rate = 1, gainDb = 0) {
    const { context } = this;
    if (context.state !== "running") {
      await Promise.race([context.resume(), new Promise((resolve) => { setTimeout(resolve, RESUME_MS); })]);
      if (context.state !== "running") return; // the browser allows no sound yet
    }
    const sources = [];
    let stopped = false;
    this.now.stop = () => {
      stopped = true;
      for (const source of sources) source.stop();
    };
    const gain = new GainNode(context, { gain: 10 ** (gainDb / 20) });
    gain.connect(context.destination);
    let at = 0;
    let last = null;
    let next = pieces.length > 0 ? of(pieces[0][0]) : null;
    for (const [nth, [, pause]] of pieces.entries()) {
      const buffer = await next;
      if (nth + 1 < pieces.length) next = of(pieces[nth + 1][0]);
      if (stopped) return;
      const source = new AudioBufferSourceNode(context, { buffer, playbackRate: rate });
      source.connect(gain);
      last = new Promise((resolve) => { source.onended = resolve; });
      at = Math.max(at, context.currentTime + LEAD_S);
      source.start(at);
      sources.push(source);
      at += (buffer.duration + pause) / rate;
    }
    const late = (at - context.currentTime + LATE_S) * 1000; // a phone call may take the sound away
    await Promise.race([last, new Promise((resolve) => { setTimeout(resolve, late); })]);
    gain.disconnect();
  }

  /** Speaks slower, faster, louder or softer from now on, in the desktop's steps. */
  adjust(change) {
    const { slowest, fastest, step } = RATES;
    const { softest, loudest, step: stepDb } = GAINS_DB;
    const rate = { slower: -step, faster: step }[change] ?? 0;
    const gainDb = { softer: -stepDb, louder: stepDb }[change] ?? 0;
    this.rate = Math.min(fastest, Math.max(slowest, this.rate + rate));
    this.gainDb = Math.min(loudest, Math.max(softest, this.gainDb + gainDb));
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
