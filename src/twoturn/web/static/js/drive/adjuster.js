// The tensioner moved by hand: a slider over its whole travel, pointer and tension beside it.

import { makeDial } from "./dial.js";
import { h, say } from "./dom.js";

const FIXED = "Where a fixed roller stands proves no tension: the note or the deflection of the span does.";

/** The block of one tensioner; `moved(row)` is called when it moves. */
export class Adjuster {
  constructor(tensioner, moved) {
    Object.assign(this, { tensioner, moved, travel: tensioner.travel });
    this.row = this.travel?.rest ?? 0;
    const title = h("h3", { text: `${tensioner.pulley}: ${tensioner.kind_words}` });
    const said = [tensioner.tightens && `It tightens ${tensioner.tightens}.`, tensioner.allowed];
    if (tensioner.kind === "locked eccentric") said.push(FIXED);
    const facts = h("p", { class: "small", text: said.filter(Boolean).join(" ") });
    this.element = h("div", { class: "adjuster" }, title);
    if (this.travel) this.element.append(...this.controls());
    else this.element.append(h("p", { text: "Without coordinates, stiffness and spring its pointer and tension are not known." }));
    if (facts.textContent) this.element.append(facts);
  }

  controls() {
    this.dial = makeDial(this.tensioner);
    this.words = h("p", { class: "tension", "aria-live": "off" });
    const id = `move-${Math.random().toString(36).slice(2)}`;
    this.slider = h("input", {
      type: "range",
      id,
      min: "0",
      max: String(this.travel.setting.length - 1),
      step: "1",
      value: String(this.row),
      input: () => this.to(Number(this.slider.value)),
    });
    const keys = h(
      "div",
      { class: "turn-keys" },
      h("button", { type: "button", text: "Looser", click: () => this.to(this.row - 1) }),
      h("button", { type: "button", text: "As set", click: () => this.to(this.travel.rest) }),
      h("button", { type: "button", text: "Tighter", click: () => this.to(this.row + 1) }),
    );
    this.say();
    const seen = h("div", { class: "adjuster-parts" }, this.dial?.element, this.words);
    return [seen, h("label", { for: id, text: this.tensioner.moved_by }), this.slider, keys];
  }

  /** Move it to a row of its travel. */
  to(row) {
    this.row = Math.max(0, Math.min(row, this.travel.setting.length - 1));
    this.slider.value = String(this.row);
    this.say();
    this.dial?.show(this.row);
    this.moved(this.row);
  }

  say() {
    const text = `${this.travel.said[this.row]}.`;
    say(this.words, text);
    this.slider.setAttribute("aria-valuetext", text);
  }

  /** True where a place along the travel cannot be drawn. */
  get unknown() {
    return this.travel !== null && this.travel.x[this.row] === null;
  }
}
