// An entry to be corrected: a dialog with the ways there are, so that it works without connection too.
import { goTo } from "./steps.js";

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
    const form = ask.querySelector("form[data-ask]:not([data-quick])");
    for (const one of ask.querySelectorAll("form[data-ask]")) one.elements.replaces.value = number;
    const folded = form.querySelector("details.otherwise");
    if (folded) folded.open = true;
    let said = form.querySelector(".corrects");
    if (!said) {
      said = document.createElement("p");
      said.className = "corrects note";
      form.prepend(said);
    }
    said.textContent = `What is entered here takes the place of entry ${number}.`;
    goTo(ask.id);
  });
}

const questionOf = (root, number) =>
  [...root.querySelectorAll(".ask[data-done]")].find((ask) => ask.dataset.done.split(" ").includes(String(number)));
