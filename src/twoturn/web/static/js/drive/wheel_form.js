// The wheel that was tapped: its own numbers as fields; what is typed there is written into the text.

import { h } from "./dom.js";
import { plainKeys, withValue } from "./table_text.js";

const WORDS = {
  teeth: ["Teeth", ""],
  diameter_mm: ["Diameter", "mm"],
  at_mm: ["Centre, right and up of the crankshaft", "mm"],
  belt_side: ["Side of the belt on it", ""],
  mark_deg: ["Mark, clockwise from twelve", "°"],
  mark_on: ["The mark is on a", ""],
  ratio: ["Turns a crank turn", ""],
};
const CHOICES = { belt_side: ["teeth", "back"], mark_on: ["gap", "tooth"] };

/** Fields of one wheel in `box`; `write(text)` takes the changed text, `go()` leads to its lines. */
export class WheelForm {
  constructor(box, text, write, go) {
    Object.assign(this, { box, text, write, go });
  }

  /** Show the wheel whose table begins at `first`. */
  show(id, first) {
    const rows = plainKeys(this.text.value, first).filter(({ key }) => key in WORDS);
    const lines = h("button", { type: "button", text: "Go to its lines", click: () => this.go() });
    const close = h("button", { type: "button", text: "Close", click: () => this.hide() });
    this.box.replaceChildren(
      h("h2", { text: id }),
      h("div", { class: "row-parts" }, ...rows.map((row) => this.field(row))),
      h("div", { class: "row-keys" }, lines, close),
    );
    this.box.hidden = false;
    const begin = this.box.querySelector("input, select") ?? lines;
    begin.focus({ preventScroll: true });
    this.box.scrollIntoView({ block: "nearest" });
  }

  hide() {
    this.box.hidden = true;
  }

  field(row) {
    const [words, unit] = WORDS[row.key];
    const id = `wheel-${row.key}`;
    const put = (value) => this.write(withValue(this.text.value, row, value));
    const input = CHOICES[row.key]
      ? h("select", { id, change: () => put(input.value) }, ...CHOICES[row.key].map((one) => h("option", { text: one, selected: one === row.value })))
      : h("input", { id, type: "text", inputmode: row.kind === "number" ? "decimal" : "text", value: row.value, autocomplete: "off", input: () => put(input.value) });
    const inside = unit ? h("div", { class: "with-unit" }, input, h("span", { class: "unit", text: unit })) : input;
    return h("div", { class: `field ${row.kind === "list" ? "two" : "short"}` }, h("label", { for: id, text: words }), inside);
  }
}
