// How a tensioner is held: its bolt or pivot, its arm, its ram, its guide.

import { clock } from "./geometry.js";
import { clockPage, move } from "./scene.js";
import { make, set } from "./svg.js";

/** Bolt, arm and ram of one tensioner; `lay` puts them where they are. */
export class Mounting {
  constructor(tensioner) {
    this.tensioner = tensioner;
    this.arm = make("path", { class: "arm" });
    this.bolt = make("circle", { class: "bolt", r: 4 });
    this.group = make("g", {}, this.arm, this.bolt);
  }

  lay(scene, moved) {
    const { tensioner } = this;
    const at = scene.belt.pulleys.findIndex((pulley) => pulley.id === tensioner.pulley);
    const roller = scene.centre(at);
    if (tensioner.kind === "slide") {
      this.slide(scene, roller, at);
      return;
    }
    const foot = tensioner.bolt_mm ?? tensioner.pivot_mm;
    if (!foot) {
      set(this.bolt, { visibility: "hidden" });
      return;
    }
    const [x, y] = scene.page(foot);
    set(this.bolt, { cx: x, cy: y });
    const lines = [[scene.page(armPivot(tensioner, moved)), roller]];
    const ram = ramTop(tensioner, moved);
    if (ram) lines.push([scene.page(foot), scene.page(ram)], [scene.page(tensioner.base_mm), scene.page(ram)]);
    set(this.arm, { d: lines.map(([a, b]) => `M${a.join(" ")}L${b.join(" ")}`).join("") });
  }

  slide(scene, roller, at) {
    set(this.bolt, { visibility: "hidden" });
    if (this.tensioner.tightens_deg === null) return;
    const way = clockPage(this.tensioner.tightens_deg);
    const reach = scene.rim(at) + 12;
    set(this.arm, { d: `M${move(roller, way, -reach).join(" ")}L${move(roller, way, reach).join(" ")}` });
  }
}

const rowOf = (tensioner, moved) => moved[tensioner.pulley] ?? tensioner.travel?.rest;

/** Where the arm turns: the bolt, or the end of the setting eccentric. */
function armPivot(tensioner, moved) {
  const foot = tensioner.bolt_mm ?? tensioner.pivot_mm;
  if (!tensioner.adjuster_mm || !tensioner.travel) return foot;
  const [x, y] = clock(tensioner.travel.adjuster_deg[rowOf(tensioner, moved)]);
  return [foot[0] + tensioner.adjuster_mm * x, foot[1] + tensioner.adjuster_mm * y];
}

/** Where the ram meets its arm; null for other kinds. */
function ramTop(tensioner, moved) {
  if (tensioner.kind !== "hydraulic" || tensioner.ram_arm_mm === null || !tensioner.base_mm) return null;
  const sense = tensioner.tightens === "counter-clockwise" ? -1 : 1;
  const pointer = tensioner.travel ? tensioner.travel.pointer[rowOf(tensioner, moved)] : 0;
  const [x, y] = clock(tensioner.notch_deg + sense * pointer + tensioner.ram_deg);
  return [tensioner.pivot_mm[0] + tensioner.ram_arm_mm * x, tensioner.pivot_mm[1] + tensioner.ram_arm_mm * y];
}
