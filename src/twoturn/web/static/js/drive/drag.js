// Turning by touch or mouse: the angle swept round a centre becomes crank angle; keys for those who type.

/** Let a hand turn `element` round the point that `centre()` gives in the window; `turn(degrees)` gets clockwise sweeps. */
export function dragTurns(element, centre, turn) {
  let last = null;
  const angle = (event) => {
    const [x, y] = centre();
    return (Math.atan2(event.clientX - x, y - event.clientY) * 180) / Math.PI;
  };
  element.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    element.setPointerCapture(event.pointerId);
    last = angle(event);
    event.preventDefault();
    if (element.tabIndex >= 0) element.focus({ preventScroll: true });
  });
  element.addEventListener("pointermove", (event) => {
    if (last === null) return;
    const now = angle(event);
    const swept = ((now - last + 540) % 360) - 180;
    last = now;
    if (swept) turn(swept);
  });
  for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) {
    element.addEventListener(name, () => {
      last = null;
    });
  }
}

const KEYS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 };

/** Degrees of crank angle that a key asks for; "start" for the Home key; null for any other key. */
export function keyTurn(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return null;
  if (event.key in KEYS) return KEYS[event.key] * (event.shiftKey ? 10 : 1);
  if (event.key === "PageUp") return 360;
  if (event.key === "PageDown") return -360;
  return event.key === "Home" ? "start" : null;
}
