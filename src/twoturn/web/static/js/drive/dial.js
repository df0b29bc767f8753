// The tensioner seen near: pointer, notch and allowed range at their true clock angles, or a scale for slide and ram.

import { clockPage, move } from "./scene.js";
import { arc, arrowHead, at, make, set, through } from "./svg.js";

const [WIDE, HIGH] = [190, 170];
const MIDDLE = [WIDE / 2, HIGH / 2 + 2];
const RADIUS = 52;

/** An element that shows a tensioner at a row of its travel; null where there is nothing to show. */
export function makeDial(tensioner) {
  const { travel } = tensioner;
  if (!travel) return null;
  if (travel.protrusion_mm.length || tensioner.kind === "slide") return new Scale(tensioner);
  return tensioner.notch_deg === null ? null : new Dial(tensioner);
}

function frame(...children) {
  return make(
    "svg",
    { class: "dial", viewBox: `0 0 ${WIDE} ${HIGH}`, width: WIDE, height: HIGH, "aria-hidden": "true" },
    ...children,
  );
}

const word = (point, text, anchor = "middle") => {
  const element = make("text", { x: point[0], y: point[1] + 5, "text-anchor": anchor });
  element.textContent = text;
  return element;
};

class Dial {
  constructor(tensioner) {
    Object.assign(this, { tensioner, travel: tensioner.travel });
    this.sense = tensioner.tightens === "counter-clockwise" ? -1 : 1;
    this.zero = this.travel.by === "roller" ? this.travel.pointer[this.travel.rest] : 0;
    this.pointer = make("path", { class: "pointer" });
    const parts = [make("circle", { class: "face", cx: MIDDLE[0], cy: MIDDLE[1], r: RADIUS })];
    if (tensioner.window && this.travel.by !== "roller") parts.push(...this.allowed(tensioner.window));
    parts.push(this.notch(), this.way(), this.pointer);
    this.element = frame(...parts);
    this.show(this.travel.rest);
  }

  angle(pointer) {
    return this.tensioner.notch_deg + this.sense * pointer;
  }

  allowed(window) {
    const [first, last] = window.map((end) => this.angle(end)).sort((a, b) => a - b);
    const [inner, outer] = [RADIUS - 16, RADIUS];
    const corner = (angle, radius) => move(MIDDLE, clockPage(angle), radius);
    let strokes = "";
    for (let angle = first + 1.5; angle < last; angle += 3) strokes += through([corner(angle, inner), corner(angle, outer)]);
    const large = last - first > 180;
    const band =
      `M${at(corner(first, outer))}${arc(corner(last, outer), outer, true, large)}` +
      `L${at(corner(last, inner))}${arc(corner(first, inner), inner, false, large)}Z`;
    return [make("path", { class: "allowed", d: band }), make("path", { class: "allowed-strokes", d: strokes })];
  }

  notch() {
    const angle = this.angle(this.zero);
    const tip = move(MIDDLE, clockPage(angle), RADIUS);
    const feet = [-8, 8].map((turn) => move(MIDDLE, clockPage(angle + turn), RADIUS + 13));
    const label = move(MIDDLE, clockPage(angle), RADIUS + 25);
    return make(
      "g",
      {},
      make("path", { class: "notch", d: through([feet[0], tip, feet[1]], true) }),
      word(label, this.travel.by === "roller" ? "as set" : "notch"),
    );
  }

  way() {
    const middle = this.angle(this.zero) + 180;
    const radius = RADIUS - 18;
    const [start, end] = [middle - this.sense * 40, middle + this.sense * 40].map((angle) => clockPage(angle));
    const tip = move(MIDDLE, end, radius);
    const heading = [-end[1] * this.sense, end[0] * this.sense];
    return make(
      "g",
      { class: "tightens" },
      make("path", { d: `M${at(move(MIDDLE, start, radius))}${arc(tip, radius, this.sense > 0)}` }),
      make("path", { class: "head", d: arrowHead(move(tip, heading, 5), heading, 10) }),
      word(move(MIDDLE, clockPage(middle), RADIUS + 16), "tightens"),
    );
  }

  show(row) {
    const pointer = this.travel.pointer[row];
    if (pointer === null) return;
    const way = clockPage(this.angle(pointer));
    const tip = move(MIDDLE, way, RADIUS - 3);
    set(this.pointer, { d: `M${at(MIDDLE)}L${at(move(tip, way, -8))}${arrowHead(tip, way, 14)}` });
  }
}

class Scale {
  constructor(tensioner) {
    const { travel } = tensioner;
    this.values = travel.protrusion_mm.length ? travel.protrusion_mm : travel.pointer;
    this.pointer = make("path", { class: "pointer" });
    const [low, high] = [Math.min(...this.values), Math.max(...this.values)];
    this.low = low;
    this.size = Math.max(high - low, 1);
    const step = [1, 2, 5, 10, 20, 50].find((one) => this.size / one <= 6) ?? 100;
    const ticks = [];
    for (let tick = Math.ceil(low / step) * step; tick <= high + 1e-9; tick += step) {
      const x = this.along(tick);
      ticks.push(make("path", { class: "tick", d: `M${x} 92V102` }), word([x, 116], String(Math.abs(tick))));
    }
    const base = make("path", { class: "tick", d: `M${this.along(low)} 92H${this.along(high)}` });
    const title = travel.protrusion_mm.length ? "mm standing out" : "mm from the notch";
    const parts = [base, ...ticks, word([WIDE / 2, 142], title)];
    if (tensioner.window) parts.push(this.allowed(tensioner.window));
    if (!travel.protrusion_mm.length) parts.push(word([this.along(0), 40], "notch"), make("path", { class: "tick", d: `M${this.along(0)} 48V92` }));
    this.element = frame(...parts, this.pointer);
    this.show(travel.rest);
  }

  along(value) {
    return 16 + ((value - this.low) / this.size) * (WIDE - 32);
  }

  allowed([low, high]) {
    const [start, end] = [this.along(low), this.along(high)];
    return make("path", { class: "allowed", d: `M${start} 78H${end}V92H${start}Z` });
  }

  show(row) {
    const value = this.values[row];
    if (value === null) return;
    set(this.pointer, { d: arrowHead([this.along(value), 91], [0, 1], 22) });
  }
}
