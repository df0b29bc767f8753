// The keyboard at the office: Enter ticks a box or ends a number and goes on to the next, as Tab goes on without a tick.

const PLACES = 'input[type="checkbox"], input[type="text"], [data-enter]';

/** Begin, in the form. */
export function startKeys(form) {
  form.addEventListener("keydown", (event) => {
    const { target } = event;
    if (event.key !== "Enter" || event.isComposing || !target.matches('input[type="checkbox"], input[type="text"]')) return;
    event.preventDefault();
    if (target.type === "checkbox" && !target.checked) {
      target.checked = true;
      target.dispatchEvent(new Event("change", { bubbles: true }));
    }
    next(form, target)?.focus();
  });
}

// After a tick the squares beside it are skipped: they are for what is otherwise. A text is asked for all the same.
function next(form, target) {
  const all = [...form.querySelectorAll(PLACES)];
  const after = all.slice(all.indexOf(target) + 1);
  if (target.type !== "checkbox") return after[0];
  const box = target.closest("[data-box]");
  return after.find((one) => one.closest("[data-box]") !== box || !("number" in one.dataset));
}
