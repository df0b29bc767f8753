// The belt: its body by side (solid where taut, hatched where slack, pale between), teeth, painted lines.

import { mod, place } from "./geometry.js";
import { move } from "./scene.js";
import { arc, at, make, set, short, through } from "./svg.js";
import { lineAt, movedTeeth } from "./turning.js";

const HATCH = 7;

/** Elements of the belt; `update` moves them. */
export class BeltArt {
  constructor(scene) {
    this.count = scene.belt.pulleys.length;
    this.pieces = scene.belt.spans.map((span, index) => {
      const before = scene.belt.spans[mod(index - 1, this.count)];
      return [
        piece(span.side === before.side ? span.side : "between"),
        piece(span.side),
      ];
    });
    this.teeth = make("path", { class: "belt-teeth" });
    this.lines = scene.belt.to_scale ? scene.belt.lines.map((number) => paintedLine(number)) : [];
    this.group = make("g", {}, ...this.pieces.flat().map((one) => one.group), this.teeth, ...this.lines.map((l) => l.group));
  }

  /** Lay the belt anew, as when the tensioner was moved. */
  lay(scene) {
    this.pieces.forEach(([onWheel, free], index) => {
      drawArc(scene, index, onWheel);
      drawSpan(scene, index, free);
    });
  }

  /** Show the belt with the crankshaft turned on by `crank` degrees. */
  turn(scene, crank) {
    if (!scene.belt.to_scale) return;
    set(this.teeth, { d: teethPath(scene, crank) });
    this.lines.forEach((line) => drawLine(scene, line, crank));
  }
}

function piece(side) {
  const body = make("path", { class: `belt ${side}` });
  const hatch = make("path", { class: "belt-hatch" });
  return { side, body, hatch, group: make("g", {}, body, hatch) };
}

function drawSpan(scene, index, { side, body, hatch }) {
  const { laid } = scene;
  const [start, end] = [scene.page(laid.leaves[index]), scene.page(laid.enters[index])];
  const along = scene.heading(laid.directions[index]);
  const inward = scene.toothward(laid.directions[index]);
  const corners = [
    move(start, inward, scene.land),
    move(end, inward, scene.land),
    move(end, inward, -scene.back),
    move(start, inward, -scene.back),
  ];
  set(body, { d: through(corners, true) });
  if (side !== "slack") return;
  const length = laid.spans[index] * scene.scale;
  let strokes = "";
  for (let step = HATCH / 2; step < length - 2; step += HATCH) {
    const foot = move(move(start, along, step - 2), inward, scene.land);
    const head = move(move(start, along, step + 2), inward, -scene.back);
    strokes += through([foot, head]);
  }
  set(hatch, { d: strokes || "M0 0" });
}

function drawArc(scene, index, { side, body, hatch }) {
  const { laid } = scene;
  const wrap = laid.wraps[index];
  if (!(wrap > 1e-3)) {
    set(body, { d: "M0 0" });
    set(hatch, { d: "M0 0" });
    return;
  }
  const inside = scene.belt.pulleys[index].inside;
  const [centre, radius] = [scene.centre(index), scene.radius(index)];
  const inner = inside ? radius - scene.land : radius + scene.land;
  const outer = inside ? radius + scene.back : radius - scene.back;
  const first = unit(centre, scene.page(laid.enters[mod(index - 1, laid.radii.length)]));
  const last = unit(centre, scene.page(laid.leaves[index]));
  const clockwise = laid.way[index] > 0;
  const large = wrap > Math.PI;
  set(body, {
    d:
      `M${at(move(centre, first, inner))}${arc(move(centre, last, inner), inner, clockwise, large)}` +
      `L${at(move(centre, last, outer))}${arc(move(centre, first, outer), outer, !clockwise, large)}Z`,
  });
  if (side !== "slack") return;
  let strokes = "";
  for (let step = HATCH / 2; step < wrap * radius; step += HATCH) {
    const ends = [-2, 2].map((lean, end) => {
      const angle = (laid.way[index] * (step + lean)) / radius;
      const way = [
        first[0] * Math.cos(angle) - first[1] * Math.sin(angle),
        first[0] * Math.sin(angle) + first[1] * Math.cos(angle),
      ];
      return move(centre, way, end ? outer : inner);
    });
    strokes += through(ends);
  }
  set(hatch, { d: strokes || "M0 0" });
}

function unit(from, to) {
  const [x, y] = [to[0] - from[0], to[1] - from[1]];
  const size = Math.hypot(x, y);
  return [x / size, y / size];
}

function teethPath(scene, crank) {
  const { laid } = scene;
  const moved = mod(movedTeeth(scene.belt, crank), 1);
  const pitch = (laid.length / scene.belt.teeth) * scene.scale;
  const [base, tip] = [0.29 * pitch, 0.19 * pitch];
  let data = "";
  for (let number = 0; number < scene.belt.teeth; number += 1) {
    const here = place(laid, number + moved);
    const along = scene.heading(here.direction);
    const inward = scene.toothward(here.direction);
    const foot = move(scene.page(here.point), inward, scene.land);
    const head = move(scene.page(here.point), inward, scene.depth);
    data += through([move(foot, along, -base), move(foot, along, base), move(head, along, tip), move(head, along, -tip)], true);
  }
  return data;
}

function paintedLine(number) {
  const stroke = make("path", { class: "painted" });
  const word = make("text", { class: "painted-number", "text-anchor": "middle" });
  word.textContent = String(number);
  return { number, stroke, word, group: make("g", {}, stroke, word) };
}

function drawLine(scene, line, crank) {
  const here = lineAt(scene.laid, line.number, crank);
  const inward = scene.toothward(here.direction);
  const point = scene.page(here.point);
  const along = scene.heading(here.direction);
  const [foot, head] = [move(point, inward, scene.depth + 2), move(point, inward, -scene.back - 6)];
  const half = 2.4;
  const corners = [move(foot, along, -half), move(head, along, -half), move(head, along, half), move(foot, along, half)];
  set(line.stroke, { d: through(corners, true), "data-x": here.point[0].toString(), "data-y": here.point[1].toString() });
  const word = move(move(point, inward, -scene.back - 13), along, 13 + 4 * String(line.number).length);
  set(line.word, { x: short(word[0]), y: short(word[1] + 6) });
}
