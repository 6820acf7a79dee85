// The audio worklet: hands on what the microphone gives, 512 samples of 16 bits at a time.

const CHUNK = 512;

class Capture extends AudioWorkletProcessor {
  constructor() {
    super();
    this.chunk = new Int16Array(CHUNK);
    this.filled = 0;
  }

  process([input]) {
    for (const value of input[0] ?? []) {
      this.chunk[this.filled] = Math.max(-32768, Math.min(32767, Math.round(value * 32768)));
      this.filled += 1;
      if (this.filled === CHUNK) {
        this.port.postMessage(this.chunk);
        this.chunk = new Int16Array(CHUNK);
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("capture", Capture);
