// The wheels: rims whose gaps hold the belt's teeth, holes that show them turning, timing marks and fixed marks.

import { markOffset, mod, place } from "./geometry.js";
import { clockPage, move } from "./scene.js";
import { make, set, short, through } from "./svg.js";
import { markAngle, movedTeeth, pulleyAngle } from "./turning.js";

const HOLES = 5;

/** One wheel; `lay` puts it in its place, `turn` turns it. */
export class WheelArt {
  constructor(scene, at) {
    this.at = at;
    this.pulley = scene.belt.pulleys[at];
    this.rim = scene.rim(at);
    this.toothed = this.pulley.teeth !== null && scene.belt.to_scale;
    this.body = this.toothed
      ? make("path", { class: "wheel" })
      : make("circle", { class: this.pulley.teeth === null ? "wheel smooth" : "wheel", r: this.rim });
    this.holes = make("g", { class: "holes" }, ...holes(this.rim, this.pulley.tensioner));
    this.mark = this.pulley.mark_deg === null ? null : make("path", { class: "mark" });
    this.fixed = this.pulley.mark_deg === null ? null : make("path", { class: "fixed-mark" });
    this.group = make("g", {}, this.body, this.holes);
    this.front = make("g", {}, ...[this.mark, this.fixed].filter(Boolean));
  }

  /** Put the wheel where its centre is. */
  lay(scene) {
    const [x, y] = scene.centre(this.at);
    this.centre = [x, y];
    if (this.toothed) set(this.body, { d: rimPath(scene, this.at, this.pulley.teeth) });
    else set(this.body, { cx: x, cy: y });
    if (!this.fixed) return;
    const size = Math.min(14, 0.42 * this.rim);
    set(this.fixed, {
      d: wedge(this.centre, this.pulley.mark_deg, scene.radius(this.at) + scene.back + 8, size),
    });
  }

  /** Turn the wheel to a crank angle. */
  turn(scene, drive, crank) {
    const [x, y] = this.centre;
    const angle = mod(pulleyAngle(drive, this.pulley, crank), 360);
    set(this.holes, { transform: `translate(${short(x)} ${short(y)}) rotate(${angle.toFixed(3)})` });
    if (this.toothed) {
      set(this.body, { transform: `rotate(${gapAngle(scene, this.at, crank).toFixed(3)} ${short(x)} ${short(y)})` });
    }
    if (!this.mark) return;
    const clock = markAngle(drive, this.pulley, crank);
    const size = Math.min(15, 0.45 * this.rim);
    set(this.mark, { d: wedge(this.centre, clock, this.rim - scene.depth, -size), "data-clock": clock.toString() });
  }
}

function holes(rim, tensioner) {
  const size = Math.max(1.6, rim * 0.09);
  const ring = Array.from({ length: HOLES }, (_, index) => {
    const [x, y] = move([0, 0], clockPage((index * 360) / HOLES + 36), rim * 0.5);
    return make("circle", { cx: x, cy: y, r: size });
  });
  const hub = make("circle", { class: "hub", r: Math.max(3, Math.min(8, rim * 0.14)) });
  return tensioner ? ring : [hub, ...ring];
}

function rimPath(scene, at, count) {
  const centre = scene.centre(at);
  const [land, root] = [scene.radius(at) - scene.land, scene.radius(at) - scene.depth - 0.6];
  const step = 360 / count;
  const outline = [];
  for (let gap = 0; gap < count; gap += 1) {
    for (const [offset, radius] of [[-0.36, land], [-0.24, root], [0.24, root], [0.36, land]]) {
      outline.push(move(centre, clockPage((gap + offset) * step), radius));
    }
  }
  return through(outline, true);
}

/** Clock angle of a gap: where the belt tooth nearest to the middle of the wrap sits. */
function gapAngle(scene, at, crank) {
  const { laid } = scene;
  const part = mod(movedTeeth(scene.belt, crank), 1);
  let best = null;
  for (let number = 0; number < scene.belt.teeth; number += 1) {
    const here = place(laid, number + part);
    if (!here.onPulley || here.piece !== at) continue;
    const off = Math.abs(markOffset(laid, at, here.clock));
    if (best === null || off < best.off) best = { off, clock: here.clock };
  }
  return best === null ? 0 : best.clock;
}

/** A triangle with its tip at `radius` and its base `length` further out (inwards when negative). */
function wedge(centre, clockDeg, radius, length) {
  const out = clockPage(clockDeg);
  const [tip, base] = [move(centre, out, radius), move(centre, out, radius + length)];
  const half = Math.abs(length) * 0.42;
  const side = [-out[1], out[0]];
  return through([tip, move(base, side, half), move(base, side, -half)], true);
}
