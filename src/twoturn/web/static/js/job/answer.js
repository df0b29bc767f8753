// Answers leave the page through the queue: shown as entered at once, sent when the connection allows, told when refused.
import { askedBy, drop, mend, onChange, onSent, send, standing, waiting } from "../queue.js";
import { collect, fillIn, wordsOf } from "./collect.js";
import { settle } from "./depends.js";
import { change } from "./mend.js";
import { onFresh, own, refresh } from "./parts.js";
import { forget } from "./typed.js";

const SAID = {
  entered: "→ Entered.",
  sending: "→ Sending…",
  waits: "→ Entered; waits here to be sent.",
  arrived: "→ Arrived; it is being analysed, and counts once it is accepted.",
};
const AGAIN = "Again? Tap once more";
const AGAIN_MS = 8000;
const BOUNCE_MS = 500;
let root;
let job;
/** Questions whose answer was seen on its way. */
const underWay = new Set();

const formOf = (asked) => root.querySelector(`form[data-ask="${CSS.escape(asked)}"]:not([data-quick])`);

async function answer(given) {
  const form = formOf(given.dataset.ask);
  const key = given === form ? null : given.querySelector("button");
  if (key && asksAgain(given, key)) return;
  const quick = key ? key.textContent.trim() : "";
  const found = quick ? { given: {}, files: [], labels: {} } : collect(form);
  const words = wordsOf(form, quick, found);
  mark(form, found.files.length ? "sending" : "entered");
  const refused = Number(form.dataset.letter ?? 0);
  delete form.dataset.letter;
  underWay.delete(form.dataset.ask);
  if (refused && (quick || found.files.length)) await drop(refused);
  else if (refused) {
    await mend(refused, (letter) => Object.assign(letter.body, { given: found.given, quick: false }));
    return;
  }
  if (found.files.length) {
    for (const one of found.files) await sendFile(form, one, found, words);
    return;
  }
  const replaces = Number(given.elements.replaces.value) || null;
  const after = Number(root.querySelector("#entries").dataset.count);
  const body = { asked: form.dataset.ask, given: found.given, quick: Boolean(quick), replaces, units: root.dataset.units, after };
  await send({ url: `/jobs/${job}/answers`, body, job, words, labels: found.labels });
}

// What is done once in a job is not entered a second time by a tap that was not meant: its key asks first.
function asksAgain(given, key) {
  if (!("once" in key.dataset) || given.elements.replaces.value) return false;
  const { words, since } = key.dataset;
  if (words) {
    if (Date.now() - since < BOUNCE_MS) return true;
    restoreKey(key);
    return false;
  }
  Object.assign(key.dataset, { words: key.textContent, since: Date.now() });
  key.textContent = AGAIN;
  setTimeout(() => restoreKey(key), AGAIN_MS);
  return true;
}

function restoreKey(key) {
  if (key.dataset.words) key.textContent = key.dataset.words;
  delete key.dataset.words;
}

// A file takes its question along: a photo is entered when it arrives, a recording is analysed first.
async function sendFile(form, { file, kind }, { given, labels }, words) {
  const fields = { kind, asked: form.dataset.ask, replaces: form.elements.replaces.value };
  for (const [key, value] of Object.entries(given)) fields[`g.${key}`] = value;
  await send({ url: `/jobs/${job}/files`, file, name: file.name || kind, fields, job, words, labels });
}

async function plain(form) {
  const fields = Object.fromEntries([...new FormData(form)].filter(([name]) => name !== "csrf" && name !== "key"));
  const words = form.querySelector("button:not([type=button])").textContent.trim();
  const reason = fields.reason ? `: ${fields.reason}` : "";
  form.closest("dialog")?.close();
  form.reset();
  await send({ url: new URL(form.action).pathname, fields, job, words: words + reason });
}

// What the question shows while its answer is on the way: it cannot be given twice by a second tap.
function mark(form, how) {
  const ask = form.closest(".ask");
  let said = ask.querySelector(".on-the-way");
  if (how && ask.contains(document.activeElement)) ask.focus({ preventScroll: true }); // what is inert cannot keep it
  for (const one of ask.querySelectorAll("form")) one.inert = how !== "";
  ask.classList.toggle("pending", how !== "");
  if (!how) {
    said?.remove();
    return;
  }
  if (!said) {
    said = document.createElement("p");
    said.className = "on-the-way";
    said.role = "status";
    ask.querySelector("form").before(said);
  }
  said.textContent = SAID[how];
}

function takeBack(form, letter) {
  const said = form.closest(".ask").querySelector(".on-the-way");
  if (!said || said.querySelector("button")) return;
  const key = document.createElement("button");
  key.type = "button";
  key.textContent = "Take it back";
  key.addEventListener("click", async () => {
    await drop(letter.id);
    mark(form, "");
  });
  said.append(" ", key);
}

let slow;

function show(letters) {
  clearTimeout(slow);
  const mine = letters.filter((letter) => Number(letter.job) === job && askedBy(letter));
  for (const letter of mine) {
    const form = formOf(askedBy(letter));
    if (!form) continue;
    if (letter.state === "refused") refused(form, letter);
    else if (!form.inert) mark(form, letter.file ? "sending" : "entered");
  }
  tookBack(new Set(mine.map(askedBy)));
  slow = setTimeout(() => {
    for (const letter of mine.filter((one) => one.state !== "refused")) {
      const form = formOf(askedBy(letter));
      if (!form?.inert) continue;
      mark(form, letter.file && !isHeld() ? "sending" : "waits");
      takeBack(form, letter);
    }
  }, 1500);
}

const isHeld = () => standing.offline || standing.signIn || standing.busy;

// What does not wait any more and has not arrived was thrown away: its question can be answered again.
function tookBack(waits) {
  for (const asked of underWay) {
    const form = waits.has(asked) ? null : formOf(asked);
    if (!form) continue;
    mark(form, "");
    form.querySelector(".fault")?.remove();
    delete form.dataset.letter;
  }
  underWay.clear();
  for (const asked of waits) underWay.add(asked);
}

function refused(form, letter) {
  mark(form, "");
  tell(form, letter.fault.sentence);
  if (form.dataset.letter === String(letter.id)) return;
  form.dataset.letter = letter.id;
  if (letter.body?.replaces) change(form.closest(".ask"), letter.body.replaces);
  if (letter.body && !letter.body.quick) {
    form.dataset.typed = "yes";
    fillIn(form, letter.body.given);
    settle(form);
  }
  const folded = form.querySelector("details.otherwise");
  if (folded) folded.open = true;
}

function tell(form, sentence) {
  let said = form.querySelector(".fault");
  if (said?.textContent === sentence) return;
  said?.remove();
  said = document.createElement("p");
  Object.assign(said, { className: "fault", role: "alert", textContent: sentence });
  form.prepend(said);
}

function analysed(form, analysis) {
  mark(form, "");
  mark(form, "arrived");
  for (const one of form.closest(".ask").querySelectorAll("form")) one.inert = false;
  form.reset();
  const link = document.createElement("a");
  Object.assign(link, { href: `/jobs/${job}/recordings/${analysis.id}`, className: "plain", textContent: "See what it gave" });
  form.closest(".ask").querySelector(".on-the-way").append(" ", link);
}

function arrived({ job: of, answer: got, asked }) {
  if (Number(of) !== job) return;
  const added = got?.added ?? got;
  for (let at = 0; at < (added?.count ?? 0); at += 1) own.add(added.first + at);
  const form = asked && formOf(asked);
  underWay.delete(asked);
  if (form) forget(form);
  if (form && got?.analysis) analysed(form, got.analysis);
  else refresh();
}

/** Begin, below `place`. */
export function startAnswers(place) {
  root = place;
  job = Number(root.dataset.job);
  root.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.matches("[data-ask]")) answer(form);
    else if (form.matches("[data-plain]")) plain(form);
    else return;
    event.preventDefault();
  });
  root.addEventListener("change", ({ target }) => {
    if (target.type === "file" && target.value) target.closest("form[data-auto]")?.requestSubmit();
  });
  onChange(show);
  onSent(arrived);
  onFresh(async () => show(await waiting()));
}
