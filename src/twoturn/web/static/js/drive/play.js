// Turning on by itself: smoothly, or in quarter turns for those who asked their device for less motion.

const TURN_MS = 4500;
const STEP_MS = 900;

/** Plays a turn of the crankshaft from where it is; `turn(crank)` shows it, `done()` is called at the end. */
export class Player {
  constructor(turn, done) {
    Object.assign(this, { turn, done, running: false });
  }

  get calm() {
    return window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  }

  start(from, degrees) {
    this.stop();
    this.running = true;
    if (this.calm) this.steps(from, degrees);
    else this.smooth(from, degrees);
  }

  smooth(from, degrees) {
    const lasts = (Math.abs(degrees) / 360) * TURN_MS;
    let began = null;
    const frame = (now) => {
      if (!this.running) return;
      began ??= now;
      const share = Math.min((now - began) / lasts, 1);
      this.turn(from + degrees * share);
      if (share < 1) requestAnimationFrame(frame);
      else this.end();
    };
    requestAnimationFrame(frame);
  }

  steps(from, degrees) {
    let gone = 0;
    this.timer = setInterval(() => {
      gone = Math.min(gone + 90, degrees);
      this.turn(from + gone);
      if (gone >= degrees) this.end();
    }, STEP_MS);
  }

  stop() {
    clearInterval(this.timer);
    if (this.running) this.end();
  }

  end() {
    clearInterval(this.timer);
    this.running = false;
    this.done();
  }
}
