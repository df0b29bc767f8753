// Fields that are only asked for with certain values of another field; and numbers told back once somebody types there.
import { startNumbers } from "../number.js";

function valuesOf(form, name) {
  return [...form.elements]
    .filter((input) => input.name === name && (!["radio", "checkbox"].includes(input.type) || input.checked))
    .map((input) => input.value);
}

/** Show what is asked for in this form, and leave out the rest. */
export function settle(form) {
  for (const field of form.querySelectorAll("[data-only-if]")) {
    const wanted = field.dataset.onlyValues.split("|");
    const asked = valuesOf(form, field.dataset.onlyIf).some((value) => wanted.includes(value));
    field.hidden = !asked;
    for (const input of field.querySelectorAll("input")) input.disabled = !asked;
  }
}

/** Settle every form below `root`, now. */
export function settleAll(root) {
  for (const field of root.querySelectorAll("[data-only-if]")) {
    const form = field.closest("form");
    if (form.dataset.settled) continue;
    form.dataset.settled = "yes";
    settle(form);
  }
}

/** Watch the forms below `root`. */
export function startDepends(root) {
  settleAll(root);
  root.addEventListener("change", ({ target }) => {
    const form = target.closest("form[data-ask]");
    if (form) settle(form);
  });
  root.addEventListener("focusin", ({ target }) => {
    if (target.dataset?.number !== "later") return;
    target.dataset.number = "";
    startNumbers(target.parentElement);
  });
}
