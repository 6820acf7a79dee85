// The ears: microphone, voice activity, recognizer. Sound is cut in the page, words come from a worker.

import { flac } from "./flac.js";
import { forRecognizer, snrDb, voiceRms } from "./levels.js";
import { Recognizer } from "./recognizer.js";
import { levelDb, RATE, Segmenter } from "./segmenter.js";
import { CHUNK, VoiceNet } from "./voice-net.js";

const QUIET_AT_S = [2, 20]; // a pause, and time for a reminder
const BARGE_IN_S = 0.06; // two chunks, so that a click does not interrupt

export class Ears {
  /** ``to``: heard(utterance), quiet(seconds), level(dB), lost(why), interrupts(), speaking(). */
  constructor(to) {
    this.to = to;
    this.on = false;
    this.before = Promise.resolve();
  }

  async start(language) {
    // Without processing: the model knows raw sound. 16 kHz, whatever the microphone has.
    const sound = { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    this.stream = await navigator.mediaDevices.getUserMedia({ audio: sound });
    if (this.language !== language) {
      this.recognizer?.end();
      this.recognizer = new Recognizer(language);
      this.language = language;
      const bytes = await (await fetch("voice-net.bin")).arrayBuffer();
      this.net = new VoiceNet(new Float32Array(bytes));
    }
    await this.recognizer.ready;
    this.segmenter = new Segmenter(this.net);
    this.quietChunks = 0;
    this.told = 0;
    this.context = new AudioContext({ sampleRate: RATE });
    await this.context.audioWorklet.addModule("capture.js");
    const capture = new AudioWorkletNode(this.context, "capture", { numberOfOutputs: 0 });
    capture.port.onmessage = ({ data }) => this.take(data);
    this.context.createMediaStreamSource(this.stream).connect(capture);
    this.stream.getAudioTracks()[0].onended = () => this.stop().then(() => this.to.lost("microphone"));
    this.on = true;
  }

  async stop() {
    this.on = false;
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    if (this.context?.state !== "closed") await this.context?.close();
  }

  take(chunk) {
    if (!this.on) return;
    this.to.level(levelDb(chunk));
    if (this.to.speaking()) { // the mouth is not heard, except over a headset
      if (this.segmenter.feed(chunk) === null && this.segmenter.voiceS < BARGE_IN_S) return;
      if (!this.to.interrupts()) this.segmenter = new Segmenter(this.net);
      return;
    }
    const segment = this.segmenter.feed(chunk);
    this.countQuiet();
    if (segment === null) return;
    this.before = this.before.then(() => this.recognize(segment));
  }

  countQuiet() {
    this.quietChunks = this.segmenter.voiceS > 0 ? 0 : this.quietChunks + 1;
    if (this.quietChunks === 0) this.told = 0;
    const seconds = this.quietChunks * CHUNK / RATE;
    if (this.told < QUIET_AT_S.length && seconds >= QUIET_AT_S[this.told]) {
      this.told += 1;
      this.to.quiet(seconds);
    }
  }

  async recognize({ start, samples }) {
    const text = await this.recognizer.recognize(forRecognizer(samples));
    await this.to.heard({
      text, flac: flac(samples), rms: voiceRms(samples), snrDb: snrDb(samples),
      startS: start / RATE, endS: (start + samples.length) / RATE,
    });
  }
}
