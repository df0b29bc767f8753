// A tap on a wheel of the drawing; a drag is none.

const STILL = 8;
const NEAR = 10;

/** Call `chosen(id)` for a wheel of `drawing` that is tapped. */
export function tapped(drawing, chosen) {
  let down = null;
  const { svg } = drawing;
  svg.addEventListener("pointerdown", (event) => {
    down = [event.clientX, event.clientY];
  }, true);
  svg.addEventListener("click", (event) => {
    if (!down || Math.hypot(event.clientX - down[0], event.clientY - down[1]) > STILL) return;
    const found = wheelAt(drawing, event);
    if (found !== null) chosen(found);
  });
}

function wheelAt(drawing, event) {
  const box = drawing.svg.getBoundingClientRect();
  const factor = drawing.scene.width / box.width;
  const point = [(event.clientX - box.left) * factor, (event.clientY - box.top) * factor];
  let best = null;
  drawing.belt.pulleys.forEach((pulley, at) => {
    const [x, y] = drawing.now.centre(at);
    const beyond = Math.hypot(point[0] - x, point[1] - y) - Math.max(drawing.now.rim(at), 24);
    if (beyond < NEAR && (best === null || beyond < best.beyond)) best = { beyond, id: pulley.id };
  });
  return best && best.id;
}
