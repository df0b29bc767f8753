// Asking the bench while something is typed: the earlier question is cancelled, the last answer wins.

/** Asks `address` with JSON, at most once in `wait` milliseconds; `answered(answer)` gets the last one only. */
export class Asker {
  constructor(address, csrf, answered, failed, wait = 120) {
    Object.assign(this, { address, csrf, answered, failed, wait });
    this.number = 0;
  }

  /** Ask soon; what was asked before no longer counts. */
  soon(question) {
    clearTimeout(this.timer);
    this.number += 1;
    this.timer = setTimeout(() => this.now(question), this.wait);
  }

  async now(question) {
    clearTimeout(this.timer);
    this.cancel?.abort();
    this.cancel = new AbortController();
    this.number += 1;
    const mine = this.number;
    try {
      const answer = await fetch(this.address, {
        method: "POST",
        headers: { "content-type": "application/json", accept: "application/json", "x-csrf": this.csrf },
        body: JSON.stringify(question),
        signal: this.cancel.signal,
      });
      const body = await answer.json();
      if (mine !== this.number) return;
      if (answer.ok) this.answered(body);
      else this.failed(body.error?.sentence ?? "The bench did not answer.");
    } catch (error) {
      if (error.name !== "AbortError" && mine === this.number) this.failed("No connection to the bench. What is typed stays here.");
    }
  }
}
