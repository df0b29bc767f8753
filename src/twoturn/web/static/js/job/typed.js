// What is typed and not entered yet is kept on this device, so that neither a reload nor a lost sign-in loses it.
import { putBack, stateOf } from "./collect.js";

const WAIT_MS = 400;
let place;
let timer;

function held() {
  try {
    return JSON.parse(localStorage.getItem(place)) ?? {};
  } catch {
    return {};
  }
}

function keep(all) {
  try {
    if (Object.keys(all).length) localStorage.setItem(place, JSON.stringify(all));
    else localStorage.removeItem(place);
  } catch {
    // A browser that keeps nothing: what is typed stays in the page alone.
  }
}

function save(root) {
  const all = held();
  for (const form of root.querySelectorAll("form[data-typed]")) all[form.dataset.ask] = stateOf(form);
  keep(all);
}

/** Nothing is typed in this form any more. */
export function forget(form) {
  delete form.dataset.typed;
  const all = held();
  delete all[form.dataset.ask];
  keep(all);
}

/** Put what was typed for this question back into its form; it shows. */
export function restore(form, state) {
  putBack(form, state);
  form.dataset.typed = "yes";
  const folded = form.querySelector("details.otherwise");
  if (folded) folded.open = true;
}

/** Keep what is typed below `root`, and put back what was typed before. */
export function startTyped(root) {
  place = `twoturn-typed-${root.dataset.job}`;
  const all = held();
  for (const form of root.querySelectorAll("form[data-ask]:not([data-quick])")) if (all[form.dataset.ask]) restore(form, all[form.dataset.ask]);
  const noted = ({ target }) => {
    const form = target.closest("form[data-ask]:not([data-quick])");
    if (!form) return;
    form.dataset.typed = "yes";
    clearTimeout(timer);
    timer = setTimeout(() => save(root), WAIT_MS);
  };
  root.addEventListener("input", noted);
  root.addEventListener("change", noted);
  addEventListener("pagehide", () => save(root));
}
