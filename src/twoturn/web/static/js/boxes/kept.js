// What stands in the boxes: collected, put back, and kept by the browser until it is entered.

let gone = false;

const placeOf = (form) => `twoturn-boxes-${form.dataset.boxes}`;

/** { ticked: [box], typed: { box: { square: text } } } of the form. */
export function filledOf(form) {
  const ticked = [];
  const typed = {};
  for (const input of form.elements) {
    const [sort, box, square] = input.name.split("|");
    if (sort === "tick" && input.checked) ticked.push(box);
    if (sort === "typed" && input.value.trim()) (typed[box] ??= {})[square] = input.value.trim();
  }
  return { ticked, typed };
}

/** How many boxes anything stands in. */
export function countOf(form) {
  const { ticked, typed } = filledOf(form);
  return new Set([...ticked, ...Object.keys(typed)]).size;
}

/** Put into the form what stood there before; what stands there already stays. */
export function fill(form, filled) {
  const ticked = new Set(filled?.ticked ?? []);
  for (const input of form.elements) {
    const [sort, box, square] = input.name.split("|");
    if (sort === "tick" && ticked.has(box)) input.checked = true;
    const text = filled?.typed?.[box]?.[square];
    if (sort === "typed" && text && !input.value) {
      input.value = text;
      input.dispatchEvent(new Event("input"));
    }
  }
}

/** Keep what stands in the form on this device. */
export function keep(form) {
  if (gone) return;
  try {
    if (countOf(form)) localStorage.setItem(placeOf(form), JSON.stringify(filledOf(form)));
    else localStorage.removeItem(placeOf(form));
  } catch {
    // A browser that keeps nothing: what is typed stays in the page alone.
  }
}

/** What was kept. */
export function kept(form) {
  try {
    return JSON.parse(localStorage.getItem(placeOf(form)));
  } catch {
    return null;
  }
}

/** It is entered: keep it no longer. */
export function forget(form) {
  gone = true;
  try {
    localStorage.removeItem(placeOf(form));
  } catch {
    // Nothing was kept there.
  }
}
