// The drawing of one belt drive: belt, wheels, marks, names; laid anew when something moves, turned by the crankshaft.

import { BeltArt } from "./belt_art.js";
import { Places } from "./labels.js";
import { Mounting } from "./mounting.js";
import { clockPage, move, sceneFor } from "./scene.js";
import { arrowHead, make, set, short } from "./svg.js";
import { laidOut, toothAtMark } from "./turning.js";
import { WheelArt } from "./wheel_art.js";

const TEXT = 16;
const GRIP = 46;
let measuring = null;

/** Width of a word on the page [pixels]. */
function wide(text, size = TEXT) {
  measuring ??= document.createElement("canvas").getContext("2d");
  measuring.font = `${size}px sans-serif`;
  return measuring.measureText(text).width * 1.06 + 4;
}

/** One belt of a drive as an SVG element; `turn` and `adjust` move it. */
export class Drawing {
  constructor(drive, belt, width, tallest, moved = {}) {
    Object.assign(this, { drive, belt, moved });
    this.scene = sceneFor(laidOut(belt), width, tallest);
    this.wheels = belt.pulleys.map((_, at) => new WheelArt(this.scene, at));
    this.art = new BeltArt(this.scene);
    this.mounts = belt.to_scale ? belt.tensioners.map((one) => new Mounting(one)) : [];
    this.words = make("g", { class: "words" });
    this.tags = [];
    this.svg = make(
      "svg",
      { class: "drive-picture", viewBox: `0 0 ${short(width)} ${short(this.scene.height)}`, role: "presentation" },
      ...this.wheels.map((wheel) => wheel.group),
      this.art.group,
      ...this.wheels.map((wheel) => wheel.front),
      ...this.mounts.map((mount) => mount.group),
      this.words,
    );
    this.grip = belt.pulleys.findIndex((pulley) => pulley.role === "crankshaft");
    if (this.grip >= 0) this.svg.append(this.makeGrip());
    this.lay();
    this.name();
    this.turn(0);
  }

  makeGrip() {
    const radius = Math.max(GRIP, this.scene.radius(this.grip));
    this.handle = make("circle", { class: "grip", r: radius });
    const [x, y] = this.scene.centre(this.grip);
    set(this.handle, { cx: x, cy: y });
    return this.handle;
  }

  /** Where the crankshaft's centre is on the page. */
  get crankCentre() {
    return this.scene.centre(this.grip);
  }

  lay() {
    this.laid = laidOut(this.belt, this.moved);
    this.now = this.scene.with(this.laid);
    this.wheels.forEach((wheel) => wheel.lay(this.now));
    this.art.lay(this.now);
    this.mounts.forEach((mount) => mount.lay(this.now, this.moved));
  }

  /** Move the tensioners: row of its travel by pulley. */
  adjust(moved, crank) {
    this.moved = moved;
    this.lay();
    this.turn(crank);
  }

  /** Turn the crankshaft on to `crank` degrees. */
  turn(crank) {
    this.wheels.forEach((wheel) => wheel.turn(this.now, this.drive, crank));
    this.art.turn(this.now, crank);
    this.tags.forEach(({ at, word }) => {
      word.textContent = `tooth ${toothWord(toothAtMark(this.laid, at, crank), this.belt.teeth)}`;
    });
  }

  /** Words: names of wheels, taut and slack side, the belt tooth at every fixed mark, the way of travel. */
  name() {
    const places = new Places(this.scene.width, this.scene.height);
    const { scene, belt } = this;
    belt.pulleys.forEach((_, at) => places.disc(scene.centre(at), scene.radius(at) + scene.back));
    belt.spans.forEach((_, at) => {
      places.stroke(scene.page(this.laid.leaves[at]), scene.page(this.laid.enters[at]), scene.back + 8);
    });
    this.nameMarks(places);
    belt.pulleys.forEach((pulley, at) => this.nameWheel(places, pulley, at));
    ["taut", "slack"].forEach((side) => this.nameSide(places, side));
    this.words.append(this.travelArrow());
  }

  nameMarks(places) {
    this.belt.pulleys.forEach((pulley, at) => {
      if (pulley.mark_deg === null) return;
      const out = clockPage(pulley.mark_deg);
      const tip = move(this.scene.centre(at), out, this.scene.radius(at) + this.scene.back + 14);
      places.disc(tip, 9);
      if (!this.belt.to_scale) return;
      const size = [wide(`tooth ${this.belt.teeth}`, 14), 18];
      const word = this.write(places.put(tip, size, 9, out), [""], 14, "tooth-tag")[0];
      this.tags.push({ at, word });
    });
  }

  nameWheel(places, pulley, at) {
    const lines = pulley.teeth === null ? broken(pulley.id) : [...broken(pulley.id), `${pulley.teeth} teeth`];
    const size = [Math.max(...lines.map((line) => wide(line))), lines.length * TEXT * 1.2];
    const clear = this.scene.rim(at) + this.scene.depth + 6;
    const middle = places.put(this.scene.centre(at), size, clear);
    this.words.append(leader(this.scene.centre(at), this.scene.rim(at), middle, size));
    this.write(middle, lines, TEXT, "wheel-name");
  }

  nameSide(places, side) {
    const spans = this.belt.spans.map((span, at) => ({ at, ...span })).filter((span) => span.side === side);
    if (!spans.length) return;
    const { at } = spans.reduce((a, b) => (b.length_mm > a.length_mm ? b : a));
    const [start, end] = [this.scene.page(this.laid.leaves[at]), this.scene.page(this.laid.enters[at])];
    const middle = [(start[0] + end[0]) / 2, (start[1] + end[1]) / 2];
    const inward = this.scene.toothward(this.laid.directions[at]);
    const size = [wide(side), TEXT * 1.2];
    this.write(places.put(middle, size, this.scene.back + 8, [-inward[0], -inward[1]]), [side], TEXT, "side-name");
  }

  write(middle, lines, size, kind) {
    return lines.map((line, row) => {
      const y = middle[1] + size * (0.36 + 1.15 * (row - (lines.length - 1) / 2));
      const word = make("text", { class: kind, x: middle[0], y, "text-anchor": "middle", "font-size": size });
      word.textContent = line;
      this.words.append(word);
      return word;
    });
  }

  travelArrow() {
    const { laid, scene } = this;
    const at = laid.spans.indexOf(Math.max(...laid.spans));
    const along = scene.heading(laid.directions[at]);
    const inward = scene.toothward(laid.directions[at]);
    const [start, end] = [scene.page(laid.leaves[at]), scene.page(laid.enters[at])];
    const middle = move([(start[0] + end[0]) / 2, (start[1] + end[1]) / 2], inward, scene.depth + 9);
    const [tail, tip] = [move(middle, along, -18), move(middle, along, 18)];
    return make(
      "g",
      { class: "travel" },
      make("line", { x1: tail[0], y1: tail[1], x2: tip[0], y2: tip[1] }),
      make("path", { d: arrowHead(move(tip, along, 5), along, 12) }),
    );
  }
}

/** A thin stroke from a wheel to its name. */
function leader(centre, rim, middle, [width, height]) {
  const nearest = [0, 1].map((axis) => {
    const half = (axis ? height : width) / 2;
    return Math.min(Math.max(centre[axis], middle[axis] - half), middle[axis] + half);
  });
  const far = Math.hypot(nearest[0] - centre[0], nearest[1] - centre[1]);
  const way = [(nearest[0] - centre[0]) / far, (nearest[1] - centre[1]) / far];
  if (!(far > rim + 3)) return make("g");
  const [start, end] = [move(centre, way, rim * 0.82), move(nearest, way, -1)];
  return make("line", { class: "leader", x1: start[0], y1: start[1], x2: end[0], y2: end[1] });
}

/** A name on one line or, where it is long, on two. */
function broken(name) {
  const spaces = [...name.matchAll(/ /g)].map((found) => found.index);
  if (name.length < 13 || !spaces.length) return [name];
  const middle = spaces.reduce((a, b) => (Math.abs(b - name.length / 2) < Math.abs(a - name.length / 2) ? b : a));
  return [name.slice(0, middle), name.slice(middle + 1)];
}

/** A belt tooth's number as it is shown: whole where it is one, else with one decimal. */
export function toothWord(number, teeth) {
  const whole = Math.round(number);
  if (Math.abs(number - whole) < 0.06) return String(whole % teeth);
  return number.toFixed(1);
}
