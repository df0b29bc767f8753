// Fields that are only asked for with certain values of another field; and numbers told back once somebody types there.
import { startNumbers } from "../number.js";

const ROW = "g.row.";

function valuesOf(form, name) {
  return [...form.elements]
    .filter((input) => input.name === name && (!["radio", "checkbox"].includes(input.type) || input.checked))
    .map((input) => input.value);
}

/** Wake what is asked for in this form; the rest keeps its place, greyed, so that nothing moves under a finger. */
export function settle(form) {
  for (const field of form.querySelectorAll("[data-only-if]")) {
    const wanted = field.dataset.onlyValues.split("|");
    const asked = valuesOf(form, field.dataset.onlyIf).some((value) => wanted.includes(value));
    field.classList.toggle("not-asked", !asked);
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

// A fastener with a value of its own is not "to plan" as well; without the value it is again.
function untick({ name, value, form }) {
  if (!name?.startsWith(ROW)) return;
  const box = form.querySelector(`input[name="g.fastener"][value="${CSS.escape(name.slice(ROW.length))}"]`);
  if (value.trim() && box?.checked) {
    box.checked = false;
    box.dataset.unticked = "yes";
  } else if (!value.trim() && box?.dataset.unticked) {
    box.checked = true;
    delete box.dataset.unticked;
  }
}

/** Watch the forms below `root`. */
export function startDepends(root) {
  settleAll(root);
  root.addEventListener("input", ({ target }) => untick(target));
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
