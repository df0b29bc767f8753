// The hand on the crankshaft: how far it was turned, whether it was turned back, and what is void then.

const SLIP = 0.5;

/** Keeps the crank angle; `needed` is where readings would count again after a turn back. */
export class Hand {
  constructor(afterTurns) {
    this.afterTurns = afterTurns;
    this.reset();
  }

  reset() {
    this.crank = 0;
    this.farthest = 0;
    this.lowest = 0;
    this.backBy = 0;
    this.needed = 0;
  }

  /** Turn to an angle in degrees. */
  to(crank) {
    this.crank = crank;
    if (crank > this.farthest) this.farthest = crank;
    if (this.backBy === 0) {
      if (this.farthest - crank < SLIP) return;
      this.lowest = crank;
    }
    this.lowest = Math.min(this.lowest, crank);
    this.backBy = Math.max(this.backBy, this.farthest - this.lowest);
    this.needed = this.lowest + 360 * this.afterTurns;
    if (crank >= this.needed - 1e-6) this.forgive();
  }

  forgive() {
    this.backBy = 0;
    this.lowest = this.crank;
    this.farthest = this.crank;
  }
}
