// From millimetres of the engine to pixels of the page; y points down there.

import { conj } from "./geometry.js";

const MARGIN = 58;

/** How a belt lies on a page `width` pixels wide and at most `tallest` high. */
export function sceneFor(laid, width, tallest) {
  const xs = laid.centres.flatMap(([x], at) => [x - laid.radii[at], x + laid.radii[at]]);
  const ys = laid.centres.flatMap(([, y], at) => [y - laid.radii[at], y + laid.radii[at]]);
  const low = [Math.min(...xs), Math.min(...ys)];
  const size = [Math.max(...xs) - low[0], Math.max(...ys) - low[1]];
  const room = Math.max(width - 2 * MARGIN, 80);
  const scale = Math.min(room / size[0], (tallest - 2 * MARGIN) / size[1]);
  const height = size[1] * scale + 2 * MARGIN;
  const origin = [(width - size[0] * scale) / 2 - low[0] * scale, height - MARGIN + low[1] * scale];
  return new Scene(laid, scale, origin, width, height);
}

/** One belt on the page. */
export class Scene {
  constructor(laid, scale, origin, width, height) {
    Object.assign(this, { laid, belt: laid.belt, scale, origin, width, height });
    this.back = Math.max(this.belt.back_mm * scale, 3);
    this.depth = Math.max(this.belt.tip_mm * scale, 4);
    this.land = 1;
  }

  /** The same view of the belt laid anew, as after the tensioner was moved. */
  with(laid) {
    return new Scene(laid, this.scale, this.origin, this.width, this.height);
  }

  page([x, y]) {
    return [this.origin[0] + this.scale * x, this.origin[1] - this.scale * y];
  }

  centre(at) {
    return this.page(this.laid.centres[at]);
  }

  radius(at) {
    return this.laid.radii[at] * this.scale;
  }

  /** Outer radius of a pulley's body as drawn. */
  rim(at) {
    const pulley = this.belt.pulleys[at];
    if (pulley.teeth !== null) return this.radius(at) - this.land;
    return this.radius(at) - (pulley.inside ? this.depth : this.back);
  }

  /** A direction of the engine on the page. */
  heading(direction) {
    return conj(direction);
  }

  /** Unit vector on the page from the pitch line to the teeth, where the belt travels along `direction`. */
  toothward([x, y]) {
    const sense = this.belt.sense;
    return [sense * y, sense * x];
  }
}

/** Unit vector on the page of a clock angle [degrees]. */
export function clockPage(angleDeg) {
  const angle = (angleDeg * Math.PI) / 180;
  return [Math.sin(angle), -Math.cos(angle)];
}

export const move = (point, way, far) => [point[0] + way[0] * far, point[1] + way[1] * far];
