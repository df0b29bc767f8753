// What the microphone hears, drawn as it comes: a strip of loudness over time and a band for the level now, with words.

const QUIET = 0.02;
const LOUD = 0.98;

/** The strip and the band inside `root`; `longest` is the whole strip [s]. */
export class Heard {
  constructor(root, longest) {
    this.canvas = root.querySelector("[data-heard]");
    this.band = root.querySelector("[data-level]");
    this.words = root.querySelector("[data-level-words]");
    this.longest = longest;
    this.clear();
  }

  clear() {
    this.level = 0;
    this.most = 0;
    this.clipped = false;
    this.canvas.getContext("2d").clearRect(0, 0, this.canvas.width, this.canvas.height);
    this.say("");
  }

  /** A block of samples that began `seconds` after the start and lasts `length` seconds. */
  add(block, seconds, length) {
    let peak = 0;
    for (const sample of block) peak = Math.max(peak, Math.abs(sample));
    this.level = Math.max(peak, 0.85 * this.level);
    this.most = Math.max(peak, 0.995 * this.most);
    this.clipped ||= peak >= LOUD;
    this.band.style.setProperty("--level", Math.sqrt(Math.min(1, this.level)).toFixed(3));
    this.draw(peak, seconds, length);
    const left = Math.max(0, this.longest - seconds);
    const said = this.clipped ? "Too loud: hold the telephone farther away." : this.most < QUIET ? "Quiet so far." : "Heard well.";
    this.say(`${said} ${Math.floor(seconds)} s, at most ${Math.ceil(left)} s more.`);
  }

  draw(peak, seconds, length) {
    const { width, height } = this.canvas;
    const pen = this.canvas.getContext("2d");
    const half = Math.max(0.5, (Math.sqrt(Math.min(1, peak)) * height) / 2);
    pen.fillStyle = getComputedStyle(this.canvas).color;
    const left = (seconds / this.longest) * width;
    pen.fillRect(left, height / 2 - half, Math.max(1, (length / this.longest) * width), 2 * half);
  }

  say(words) {
    if (this.words.textContent !== words) this.words.textContent = words;
  }
}
