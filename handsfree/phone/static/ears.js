// The ears: microphone, voice activity, recognizer. Sound is cut in the page, words come from a worker.

import { flac } from "./flac.js";
import { snrDb, voiceRms } from "./levels.js";
import { Recognizer } from "./recognizer.js";
import { levelDb, RATE, Segmenter } from "./segmenter.js";
import { SteadySound } from "./steady-sound.js";
import { asRun, noRun } from "./stopwatch.js";
import { CHUNK, VoiceNet } from "./voice-net.js";

const QUIET_AT_S = [2, 20]; // a pause, and time for a reminder
const BARGE_IN_S = 0.06; // two chunks, so that a click does not interrupt
const TAIL = 0.25 * RATE; // of the mouth in the room
const RECENT = 120 * RATE / CHUNK; // chunks that are kept for a run of the clock, more while the
const MOST = 1200 * RATE / CHUNK; // recognizer is behind

export class Ears {
  /**
   * ``to``: heard(utterance, again), quiet(seconds), level(dB), lost(why), speaking(), headset(),
   * interrupt(); ``stopwatch`` times runs.
   */
  constructor(to, stopwatch) {
    this.to = to;
    this.stopwatch = stopwatch;
    this.on = false;
    this.position = 0; // samples of the microphone so far
    this.utteranceEnd = 0;
    this.deafUntil = 0;
    this.queued = 0; // utterances that wait for their words
    this.runs = 0; // of the clock, and the first sample of the last one
    this.runFrom = 0;
    this.before = Promise.resolve();
  }

  /** Loads the recognizer ahead of ``start``. */
  prepare(language) {
    if (this.language === language) return;
    this.recognizer?.end();
    this.recognizer = new Recognizer(language);
    this.language = language;
    this.net = fetch("voice-net.bin").then((answer) => answer.arrayBuffer())
      .then((bytes) => new Float32Array(bytes));
  }

  async start(language) {
    // Without processing: the model knows raw sound. 16 kHz, whatever the microphone has.
    const sound = { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    this.stream = await navigator.mediaDevices.getUserMedia({ audio: sound });
    this.prepare(language);
    await this.recognizer.ready;
    this.weights = await this.net;
    this.recent = [];
    this.steady = new SteadySound(MOST);
    this.restart();
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
    this.stopwatch.end();
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    if (this.context?.state !== "closed") await this.context?.close();
  }

  segmenterAt(position) {
    this.begun = null;
    return new Segmenter(new VoiceNet(this.weights), position);
  }

  restart() {
    this.segmenter = this.segmenterAt(this.position);
    this.quietChunks = 0;
    this.told = 0;
  }

  take(chunk) {
    if (!this.on) return;
    this.to.level(levelDb(chunk));
    this.position += CHUNK;
    this.steady.arrived(performance.now() / 1000, this.position);
    this.recent.push(chunk);
    if (this.recent.length > (this.queued > 0 ? MOST : RECENT)) this.recent.shift();
    if (this.stopwatch.running) this.stopwatch.feed(chunk);
    else this.listen(chunk);
  }

  listen(chunk) {
    const speaking = this.to.speaking();
    if (speaking && !this.to.headset()) this.deafUntil = this.position + TAIL;
    if (this.position <= this.deafUntil) { // the mouth is not heard, except over a headset
      this.segmenter = this.segmenterAt(this.position);
      return;
    }
    const segment = this.segmenter.feed(chunk);
    if (speaking && (segment !== null || this.segmenter.voiceS >= BARGE_IN_S)) this.to.interrupt();
    if (segment === null) {
      this.hearAhead();
      if (!speaking) this.countQuiet();
      return;
    }
    this.quietChunks = this.told = 0;
    const { runs, begun } = this;
    this.begun = null;
    this.queued += 1;
    this.before = this.before.then(() => this.recognize(segment, begun, runs)).finally(() => { this.queued -= 1; });
  }

  /** Begins to recognize an utterance in the silence that may end it, if no other waits. */
  hearAhead() {
    const sound = this.segmenter.paused;
    if (sound === null) this.begun = null;
    else if (this.begun === null && this.queued === 0) {
      this.begun = this.recognizer.recognize(sound);
      this.begun.catch(() => null); // told where it is awaited, if it is
    }
  }

  countQuiet() {
    if (this.segmenter.voiceS > 0) return;
    this.quietChunks += 1;
    const seconds = this.quietChunks * CHUNK / RATE;
    if (this.told < QUIET_AT_S.length && seconds >= QUIET_AT_S[this.told]) {
      this.told += 1;
      this.before = this.before.then(() => this.to.quiet(seconds)); // after what was said before
    }
  }

  async recognize({ start, samples, ahead }, begun, runs) {
    const middle = start + samples.length / 2;
    if (runs !== this.runs && middle >= this.runFrom) return; // the run took it, or it comes again
    const found = await (begun ?? this.recognizer.recognize(samples.slice(0, ahead)));
    this.utteranceEnd = start + samples.length;
    await this.to.heard({
      found, flac: flac(samples), rms: voiceRms(samples), snrDb: snrDb(samples),
      startS: start / RATE, count: samples.length,
    }, ({ graph, most }) => this.recognizer.recognize(samples, graph, most));
  }

  /** Drops what was cut after the utterance that asked for a run: its sound belongs to the run. */
  expectRun() {
    this.runs += 1;
    this.runFrom = this.utteranceEnd;
  }

  /**
   * Times one run, with the sound since the utterance that asked for it, or from now on if the mouth
   * ``spoke``. Without a microphone the run is empty, and where sound was lost during it: its times
   * would be too short.
   */
  async time(asked, spoke) {
    if (!this.on) return noRun(0);
    const from = Math.max(spoke ? this.position : this.utteranceEnd, this.deafUntil);
    const oldest = this.position - this.recent.length * CHUNK;
    const at = Math.min(Math.max(from, oldest), this.position);
    const [first, ...rest] = this.recent.slice(Math.floor((at - oldest) / CHUNK));
    const sound = first === undefined ? [] : [first.subarray((at - oldest) % CHUNK), ...rest];
    this.runs += 1;
    this.runFrom = at;
    const run = await this.stopwatch.time(asked, sound, this.recognizer);
    const ended = at + run.count; // what came after it is listened to as always
    const later = Math.ceil((this.position - ended) / CHUNK);
    this.restart();
    this.segmenter = this.segmenterAt(ended);
    for (const chunk of later > 0 ? this.recent.slice(-later) : []) this.listen(chunk);
    const lost = this.steady.lostS(at, ended) > 0;
    return { ...(lost ? noRun(at) : asRun(run, at)), lost };
  }
}
