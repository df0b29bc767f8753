// Samples to a WAV file of 16 bits, one channel.

const HEAD = 44;

/** The blocks of samples (full scale ±1) recorded at `rate` a second, as a WAV file. */
export function wavOf(blocks, rate) {
  const count = blocks.reduce((sum, block) => sum + block.length, 0);
  const view = new DataView(new ArrayBuffer(HEAD + 2 * count));
  const text = (at, words) => [...words].forEach((letter, k) => view.setUint8(at + k, letter.charCodeAt(0)));
  text(0, "RIFF");
  view.setUint32(4, HEAD - 8 + 2 * count, true);
  text(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, rate, true);
  view.setUint32(28, 2 * rate, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  text(36, "data");
  view.setUint32(40, 2 * count, true);
  let at = HEAD;
  for (const block of blocks) {
    for (const sample of block) {
      view.setInt16(at, Math.round(Math.max(-1, Math.min(1, sample)) * 32767), true);
      at += 2;
    }
  }
  return new Blob([view.buffer], { type: "audio/wav" });
}
