// The lower edge of every page: what waits to be sent, why, and what was refused with everything that was typed.
import { askedBy, drop, mend, onChange, sendNow, standing, takeOver } from "../queue.js";
import { lasting } from "./store.js";

const HIDDEN = new Set(["asked", "kind", "act", "step", "settings"]);
let place;

/** Show what waits in `section`. */
export function startPanel(section) {
  place = section;
  onChange(show);
  addEventListener("beforeunload", (event) => {
    if (standing.offline) event.preventDefault(); // without connection the page would not come back
  });
}

function make(tag, words = "", classes = "") {
  const made = document.createElement(tag);
  if (words) made.textContent = words;
  if (classes) made.className = classes;
  return made;
}

function key(words, act) {
  const made = make("button", words);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

async function show(letters) {
  const refused = letters.filter((letter) => letter.state === "refused");
  const waiting = letters.filter((letter) => letter.state !== "refused");
  if (place.contains(document.activeElement) && document.activeElement.matches("input, textarea")) return; // mid-word
  const open = place.querySelector("details")?.open ?? false;
  place.replaceChildren();
  place.hidden = !letters.length && !standing.offline;
  if (waiting.length || standing.offline) place.append(await waitingPart(waiting, open));
  if (refused.length) place.append(...refused.map(refusedPart));
  document.documentElement.style.setProperty("--waiting", `${place.offsetHeight}px`);
}

async function waitingPart(letters, open) {
  const count = letters.length === 1 ? "1 entry waits here" : `${letters.length} entries wait here`;
  const safe = (await lasting()) ? "nothing is lost" : "this browser cannot keep them: leave this page open";
  const title = letters.length ? `${count}, ${safe}.` : "No connection: go on, entries will wait here.";
  const part = make("div", "", "waits");
  const said = make("div");
  said.append(make("h2", title), make("p", reason(letters), "small"));
  part.append(said);
  if (letters.length) {
    const list = make("ul");
    list.append(...letters.map((letter) => make("li", letter.words || "an entry")));
    const details = make("details");
    details.open = open;
    details.append(make("summary", "What waits"), list);
    part.append(details, keys());
  }
  return part;
}

function reason(letters) {
  if (standing.signIn) {
    const name = standing.signIn.name;
    const now = standing.here?.person?.name;
    if (now) return `Typed by ${name ?? "somebody else"}; ${now} is signed in now.`;
    return `The sign-in has ended. Sign in${name ? ` as ${name}` : ""} in the new window; this page stays as it is.`;
  }
  if (standing.offline) return "No connection to the bench. They are sent when it is back. Do not reload the page until then.";
  if (standing.busy) return `The bench cannot take them yet: ${standing.busy} It is tried again.`;
  return letters.some((letter) => letter.file) ? "Being sent; files take a while." : "Being sent.";
}

function keys() {
  const row = make("p", "", "actions");
  if (standing.signIn && standing.here?.person) {
    row.append(key(`Send as ${standing.here.person.name}`, takeOver));
  } else if (standing.signIn) {
    const link = make("a", "Sign in", "plain");
    Object.assign(link, { href: "/sign-in", target: "_blank", rel: "opener" });
    row.append(link);
  }
  row.append(key("Send now", sendNow));
  return row;
}

// What was refused: the reason, what was typed in fields to change, and the ways on.
function refusedPart(letter) {
  const part = make("form", "", "refused");
  const title = make("h2", `Not taken: ${letter.words || "an entry"}`);
  const away = key("Throw it away", () => drop(letter.id));
  const row = make("p", "", "actions");
  const place = placeOf(letter);
  if (place) {
    const link = make("a", "Go to it", "plain");
    link.href = `#${place.id}`;
    row.append(link, away);
    part.className = "refused waits";
    part.append(title, row);
    return part;
  }
  part.append(title, make("p", [letter.fault.sentence, nextStep(letter.fault)].filter(Boolean).join(" "), "fault"));
  const typed = letter.body?.given ?? letter.fields ?? {};
  const inputs = Object.entries(typed)
    .filter(([name]) => !HIDDEN.has(name))
    .map(([name, value]) => typedField(part, letter, name, value));
  const again = make("button", inputs.length ? "Send it as it stands now" : "Send it once more", "main");
  again.type = "submit";
  row.append(again, away);
  part.append(row);
  part.addEventListener("submit", (event) => {
    event.preventDefault();
    const texts = inputs.map((input) => [input.name, input.value]);
    document.activeElement?.blur();
    mend(letter.id, (kept) => {
      const into = kept.body?.given ?? kept.fields ?? {};
      for (const [name, text] of texts) into[name] = Array.isArray(into[name]) ? split(text) : text;
    });
  });
  return part;
}

// Where on this page the question stands that a letter answers; there it is put right.
function placeOf(letter) {
  const asked = askedBy(letter);
  const job = asked && document.querySelector(`[data-job="${Number(letter.job)}"]`);
  return job?.querySelector(`form[data-ask="${CSS.escape(asked)}"]`)?.closest(".ask") ?? null;
}

const nextStep = (fault) => (fault.next_step ? `Next: ${fault.next_step}.` : "");
const split = (text) => text.split(",").map((one) => one.trim()).filter(Boolean);

function typedField(part, letter, name, value) {
  const label = make("label", letter.labels?.[name] ?? name.replace(/[_.]/g, " "));
  const input = make("input");
  Object.assign(input, { name, type: "text", value: Array.isArray(value) ? value.join(", ") : value, autocomplete: "off" });
  label.append(input);
  part.append(label);
  return input;
}
