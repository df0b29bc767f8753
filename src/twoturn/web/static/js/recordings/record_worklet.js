// Hands the samples of the microphone to the page, as they are.

const AT_ONCE = 2048;

class Samples extends AudioWorkletProcessor {
  constructor() {
    super();
    this.held = new Float32Array(AT_ONCE);
    this.count = 0;
  }

  process([input]) {
    const samples = input[0];
    for (let at = 0; samples && at < samples.length; at += 1) {
      this.held[this.count] = samples[at];
      this.count += 1;
      if (this.count === AT_ONCE) {
        this.port.postMessage(this.held, [this.held.buffer]);
        this.held = new Float32Array(AT_ONCE);
        this.count = 0;
      }
    }
    return true;
  }
}

registerProcessor("samples", Samples);
