// Speaks with a voice of the device that needs no network. Without one the screen shows all.

const LOAD_MS = 1000; // some browsers list their voices late

export class Mouth {
  constructor() {
    this.voice = null;
    this.on = false;
  }

  get has() {
    return this.voice !== null;
  }

  /** Chooses an offline voice of a language; on if there is one. */
  async use(language) {
    this.voice = (await voices()).find(
      (voice) => voice.localService && voice.lang.toLowerCase().startsWith(language),
    ) ?? null;
    this.on = this.has;
  }

  /** Speaks the texts of a turn, one after the other. */
  take(out) {
    if (!this.on || !this.has) return;
    for (const { say } of out) {
      if (say === undefined) continue;
      const text = new SpeechSynthesisUtterance(say);
      text.voice = this.voice;
      text.lang = this.voice.lang;
      speechSynthesis.speak(text);
    }
  }

  get speaking() {
    return this.has && speechSynthesis.speaking;
  }

  stop() {
    if (this.has) speechSynthesis.cancel();
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
