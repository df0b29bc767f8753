// The parts of the page, brought up to date from the bench without losing what is typed, opened or focused.
import { stateOf } from "./collect.js";
import { settleAll } from "./depends.js";
import { restore } from "./typed.js";

const EVERY_MS = 10000;
const PATIENCE_MS = 15000;

let root;
let idle;
let told;
let running = false;
let again = false;
const after = new Set();

/** Numbers of entries that were made on this device. */
export const own = new Set();

/** Call `act(news)` after parts were brought up to date; `news`: entries of others since, [{ number, by, words }]. */
export function onFresh(act) {
  after.add(act);
}

const part = (name) => root.querySelector(`[data-part="${CSS.escape(name)}"]`);
const count = () => Number(part("entries").dataset.count);

/** Bring the page up to date; `count` alone is compared where nothing is known to have changed. */
export async function refresh(sure = true) {
  if (running) {
    again ||= sure;
    return;
  }
  running = true;
  try {
    await fetched(sure);
  } catch {
    // Without connection the page stays as it is; it is asked again later.
  } finally {
    running = false;
  }
  if (again) {
    again = false;
    await refresh();
  }
}

async function fetched(sure) {
  const have = [...root.querySelectorAll("[data-part]")].map(({ dataset }) => `${dataset.part}:${dataset.digest}`).join(",");
  const asked = new URLSearchParams(sure ? { have } : { have, count: count() });
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  const answer = await fetch(`/jobs/${root.dataset.job}/parts?${asked}`, { headers: { accept: "application/json" }, signal: stop.signal });
  clearTimeout(timer);
  if (!answer.ok) return;
  const fresh = await answer.json();
  await released();
  apply(fresh);
}

// While a finger is down nothing under it is taken away: the tap would be lost.
let down = false;
const waiters = new Set();

function released() {
  return down ? new Promise((done) => waiters.add(done)) : Promise.resolve();
}

function lifted() {
  setTimeout(() => {
    down = false;
    for (const done of waiters) done();
    waiters.clear();
  });
}

addEventListener("pointerdown", () => (down = true), true);
addEventListener("pointerup", lifted, true);
addEventListener("pointercancel", lifted, true);

function apply({ parts, order }) {
  if (order && !sameOrder(order)) {
    location.reload(); // other steps: the vehicle or its facts were changed; what is typed is kept
    return;
  }
  for (const [name, html] of Object.entries(parts)) replace(part(name), html);
  const news = unknown();
  if (!Object.keys(parts).length && !news.length) return;
  for (const act of after) act(news);
}

// Entries of others since the last time; while own ones are on their way nobody can tell which are whose.
function unknown() {
  if (!idle()) return [];
  const news = [...part("entries").querySelectorAll("li")]
    .map((line) => ({ number: line.value, by: line.dataset.by, words: line.querySelector(".entry-words").textContent }))
    .filter(({ number }) => number > told && !own.has(number));
  told = count();
  return news;
}

function sameOrder(order) {
  const wanted = order.flatMap(([, names]) => names).join();
  return [...root.querySelectorAll("#steps [data-part]")].map((one) => one.dataset.part).join() === wanted;
}

function replace(old, html) {
  const holder = document.createElement("template");
  holder.innerHTML = html;
  const fresh = holder.content.firstElementChild;
  if (old.classList.contains("current")) fresh.classList.add("current");
  for (const form of old.querySelectorAll("form[data-typed]")) {
    const same = fresh.querySelector(`form[data-ask="${CSS.escape(form.dataset.ask)}"]:not([data-quick])`);
    if (same) restore(same, stateOf(form));
  }
  keepOpen(old, fresh);
  const focused = old.contains(document.activeElement) ? document.activeElement : null;
  const at = focused?.id || focused?.closest("[id]")?.id;
  settleAll(fresh);
  old.replaceWith(fresh);
  if (focused) (document.getElementById(at) ?? fresh).focus({ preventScroll: true });
}

const nameOf = (details) => `${details.closest("[id]")?.id} ${details.className} ${details.firstElementChild.textContent}`;

function keepOpen(old, fresh) {
  const open = new Set([...old.querySelectorAll("details[open]")].map(nameOf));
  for (const details of fresh.querySelectorAll("details")) {
    const sent = details.closest("form[data-ask]:not([data-quick])") && details.closest(".ask")?.classList.contains("answered");
    if (open.has(nameOf(details)) && !sent) details.open = true;
  }
}

/** Keep the page below `job` up to date. `nothingWaits()` says whether nothing of this page waits to be sent. */
export function startParts(job, nothingWaits) {
  root = job;
  idle = nothingWaits;
  told = count();
  setInterval(() => {
    if (!document.hidden && idle()) refresh(false);
  }, EVERY_MS);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && idle()) refresh(false);
  });
}
