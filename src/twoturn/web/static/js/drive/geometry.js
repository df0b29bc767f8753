// A belt on its wheels: tangents, wraps, places along it. The same closed forms as twoturn.drive.path and .laid.
// Points and directions are pairs [x, y] in mm, x to the right, y up; clock angles in degrees from twelve o'clock.

export const TURN = 2 * Math.PI;
export const rad = (deg) => (deg * Math.PI) / 180;
export const deg = (angle) => (angle * 180) / Math.PI;
export const mod = (value, size) => ((value % size) + size) % size;
export const clock = (angleDeg) => [Math.sin(rad(angleDeg)), Math.cos(rad(angleDeg))];
export const add = (a, b) => [a[0] + b[0], a[1] + b[1]];
export const sub = (a, b) => [a[0] - b[0], a[1] - b[1]];
export const scaled = (a, factor) => [a[0] * factor, a[1] * factor];
export const times = (a, b) => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
export const conj = (a) => [a[0], -a[1]];
export const turnedBy = (a, angle) => times(a, [Math.cos(angle), Math.sin(angle)]);
export const clockOf = (a) => mod(90 - deg(Math.atan2(a[1], a[0])), 360);

/** A belt laid on its wheels, its pulleys at `centres`. */
export function lay(belt, centres) {
  const radii = belt.pulleys.map((pulley) => pulley.radius_mm);
  const way = belt.pulleys.map((pulley) => (pulley.inside ? belt.sense : -belt.sense));
  const count = radii.length;
  const spans = [];
  const directions = [];
  for (let at = 0; at < count; at += 1) {
    const next = (at + 1) % count;
    const across = sub(centres[next], centres[at]);
    const step = way[next] * radii[next] - way[at] * radii[at];
    const squared = across[0] ** 2 + across[1] ** 2;
    const span = Math.sqrt(squared - step * step);
    spans.push(span);
    directions.push(scaled(times(across, [span, step]), 1 / squared));
  }
  const wraps = directions.map((going, at) => wrapAngle(directions[mod(at - 1, count)], going, way[at]));
  const leaves = centres.map((centre, at) => add(centre, times([0, way[at] * radii[at]], directions[at])));
  const enters = leaves.map((leave, at) => add(leave, scaled(directions[at], spans[at])));
  const starts = [];
  let along = 0;
  for (let at = 0; at < count; at += 1) {
    starts.push(along, along + radii[at] * wraps[at]);
    along += radii[at] * wraps[at] + spans[at];
  }
  return { belt, centres, radii, way, spans, directions, wraps, leaves, enters, starts, length: along };
}

function wrapAngle(coming, going, way) {
  const turn = times(going, conj(coming));
  const angle = -Math.atan2(turn[1], turn[0]) * way;
  return angle < -1e-12 ? angle + TURN : Math.max(angle, 0);
}

export const mmPerTooth = (laid) => laid.length / laid.belt.teeth;

/** How far along travel a clock angle of pulley `at` lies past the middle of its wrap, within half a turn [rad]. */
export function markOffset(laid, at, clockDeg) {
  const before = laid.directions[mod(at - 1, laid.radii.length)];
  const middle = turnedBy(before, -0.5 * laid.way[at] * laid.wraps[at]);
  const outward = times([0, laid.way[at]], middle);
  const [x, y] = times(clock(clockDeg), conj(outward));
  return -laid.way[at] * Math.atan2(y, x);
}

/** Distance along travel from the entry to pulley 0 to a clock angle of pulley `at` [mm]. */
export function distanceToMark(laid, at, clockDeg) {
  const past = laid.wraps[at] / 2 + markOffset(laid, at, clockDeg);
  return laid.starts[2 * at] + laid.radii[at] * past;
}

/** Where line 0 lies in the setting position [mm]: at the driving sprocket's mark, else in the middle of its wrap. */
export function lineZero(laid) {
  const mark = laid.belt.pulleys[0].mark_deg;
  return mark === null ? (laid.radii[0] * laid.wraps[0]) / 2 : distanceToMark(laid, 0, mark);
}

/** Where a point of the belt is, `teeth` belt teeth along travel from the place of line 0 in the setting position. */
export function place(laid, teeth) {
  laid.zero ??= lineZero(laid);
  return placeAt(laid, laid.zero + teeth * mmPerTooth(laid));
}

/** Where a point of the belt is, `distance` mm along travel from the entry to pulley 0. */
export function placeAt(laid, distance) {
  const along = mod(distance, laid.length);
  let slot = laid.starts.length - 1;
  while (slot > 0 && laid.starts[slot] > along) slot -= 1;
  const piece = slot >> 1;
  const rest = along - laid.starts[slot];
  if (slot % 2) {
    const direction = laid.directions[piece];
    return { piece, onPulley: false, point: add(laid.leaves[piece], scaled(direction, rest)), direction, clock: NaN };
  }
  const radius = laid.radii[piece];
  const coming = laid.directions[mod(piece - 1, laid.radii.length)];
  const direction = turnedBy(coming, -laid.way[piece] * (rest / radius));
  const rim = times([0, laid.way[piece]], direction);
  const point = add(laid.centres[piece], scaled(rim, radius));
  return { piece, onPulley: true, point, direction, clock: clockOf(rim) };
}

/** True where the belt has a path round its wheels: every tangent is there and the wraps make one turn. */
export function isClosed(laid) {
  const signed = laid.wraps.reduce((sum, wrap, at) => sum + wrap * laid.way[at] * laid.belt.sense, 0);
  return Math.abs(signed - TURN) < 1e-6;
}
