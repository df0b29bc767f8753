// The boxes of the paper plan: quick to type, kept while they are typed, sent in one letter.
import { drop, onChange, onSent, send } from "../queue.js";
import { startKeys } from "./keys.js";
import { countOf, fill, filledOf, keep, kept, forget } from "./kept.js";

const form = document.querySelector("form[data-boxes]");
const trouble = document.getElementById("trouble");
const WAIT_MS = 300;
const SLOW_MS = 1500;

function words(count) {
  return count === 1 ? "1 box" : `${count} boxes`;
}

function tellCount() {
  const count = countOf(form);
  form.querySelector("[data-enter]").textContent = count ? `Enter these ${words(count)}` : "Enter these";
  for (const key of form.querySelectorAll("[data-all]")) {
    const alike = [...key.closest(".part").querySelectorAll("[data-alike]")];
    key.setAttribute("aria-pressed", String(alike.every((tick) => tick.checked)));
  }
}

function freeze(how) {
  form.querySelector(".on-the-way")?.remove();
  form.classList.toggle("sent", how !== "");
  for (const part of form.querySelectorAll(".part, [data-enter]")) part.inert = how !== "";
  if (!how) return null;
  const said = document.createElement("p");
  said.className = "on-the-way";
  said.role = "status";
  said.textContent = how;
  form.querySelector(".enter-these").prepend(said);
  return said;
}

function tellTrouble(sentence, fields) {
  trouble.hidden = false;
  trouble.querySelector("[data-words]").textContent = sentence;
  const list = trouble.querySelector("[data-list]");
  list.replaceChildren();
  for (const box of form.querySelectorAll("[data-box]")) tellFault(box, fields[box.dataset.box] ?? "");
  for (const [id, said] of Object.entries(fields)) {
    const box = boxOf(id);
    const line = document.createElement("li");
    const link = document.createElement(box ? "a" : "span");
    link.textContent = said;
    link.className = "inline";
    if (box) link.href = `#${box.id}`;
    line.append(link);
    list.append(line);
  }
  trouble.focus();
}

const boxOf = (id) => form.querySelector(`[data-box="${CSS.escape(id)}"]`);

function tellFault(box, said) {
  const place = box.querySelector(":scope > .fault");
  place.textContent = said;
  place.hidden = !said;
  box.classList.toggle("wrong", said !== "");
  for (const input of box.querySelectorAll("input")) {
    if (said) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
}

async function enter(event) {
  event.preventDefault();
  const { ticked, typed } = filledOf(form);
  const count = countOf(form);
  if (!count) return tellTrouble("Nothing is ticked and nothing typed.", {});
  keep(form);
  trouble.hidden = true;
  freeze(`→ ${words(count)} on the way.`);
  const job = Number(form.dataset.boxes);
  const body = { ticked, typed, units: form.dataset.units, after: Number(form.dataset.after) };
  await send({ url: urlOf(), body, job, words: `${words(count)} of the paper plan` });
  return undefined;
}

const urlOf = () => `/jobs/${form.dataset.boxes}/boxes`;
let slow;

// What became of the letter: it waits, or it came back with faults; what it holds stands in the boxes again.
function show(letters) {
  clearTimeout(slow);
  for (const letter of letters.filter(({ url }) => url === urlOf())) {
    fill(form, letter.body);
    tellCount();
    if (letter.state === "refused") refused(letter);
    else if (!form.classList.contains("sent")) freeze(`→ ${letter.words} on the way.`);
    else slow = setTimeout(() => waits(letter), SLOW_MS);
  }
}

function waits(letter) {
  const said = freeze(`→ ${letter.words}: waiting here to be sent.`);
  const key = document.createElement("button");
  key.type = "button";
  key.textContent = "Take them back";
  key.addEventListener("click", async () => {
    await drop(letter.id);
    freeze("");
  });
  said.append(" ", key);
}

function refused(letter) {
  freeze("");
  drop(letter.id);
  const { fields = {}, sentence } = letter.fault;
  const count = Object.keys(fields).length;
  const told = count === 1 ? "1 box cannot be as it is." : `${count} boxes cannot be as they are.`;
  tellTrouble(count ? `Nothing is entered yet: ${told}` : sentence, fields);
}

function tickAll({ target }) {
  const key = target.closest("[data-all]");
  if (!key) return;
  const on = key.getAttribute("aria-pressed") !== "true";
  for (const tick of key.closest(".part").querySelectorAll("[data-alike]")) tick.checked = on;
  noted();
}

let timer;

function noted() {
  tellCount();
  clearTimeout(timer);
  timer = setTimeout(() => keep(form), WAIT_MS);
}

if (form) {
  for (const one of form.querySelectorAll("[data-keys], [data-all]")) one.hidden = false;
  fill(form, kept(form));
  tellCount();
  startKeys(form);
  form.addEventListener("submit", enter);
  form.addEventListener("click", tickAll);
  form.addEventListener("input", noted);
  form.addEventListener("change", noted);
  addEventListener("pagehide", () => keep(form));
  onChange(show);
  onSent(({ url }) => {
    if (url !== urlOf()) return;
    forget(form);
    location.assign(`/jobs/${form.dataset.boxes}`);
  });
}
