// A ring of two turns, seen from the belt end: how far the crankshaft has come. It is the handle for keys and touch.

import { clockPage, move } from "./scene.js";
import { at, make, set, through } from "./svg.js";
import { mod } from "./geometry.js";

const SIZE = 176;
const [INNER, OUTER] = [44, 74];
const MIDDLE = [SIZE / 2, SIZE / 2];

/** The ring as an element with role slider; `turn` moves its point. */
export class Ring {
  constructor(drive) {
    this.sense = drive.crank_sense;
    this.point = make("circle", { class: "ring-point", r: 13 });
    this.gone = make("path", { class: "ring-gone" });
    this.count = make("text", { class: "ring-count", x: MIDDLE[0], y: MIDDLE[1] + 8, "text-anchor": "middle" });
    const ends = [INNER - 9, OUTER + 9].map((radius) => [MIDDLE[0], MIDDLE[1] - radius]);
    const svg = make(
      "svg",
      { viewBox: `0 0 ${SIZE} ${SIZE}`, width: SIZE, height: SIZE, "aria-hidden": "true" },
      make("path", { class: "ring-way", d: this.spiral(720) }),
      make("path", { class: "ring-start", d: through(ends) }),
      this.gone,
      this.point,
      this.count,
    );
    this.element = document.createElement("div");
    this.element.className = "ring";
    this.element.tabIndex = 0;
    for (const [name, value] of Object.entries({
      role: "slider",
      "aria-label": "Crankshaft, turned by hand",
      "aria-valuemin": "0",
      "aria-valuemax": "720",
    })) {
      this.element.setAttribute(name, value);
    }
    this.element.append(svg);
  }

  spiral(degrees) {
    const points = [];
    for (let angle = 0; angle <= degrees; angle += 6) points.push(this.spot(angle));
    points.push(this.spot(degrees));
    return through(points);
  }

  spot(angle) {
    return move(MIDDLE, clockPage(this.sense * angle), OUTER - ((OUTER - INNER) * angle) / 720);
  }

  /** Centre of the ring in the window. */
  get centre() {
    const box = this.element.getBoundingClientRect();
    return [box.left + box.width / 2, box.top + box.height / 2];
  }

  turn(crank, words) {
    const here = mod(crank, 720);
    set(this.gone, { d: here > 0.5 ? this.spiral(here) : `M${at(this.spot(0))}` });
    const [x, y] = this.spot(here);
    set(this.point, { cx: x, cy: y });
    this.count.textContent = (crank / 360).toFixed(2).replace("-", "−");
    this.element.setAttribute("aria-valuenow", String(Math.round(here)));
    this.element.setAttribute("aria-valuetext", words);
  }
}
