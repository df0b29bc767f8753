// An entry to be changed: a dialog with the ways there are, so that it works without connection too.
import { drop } from "../queue.js";
import { fillEntry } from "./collect.js";
import { settle } from "./depends.js";
import { onFresh } from "./parts.js";
import { goTo } from "./steps.js";
import { forget } from "./typed.js";

/** Number of the entry that is being changed, by the id of its question on the page. */
const changing = new Map();
const formsOf = (ask) => [...ask.querySelectorAll("form[data-ask]")];
const typedIn = (ask) => ask.querySelector("form[data-ask]:not([data-quick])");

/** What is entered at a question from now on takes the place of entry `number`; what that one says is filled in. */
export function change(ask, number) {
  changing.set(ask.id, number);
  for (const one of formsOf(ask)) one.elements.replaces.value = number;
  const form = typedIn(ask);
  const entered = JSON.parse(ask.dataset.entered ?? "{}")[number];
  if (entered && !form.dataset.typed) {
    fillEntry(form, entered);
    settle(form);
  }
  const here = form.querySelector(".record-here a");
  if (here) here.search = new URLSearchParams({ asked: form.dataset.ask, replaces: number });
  for (const folded of ask.querySelectorAll("details.otherwise, details.fold")) folded.open = true;
  let said = ask.querySelector(".corrects");
  if (!said) {
    said = document.createElement("div");
    said.className = "corrects note";
    const key = document.createElement("button");
    Object.assign(key, { type: "button", textContent: "Keep it as it is" });
    key.addEventListener("click", () => keep(ask));
    said.append(document.createElement("p"), key);
    ask.querySelector("form").before(said);
  }
  said.firstElementChild.textContent = `What is entered here takes the place of entry ${number}.`;
}

// Nothing takes its place: the question is as it was before, and what was typed for the change goes with it.
function keep(ask) {
  const form = typedIn(ask);
  const refused = Number(form.dataset.letter ?? 0);
  changing.delete(ask.id);
  for (const one of formsOf(ask)) one.elements.replaces.value = "";
  ask.querySelector(".corrects")?.remove();
  form.reset();
  forget(form);
  settle(form);
  const folded = form.querySelector("details.otherwise");
  if (folded) folded.open = false;
  const here = form.querySelector(".record-here a");
  if (here) here.search = new URLSearchParams({ asked: form.dataset.ask });
  ask.focus({ preventScroll: true });
  if (refused) drop(refused);
}

/** Begin, below `root`. */
export function startMend(root) {
  const dialog = root.querySelector("#mend");
  let number = 0;
  root.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-mend]");
    if (!link || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    number = Number(link.dataset.mend);
    dialog.querySelector("[data-number]").textContent = number;
    dialog.querySelector("[data-words]").textContent = link.closest("li").querySelector(".entry-words").textContent;
    dialog.querySelector("[data-correct]").hidden = !questionOf(root, number);
    for (const form of dialog.querySelectorAll("form")) form.action = link.getAttribute("href");
    dialog.showModal();
  });
  dialog.querySelector("[data-close]").addEventListener("click", () => dialog.close());
  dialog.querySelector("[data-correct]").addEventListener("click", () => {
    dialog.close();
    const ask = questionOf(root, number);
    change(ask, number);
    goTo(ask.id, true);
  });
  for (const ask of root.querySelectorAll(".ask")) {
    const begun = Number(typedIn(ask)?.elements.replaces.value ?? 0); // begun before the page was loaded anew
    if (begun && questionOf(root, begun) === ask) change(ask, begun);
    else if (begun) for (const one of formsOf(ask)) one.elements.replaces.value = "";
  }
  onFresh(() => {
    for (const [id, one] of [...changing]) {
      const ask = document.getElementById(id);
      if (ask && questionOf(root, one) === ask) change(ask, one);
      else changing.delete(id);
    }
  });
}

const questionOf = (root, number) =>
  [...root.querySelectorAll(".ask[data-done]")].find((ask) => ask.dataset.done.split(" ").includes(String(number)));
