// A few words for making SVG elements; attributes only, no inline style.

const SPACE = "http://www.w3.org/2000/svg";

/** A new SVG element with attributes and children. */
export function make(name, attributes = {}, ...children) {
  const element = document.createElementNS(SPACE, name);
  set(element, attributes);
  element.append(...children);
  return element;
}

/** Set attributes; null removes one; numbers are kept short. */
export function set(element, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined) element.removeAttribute(key);
    else element.setAttribute(key, typeof value === "number" ? short(value) : value);
  }
  return element;
}

export const short = (value) => (Math.round(value * 100) / 100).toString();
export const at = (point) => `${short(point[0])} ${short(point[1])}`;
export const through = (points, close = false) => `M${points.map(at).join("L")}${close ? "Z" : ""}`;
export const arc = (end, radius, clockwise, large = false) =>
  `A${short(radius)} ${short(radius)} 0 ${large ? 1 : 0} ${clockwise ? 1 : 0} ${at(end)}`;

/** A filled arrow head whose tip points along `way`. */
export function arrowHead(tip, way, size) {
  const across = [way[1] * size * 0.42, -way[0] * size * 0.42];
  const back = [tip[0] - way[0] * size, tip[1] - way[1] * size];
  return through([tip, [back[0] + across[0], back[1] + across[1]], [back[0] - across[0], back[1] - across[1]]], true);
}
