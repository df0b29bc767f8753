// What the signs of the drawing mean.

import { h } from "./dom.js";
import { make } from "./svg.js";

const box = (kind) => [make("rect", { class: `belt ${kind}`, x: 2, y: 7, width: 32, height: 9 })];
const hatch = () => make("path", { class: "belt-hatch", d: [6, 13, 20, 27].map((x) => `M${x} 16L${x + 4} 7`).join("") });

const ROWS = [
  ["taut side", () => box("taut")],
  ["slack side", () => [...box("slack"), hatch()]],
  ["between the two", () => box("between")],
  ["mark on the sprocket", () => [make("path", { class: "mark", d: "M18 3L26 20H10Z" })]],
  ["fixed mark", () => [make("path", { class: "fixed-mark", d: "M18 3L26 20H10Z" })]],
  ["painted line, with its tooth number", () => [make("path", { class: "painted", d: "M15 1H21V23H15Z" })]],
];

/** The signs in a fold. */
export function signs(data) {
  const lines = data.belts.some((belt) => belt.to_scale && belt.lines.length);
  const rows = ROWS.filter(([word]) => lines || !word.startsWith("painted")).map(([word, draw]) =>
    h("li", {}, make("svg", { viewBox: "0 0 36 24", width: 36, height: 24, "aria-hidden": "true" }, ...draw()), h("span", { text: word })),
  );
  const help = h("p", {
    text: "Drag the crankshaft or the ring, or use the arrow keys on the ring: 1°, with Shift 10°, Page Up a turn, Home the start.",
  });
  return h("details", { class: "signs" }, h("summary", { text: "Signs and keys" }), h("ul", {}, ...rows), help);
}
